package fitter

import (
	"fmt"
	"slices"
	"strings"

	"shimwright/calc/network"
	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/ingest/bench"
	"shimwright/ingest/job"
)

// none is what is typed where a part has no mark.
const none = "none"

// entryForm is the form that a step is answered by; nil where it has none.
func entryForm(v *view, r *overhaul.Result) *form {
	switch r.Step.Kind {
	case sheet.KindMark:
		return markForm(v, r)
	case sheet.KindRecord:
		return recordForm(r)
	case sheet.KindPack:
		return fitForm(v, r)
	case sheet.KindCheck:
		if len(r.Step.Check.Flanks) > 0 {
			return seeForm(v, r)
		}
	}
	return nil
}

// wanted refuses an empty answer.
func wanted(what string) func(string) error {
	return func(s string) error {
		if s == "" {
			return fmt.Errorf("%s is empty: write it, or Esc leaves the form", what)
		}
		return nil
	}
}

// aValue refuses what is no figure with a unit of its kind.
func aValue(u quantity.Unit) func(string) error {
	return func(s string) error {
		x, err := quantity.ParseWithUnit(withUnit(s, u))
		if err == nil && x.Unit().Dimension() != u.Dimension() {
			err = fmt.Errorf("%s is a %s: want a %s", x, x.Unit().Dimension(), u.Dimension())
		}
		return err
	}
}

// lengthsIn refuses what is not one length or several.
func lengthsIn(u quantity.Unit) func(string) error {
	return func(s string) error {
		for _, one := range lengthsTyped(s, u) {
			if err := aValue(u)(one); err != nil {
				return err
			}
		}
		return nil
	}
}

// anewForm enters what was typed at a step anew: the step is begun again with a
// reason first, so that what stood there is kept and told.
func anewForm(v *view, r *overhaul.Result) *form {
	f := entryForm(v, r)
	if f == nil || r.Pack != nil {
		return f
	}
	n := len(f.fields)
	f.fields = append(f.fields, field{
		ask: "Why is it entered anew?", free: true,
		options: []string{"misread before", "looked at again", "part changed since"},
	})
	of := f.command
	f.first = func(a []string) bench.Command { return bench.Retake{Step: r.Step.Name, Reason: a[n]} }
	f.command = func(a []string) bench.Command { return of(a[:n]) }
	return f
}

// markForm asks for a mark and reads it back as a sentence before it counts.
func markForm(v *view, r *overhaul.Result) *form {
	st := r.Step
	ask := fmt.Sprintf("%s: the digits as etched, with their sign, as in +8 (in steps of %s)", capital(st.Name), st.Mark.Digits)
	if st.Mark.Absolute {
		ask = fmt.Sprintf("%s: the figure as marked, in %s", capital(st.Name), v.snap.Job.Sheet.Unit)
	}
	if st.Mark.NilOK {
		ask += ", or " + none
	}
	return &form{
		fields:   []field{{ask: ask + ":", figure: true}},
		command:  func(a []string) bench.Command { return markCommand(v, st, a[0]) },
		readBack: func(a []string) (string, error) { return markWords(v, st, a[0]) },
	}
}

func markCommand(v *view, st *sheet.Step, typed string) bench.Mark {
	switch {
	case typed == none:
		return bench.Mark{Step: st.Name, Absent: true}
	case st.Mark.Absolute:
		return bench.Mark{Step: st.Name, Figure: withUnit(typed, v.snap.Job.Sheet.Unit)}
	}
	return bench.Mark{Step: st.Name, Digits: typed}
}

// markWords is a mark in words made from the faces' names.
func markWords(v *view, st *sheet.Step, typed string) (string, error) {
	e := sheet.Entry{Step: st.Name, Kind: sheet.EntryAbsent}
	var err error
	switch {
	case typed == none:
	case st.Mark.Absolute:
		e.Kind = sheet.EntryFigure
		e.Value, err = quantity.ParseWithUnit(withUnit(typed, v.snap.Job.Sheet.Unit))
	default:
		e.Kind = sheet.EntryDigits
		e.Value, err = quantity.Parse(typed, st.Mark.Digits)
	}
	if err != nil {
		return "", err
	}
	return overhaul.MarkSentence(v.sheetShown(), st, e), nil
}

func recordForm(r *overhaul.Result) *form {
	st := r.Step
	ask := capital(st.Name) + ":"
	if st.Record.Want == "number" {
		ask = capital(st.Name) + ", a number:"
	}
	return &form{
		fields:  []field{{ask: ask, options: st.Record.OneOf, figure: st.Record.Want == "number"}},
		command: func(a []string) bench.Command { return bench.Record{Step: st.Name, Answer: a[0]} },
	}
}

// fitForm asks for a pack as measured and for its leaves; the make-up shown is
// there to be taken or changed.
func fitForm(v *view, r *overhaul.Result) *form {
	st, unit := r.Step, v.snap.Job.Sheet.Unit
	var fields []field
	// At a pack that is fitted and right, the presses shown are that one's.
	pressed := st.Pack.Presses > 0 && r.Left == 0 && len(r.Presses) > 0 && r.Status != overhaul.Done
	if !pressed {
		fields = append(fields, field{ask: fmt.Sprintf("%s as measured, in %s; of several places, a blank between:", capital(st.Name), unit), figure: true, check: lengthsIn(unit)})
	}
	if st.Pack.Stock != "" || pressed {
		leaves := field{ask: fmt.Sprintf("Its leaves, in %s, a blank between; Enter takes what is shown:", unit), figure: true, check: lengthsIn(unit)}
		if m := r.Pack.Makeup; m != nil && len(m.Packs) > 0 {
			leaves.typed, leaves.fresh = leavesTyped(m.Packs[0].String()), true
		}
		fields = append(fields, leaves)
	}
	return &form{
		fields: fields,
		command: func(a []string) bench.Command {
			c := bench.Fit{Step: st.Name}
			if !pressed {
				c.Measured, a = lengthsTyped(a[0], unit), a[1:]
			}
			if len(a) > 0 {
				c.Leaves = lengthsTyped(a[0], unit)
			}
			return c
		},
	}
}

// leavesTyped turns "1.00 mm + 2 × 0.30 mm" into leaves one by one.
func leavesTyped(makeup string) string {
	var out []string
	for _, part := range strings.Split(makeup, " + ") {
		n, leaf, many := strings.Cut(part, " × ")
		if !many {
			out = append(out, part)
			continue
		}
		count := 0
		if _, err := fmt.Sscan(n, &count); err != nil {
			continue
		}
		for range count {
			out = append(out, leaf)
		}
	}
	return strings.Join(out, " + ")
}

// seeForm asks what is seen on each flank, on a map of it.
func seeForm(v *view, r *overhaul.Result) *form {
	st := r.Step
	f := &form{}
	for _, flank := range v.flanks(r) {
		one := field{ask: "Seen on " + flank.Name + ":", options: flank.Marks, flank: &flank}
		one.at = flank.Near(slices.Index(flank.Marks, flank.Seen)+1, 0, 0)
		f.fields = append(f.fields, one)
	}
	f.command = func(a []string) bench.Command {
		seen := map[string]string{}
		for i, flank := range st.Check.Flanks {
			seen[flank] = a[i]
		}
		return bench.See{Step: st.Name, Marks: seen}
	}
	return f
}

// pieceForm asks for the number on the piece that stands in a setup.
func pieceForm(v *view, r *overhaul.Result) *form {
	roles := r.Step.Measure.Setup.Standards()
	if _, missing := v.pieces(r); missing != "" {
		roles = missingRole(roles, missing)
	}
	if len(roles) == 1 {
		return &form{
			fields:  []field{{ask: "The number on the " + roles[0] + ":"}},
			command: func(a []string) bench.Command { return bench.DrawPiece{Standard: roles[0], Piece: a[0]} },
		}
	}
	return &form{
		fields:  []field{{ask: "Which stands in the setup?", options: roles}, {ask: "The number on it:"}},
		command: func(a []string) bench.Command { return bench.DrawPiece{Standard: a[0], Piece: a[1]} },
	}
}

// missingRole is the role that the words ask for, told by its name in them; all
// of them where it cannot be told.
func missingRole(roles []string, words string) []string {
	best := ""
	for _, role := range roles {
		if strings.Contains(words, " "+role+" ") && len(role) > len(best) {
			best = role
		}
	}
	if best == "" {
		return roles
	}
	return []string{best}
}

func takeForm(v *view, p job.Press) *form {
	return signedBy(v, &form{
		fields: []field{{
			ask: fmt.Sprintf("Why does %s at %s count after all?", pressFigure(p), p.Fact.Step), free: true,
			options: []string{"looked at again by hand: it is right", "the lead has agreed"},
		}},
		command: func(a []string) bench.Command { return bench.Take{Press: p.Seq, Reason: a[0]} },
	})
}

func againForm(r *overhaul.Result) *form {
	return &form{
		fields: []field{{
			ask: "Why is " + r.Step.Name + " taken again?", free: true,
			options: []string{"cleaned and reseated", "wrong piece in the setup", "misread"},
		}},
		command: func(a []string) bench.Command { return bench.Retake{Step: r.Step.Name, Reason: a[0]} },
	}
}

// keyedForm asks for a reading by hand. It goes to the spot that is next.
func keyedForm(v *view, r *overhaul.Result) *form {
	unit := v.snap.Job.Sheet.Unit
	if w, ok := r.Step.Window(); ok {
		unit = w.Low.Unit()
	}
	at := strings.TrimSpace(r.Step.Name + " " + r.Spot)
	return &form{
		fields: []field{
			{ask: fmt.Sprintf("The reading for %s by hand, in %s (it stays marked as KEYED):", at, unit), figure: true, check: aValue(unit)},
			{ask: "Why by hand?", free: true, options: []string{"the gauge has no cable", "the cable is broken"}},
		},
		command: func(a []string) bench.Command {
			return bench.Keyed{Step: r.Step.Name, Spot: r.Spot, Value: withUnit(a[0], unit), Reason: a[1]}
		},
	}
}

// moveForm asks for a gear to be moved on purpose.
func moveForm(v *view, r *overhaul.Result) *form {
	ways := []string{"wheel TOWARD", "wheel AWAY", "pinion IN", "pinion OUT"}
	return &form{
		fields: []field{
			{ask: "Which gear goes which way?", options: ways},
			{ask: fmt.Sprintf("By how much, in %s:", v.snap.Job.Sheet.Unit), figure: true, check: aValue(v.snap.Job.Sheet.Unit)},
		},
		command: func(a []string) bench.Command {
			gear, way, _ := strings.Cut(a[0], " ")
			return bench.Move{Step: r.Step.Name, Gear: gear, Way: way, By: withUnit(a[1], v.snap.Job.Sheet.Unit)}
		},
		readBack: func(a []string) (string, error) { return moveWords(v, r, a) },
	}
}

// moveWords reads a move back, with what was moved before it.
func moveWords(v *view, r *overhaul.Result, a []string) (string, error) {
	by, err := quantity.ParseWithUnit(withUnit(a[1], v.snap.Job.Sheet.Unit))
	if err != nil {
		return "", err
	}
	out := fmt.Sprintf("the %s by %s, by fitting packs anew", a[0], v.length(by.Exact()))
	if r.Check != nil && len(r.Check.Moves) > 0 {
		out += ", on top of: " + r.Check.Moves[len(r.Check.Moves)-1].Words
	}
	return out, nil
}

// metalForm asks what metal was changed that no pack's fitting says.
func metalForm(v *view, r *overhaul.Result) *form {
	which := field{ask: "Which length did it touch:", many: true}
	for _, l := range v.snap.Job.Sheet.Net.Lengths() {
		if l.Kind != network.Wanted {
			which.options = append(which.options, l.Name)
		}
	}
	return &form{
		fields: []field{{ask: "What was done to the metal?", free: true, options: []string{"part replaced", "bearing reseated"}}, which},
		command: func(a []string) bench.Command {
			return bench.Metal{Step: r.Step.Name, Lengths: strings.Split(a[1], ", "), Reason: a[0]}
		},
	}
}
