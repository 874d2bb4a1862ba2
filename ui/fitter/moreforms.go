package fitter

import (
	"fmt"
	"strings"
	"unicode"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/ingest/bench"
)

// sealForm asks for the two pulls that tell what the seal adds.
func sealForm(v *view) *form {
	step, unit := v.shown().Step.Name, quantity.Newton
	if w, ok := v.shown().Step.Window(); ok {
		unit = w.Low.Unit()
	}
	pull := func(which string) field {
		return field{ask: fmt.Sprintf("One steady pull %s, in %s:", which, unit), figure: true, check: both(wanted("the pull"), aValue(unit))}
	}
	return &form{
		fields: []field{pull("with the seal IN"), pull("WITHOUT the seal")},
		command: func(a []string) bench.Command {
			return bench.Seal{Step: step, With: withUnit(a[0], unit), Without: withUnit(a[1], unit)}
		},
	}
}

func both(first, second func(string) error) func(string) error {
	return func(s string) error {
		if err := first(s); err != nil {
			return err
		}
		return second(s)
	}
}

// warmthForm asks how warm the work is.
func warmthForm(*view) *form {
	const as = ", in °C, as in 26.0, or 26.0 +- 0.5:"
	warm := func(of string, needed bool) field {
		return field{ask: "How warm " + of + as, figure: true, check: func(s string) error {
			if s == "" && !needed {
				return nil
			}
			if err := wanted("the temperature")(s); err != nil {
				return err
			}
			_, err := sheet.ParseTemperatures(degrees(s), degrees(s), "")
			return err
		}}
	}
	fields := []field{warm("is the part", true), warm("are the standards", true), warm("is the gauge (Enter: as the standards)", false)}
	return &form{
		fields: fields,
		command: func(a []string) bench.Command {
			return bench.Temperatures{Part: degrees(a[0]), Standards: degrees(a[1]), Gauge: degrees(a[2])}
		},
	}
}

// degrees gives what was typed without a unit degrees Celsius, on both sides of
// the sign for how near it is known.
func degrees(s string) string {
	s = strings.NewReplacer("+/-", "±", "+-", "±").Replace(strings.TrimSpace(s))
	if s == "" || strings.ContainsFunc(s, func(r rune) bool { return unicode.IsLetter(r) || r == '°' }) {
		return s
	}
	var out []string
	for part := range strings.SplitSeq(s, "±") {
		out = append(out, strings.TrimSpace(part)+" °C")
	}
	return strings.Join(out, " ± ")
}

// lookForm asks which press was looked at and who looked; there is always a name.
func lookForm(v *view) *form {
	var of []string
	seqs := map[string]int64{}
	for _, p := range v.looks() {
		words := fmt.Sprintf("%s at %s, %s", pressFigure(p), strings.TrimSpace(p.Fact.Step+" "+p.Fact.Spot), clock(p))
		of = append(of, words)
		seqs[words] = p.Seq
	}
	f := &form{
		fields:  []field{{ask: "Which reading was looked at?", options: of}},
		command: func(a []string) bench.Command { return bench.Look{Press: seqs[a[0]]} },
	}
	if len(of) == 1 {
		f.fields = nil
		f.command = func([]string) bench.Command { return bench.Look{Press: seqs[of[0]]} }
		return inName(f, fmt.Sprintf("Looked at %s. The initials of the second person:", of[0]))
	}
	return inName(f, "The initials of the second person, who looked:")
}

// checkForm makes a gauge's next press a reading on a certified piece, or takes
// that back.
func checkForm(v *view) *form {
	if g := v.checking(); g != nil {
		return &form{
			fields:  []field{{ask: fmt.Sprintf("The next press of %s is a check on %s.", g.ID, g.Next), options: []string{"a reading after all"}}},
			command: func([]string) bench.Command { return bench.CheckPiece{Gauge: g.ID, Cancel: true} },
		}
	}
	which := field{ask: "Which gauge is checked?"}
	for _, g := range v.snap.Gauges {
		which.options = append(which.options, g.ID)
	}
	if r := v.shown(); r != nil && r.Step.Gauge != "" {
		if g := v.gauge(r.Step.Gauge); g != nil {
			which.typed, which.fresh = g.ID, true
		}
	}
	return &form{
		fields: []field{which, {ask: "The number on the certified piece:", check: wanted("the number of the piece")}},
		command: func(a []string) bench.Command {
			return bench.CheckPiece{Gauge: a[0], Piece: a[1]}
		},
	}
}

// The settings that are asked about.
const (
	preload = "preload"
	float   = "float"
)

// settingForm asks about another setting: what both packs must become for it
// while the backlash stays. It changes nothing.
func settingForm(v *view) *form {
	step, unit := v.shown().Step.Name, v.snap.Job.Sheet.Unit
	shaft, _ := settingShaft(v)
	ask := func(a []string, against string) bench.Command {
		c := bench.KeepBacklash{Step: step, Against: against}
		if a[0] == preload {
			c.Preload = withUnit(a[1], unit)
		} else {
			c.Float = withUnit(a[1], unit)
		}
		return c
	}
	f := &form{fields: []field{
		{ask: "Which setting of the " + shaft.Name + " is asked about?", options: []string{preload, float}},
		{ask: fmt.Sprintf("How much of it, in %s:", unit), figure: true, check: both(wanted("the setting"), aValue(unit))},
	}}
	f.command = func(a []string) bench.Command {
		if len(a) < 3 || a[2] == byItself {
			return ask(a, "")
		}
		return ask(a, a[2])
	}
	f.then = func(a []string) *form {
		if a[0] != float || len(f.fields) > 2 {
			return nil
		}
		against := field{ask: "Held against which bearing?", options: []string{byItself}, follows: true}
		for _, b := range shaft.Bearings {
			against.options = append(against.options, b.Name)
		}
		f.fields, f.at = append(f.fields, against), 2
		return f
	}
	return f
}

// byItself is the bearing that the sheet says locates the shaft.
const byItself = "the one that the sheet says"

// concedeForm asks why what was found is let be, and for whose name it is in.
func concedeForm(v *view) *form {
	r := v.shown()
	return inName(&form{
		fields:  []field{{ask: fmt.Sprintf("%s stays as it was found: %s. Why is it let be?", capital(r.Step.Name), foundWords(r)), check: wanted("the reason")}},
		command: func(a []string) bench.Command { return bench.Concede{Step: r.Step.Name, Reason: a[0]} },
	}, "The initials of who answers for it:")
}

// foundWords say in short how a step came out.
func foundWords(r *overhaul.Result) string {
	if r.Check != nil {
		return strings.ToUpper(r.Check.Verdict.String())
	}
	return statusWord(r)
}

// inName has a form's command carried out in somebody's name: his initials, and
// his PIN where he has one.
func inName(f *form, ask string) *form {
	n, of := len(f.fields), f.command
	f.fields = append(f.fields, field{ask: ask, check: wanted("the initials")}, field{ask: "The PIN, or Enter where there is none:", secret: true})
	f.command = func(a []string) bench.Command {
		return bench.By{Initials: a[n], PIN: a[n+1], Command: of(a[:n])}
	}
	return f
}
