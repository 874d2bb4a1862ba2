package fitter

import (
	"fmt"
	"strings"

	"shimwright/ingest/bench"
)

// openForm asks for the sheet, by its number where they are known, and for the
// drive. Where a job on that drive is open already, the bench says so.
func openForm(v *view) *form {
	which := field{ask: "Which setting sheet?"}
	for _, c := range v.sheets {
		which.options = append(which.options, strings.TrimSpace(c.ID+"  "+c.Words))
	}
	if len(v.sheets) == 0 {
		which.ask = "The name of the setting sheet:"
	}
	f := &form{fields: []field{which, {ask: "The drive's serial number:", check: wanted("the drive's serial number")}}}
	f.command = func(a []string) bench.Command {
		id, _, _ := strings.Cut(a[0], "  ")
		another := len(a) > 2 && a[2] != ""
		return bench.OpenJob{Sheet: id, Serial: a[1], Another: another}
	}
	f.then = func(a []string) *form {
		if len(f.fields) == 2 && openOn(v, a[1]) != "" {
			f.fields = append(f.fields, field{ask: "Job " + openOn(v, a[1]) + " is open on this drive already.", options: []string{"another job all the same"}, follows: true})
			f.at = 2
			return f
		}
		return nil
	}
	return f
}

// openOn is the open job on a drive; "" where there is none.
func openOn(v *view, serial string) string {
	for _, j := range v.snap.Open {
		if strings.EqualFold(j.Serial, serial) {
			return j.ID
		}
	}
	return ""
}

// jobsForm asks which job to go on with: one that is open, or another one.
func jobsForm(v *view) *form {
	const another = "open another job"
	which := field{ask: "Which job?"}
	for _, j := range v.snap.Open {
		here := ""
		if v.snap.Job != nil && v.snap.Job.ID == j.ID {
			here = ", in front now"
		}
		which.options = append(which.options, fmt.Sprintf("%s  drive %s, %s%s", j.ID, j.Serial, j.Drive, here))
	}
	which.options = append(which.options, another)
	return &form{
		fields: []field{which},
		command: func(a []string) bench.Command {
			id, _, _ := strings.Cut(a[0], "  ")
			return bench.ChooseJob{Job: id}
		},
		then: func(a []string) *form {
			if a[0] == another {
				return openForm(v)
			}
			return nil
		},
	}
}

// holdForm asks why the step shown, or the job, is put on hold; where it is on
// hold already it asks why the hold is lifted.
func holdForm(v *view) *form {
	step := ""
	if r := v.shown(); r != nil {
		step = r.Step.Name
	}
	if h, held := v.snap.Job.HoldOn(step); held {
		return signedBy(v, &form{
			fields:  []field{{ask: "On hold: " + h.Reason + ". Why is the hold lifted?", check: wanted("the reason")}},
			command: func(a []string) bench.Command { return bench.Lift{Hold: h.Seq, Reason: a[0]} },
		})
	}
	const all = "the whole job"
	what := field{ask: "What is put on hold?", options: []string{all}}
	if step != "" {
		what.options = []string{step, all}
	}
	return signedBy(v, &form{
		fields: []field{what, {ask: "Why?", free: true, options: []string{"parts are waited for", "the lead is to look", "a gauge is in doubt"}}},
		command: func(a []string) bench.Command {
			if a[0] == all {
				a[0] = ""
			}
			return bench.Hold{Step: a[0], Reason: a[1]}
		},
	})
}

// signedBy asks who does it as well, where the bench has a list of people.
func signedBy(v *view, f *form) *form {
	if !v.snap.Asks {
		return f
	}
	return inName(f, "Your initials:")
}
