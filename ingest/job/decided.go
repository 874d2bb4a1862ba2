package job

import (
	"fmt"
	"maps"
	"slices"

	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/ingest/fact"
	"shimwright/ingest/store"
)

// A Hold stops a step, or the whole job where its step is empty.
type Hold struct {
	Seq int64
	fact.OnHold
}

// A Concession lets be what came out wrong.
type Concession struct {
	Seq int64
	fact.Conceded
}

// decided is what persons decided about a job beside its entries.
type decided struct {
	hands       []fact.Signature // who worked at it, the last one last
	holds       []Hold           // not lifted
	lifted      []Hold           // by persons
	concessions []Concession
	took        map[int64]fact.Signature // by press: who let it count
	looks       map[int64]fact.Signature // by press: who gave it the second look
	signed      []fact.Signed
	ended       store.State // "" while it is open
}

func (d decided) clone() decided {
	d.hands, d.holds, d.concessions = slices.Clone(d.hands), slices.Clone(d.holds), slices.Clone(d.concessions)
	d.lifted = slices.Clone(d.lifted)
	d.took, d.looks, d.signed = maps.Clone(d.took), maps.Clone(d.looks), slices.Clone(d.signed)
	return d
}

// decision takes in a fact that decides something; false where it is another.
// What changes the job after somebody signed makes his signature void: it was
// under another job.
func (j *Job) decision(seq int64, f fact.Fact) (bool, error) {
	if j.ended != "" {
		return true, fmt.Errorf("it is %s, and nothing comes after that", j.ended)
	}
	switch f := f.(type) {
	case fact.Judged, fact.Offered:
		return false, nil
	case fact.Chosen:
	case fact.AtWork:
		j.hands = append(j.hands, f.By)
	case fact.LookedOver:
		if _, ok := j.Press(f.Press); !ok {
			return true, fmt.Errorf("there is no press %d in this job", f.Press)
		}
		j.looks = with(j.looks, f.Press, f.By)
	case fact.Signed:
		j.signed = append(j.signed, f)
		if f.Ends {
			j.ended = store.Signed
		}
	case fact.Finished:
		j.ended = store.Finished
	case fact.Abandoned:
		j.ended = store.Abandoned
	default:
		j.signed = nil
		return j.held(seq, f)
	}
	return true, nil
}

// held takes in holds and concessions.
func (j *Job) held(seq int64, f fact.Fact) (bool, error) {
	switch f := f.(type) {
	case fact.OnHold:
		if _, ok := j.Sheet.Step(f.Step); !ok && f.Step != "" {
			return true, fmt.Errorf("%q is no step of sheet %s", f.Step, j.Sheet.ID)
		}
		j.holds = append(j.holds, Hold{seq, f})
	case fact.Lifted:
		i := slices.IndexFunc(j.holds, func(h Hold) bool { return h.Seq == f.Hold })
		if i < 0 {
			return true, fmt.Errorf("there is no hold %d in this job", f.Hold)
		}
		if f.Rule == "" {
			j.lifted = append(j.lifted, j.holds[i])
		}
		j.holds = slices.Delete(j.holds, i, i+1)
	case fact.Conceded:
		j.concessions = append(j.concessions, Concession{seq, f})
	case fact.Took:
		j.took = with(j.took, f.Press, f.By)
		return false, nil // it decides on a press too
	default:
		return false, nil
	}
	return true, nil
}

func with(m map[int64]fact.Signature, press int64, by fact.Signature) map[int64]fact.Signature {
	if m == nil {
		m = map[int64]fact.Signature{}
	}
	m[press] = by
	return m
}

// Training tells whether the job was opened as training. One with a virtual
// reading is training too: see its results.
func (j *Job) Training() bool { return j.Head.Training }

// Ended is how the job ended; "" while it is open.
func (j *Job) Ended() store.State { return j.ended }

// Hands are who worked at the job, the last one last.
func (j *Job) Hands() []fact.Signature { return slices.Clone(j.hands) }

// First are the initials of those whose work the job is: who worked at it and
// who let presses count. A second person is none of them.
func (j *Job) First() []string {
	var out []string
	add := func(s fact.Signature) {
		if s.Initials != "" && !slices.Contains(out, s.Initials) {
			out = append(out, s.Initials)
		}
	}
	for _, s := range j.hands {
		add(s)
	}
	for _, p := range j.Presses {
		add(j.took[p.Seq])
	}
	for _, s := range j.signed {
		if s.As == fact.Fitter {
			add(s.By)
		}
	}
	return out
}

// Holds are those not lifted, oldest first.
func (j *Job) Holds() []Hold { return slices.Clone(j.holds) }

// Lifted tells whether a rule's hold on a step, for this reason, was lifted by a
// person: the rule does not place it again.
func (j *Job) Lifted(step, rule, reason string) bool {
	return slices.ContainsFunc(j.lifted, func(h Hold) bool { return h.Step == step && h.Rule == rule && h.Reason == reason })
}

// HoldOn is the hold that a step waits for, or that the whole job does.
func (j *Job) HoldOn(step string) (Hold, bool) {
	i := slices.IndexFunc(j.holds, func(h Hold) bool { return h.Step == "" || h.Step == step })
	if i < 0 {
		return Hold{}, false
	}
	return j.holds[i], true
}

// Concessions are all that were ever given, oldest first.
func (j *Job) Concessions() []Concession { return slices.Clone(j.concessions) }

// Conceded is the concession on a step for what was found there.
func (j *Job) Conceded(step, found string) (Concession, bool) {
	for _, c := range slices.Backward(j.concessions) {
		if c.Step == step && c.Found == found {
			return c, true
		}
	}
	return Concession{}, false
}

// TookBy is who let a held press count.
func (j *Job) TookBy(press int64) (fact.Signature, bool) { s, ok := j.took[press]; return s, ok }

// Look is who gave a press the second look.
func (j *Job) Look(press int64) (fact.Signature, bool) { s, ok := j.looks[press]; return s, ok }

// Looked are the presses that had a second look.
func (j *Job) Looked() map[int64]bool {
	out := map[int64]bool{}
	for seq := range j.looks {
		out[seq] = true
	}
	return out
}

// Signatures are those under the job as it stands.
func (j *Job) Signatures() []fact.Signed { return slices.Clone(j.signed) }

// Leaves are those of the pack that is in at a step, as they were said; none
// where none is fitted or they were not said.
func (j *Job) Leaves(step string) []quantity.Value {
	for _, l := range slices.Backward(j.log) {
		if l.entry.Step == step && l.entry.Kind == sheet.EntryFit {
			return slices.Clone(l.entry.Leaves)
		}
	}
	return nil
}
