package overhaul

import (
	"fmt"
	"maps"
	"slices"

	"shimwright/calc/correct"
	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
)

// settledWithin is how many steps of the last digit repeats may go one way
// without a word: fewer are within what the gauge can show (common practice,
// no source).
const settledWithin = 2

// stepNotes are what is worth knowing of a step and changes no figure.
func (w *worker) stepNotes(r *Result) []string {
	var out []string
	live := fresh(r.Presses)
	for _, spot := range spotsOf(r.Step) {
		if len(live) < correct.LeastRun {
			break
		}
		var at []Press
		for _, p := range live {
			if p.Entry.Spot == spot {
				at = append(at, p)
			}
		}
		if say := w.settling(r.Step, at); say != "" {
			if spot != "" {
				say = "At " + spot + ": " + say
			}
			out = append(out, say)
		}
	}
	return append(out, w.tablesUnused(r)...)
}

// spotsOf are the spots of a step at which repeats should not move: those where
// a length stands still. Pulls are taken while a shaft turns, a pack is pressed
// at several places.
func spotsOf(st *sheet.Step) []string {
	switch {
	case st.Measure != nil:
		return []string{""}
	case st.Check == nil || st.Check.What == sheet.TurningTorque || st.Check.What == sheet.Tightening:
		return nil
	}
	return st.Check.Spots()
}

// settling says that repeats at one spot only fall or only rise: what carries
// them has not seated yet.
func (w *worker) settling(st *sheet.Step, presses []Press) string {
	if len(presses) < correct.LeastRun {
		return ""
	}
	var readings []quantity.Exact
	var step quantity.Exact
	u, places := presses[0].Entry.Value.Unit(), int32(0)
	alike := sameSetup(presses)
	for _, p := range presses {
		v := p.Entry.Value
		x := v.Exact()
		byLength := st.Measure != nil && !alike
		if byLength {
			x = w.walked(st, p.Entry, pressFigure(p)).Value // on different pieces the lengths compare
		}
		readings = append(readings, x)
		if r := v.Resolution(); step.Less(r) {
			step = r
		}
		if byLength || v.Unit() != u {
			u, places = w.sheet.ShownIn(u.Dimension())
			continue
		}
		places = max(places, v.Places())
	}
	s, err := correct.Settle(readings, correct.SettleRule{Move: step.Times(quantity.Whole(settledWithin))})
	if err != nil {
		return ""
	}
	return s.Say(u, places)
}

// tablesUnused says which gauges' tables do not speak of what they showed here.
func (w *worker) tablesUnused(r *Result) []string {
	if !zeroedOnPiece(r.Step) {
		return nil
	}
	var out []string
	for _, p := range fresh(r.Presses) {
		id := p.Entry.Gauge
		if w.entries.Gauges[id].Corrections == nil {
			continue
		}
		say := fmt.Sprintf("%s was zeroed on a piece: its correction table speaks of readings from its own nought, and is not used.", id)
		if !slices.Contains(out, say) {
			out = append(out, say)
		}
	}
	return out
}

// notes are those of the whole job.
func (w *worker) notes() []string {
	var out []string
	for _, id := range slices.Sorted(maps.Keys(w.entries.Gauges)) {
		if say := w.drift(w.entries.Gauges[id]); say != "" {
			out = append(out, say)
		}
	}
	if w.entries.Temperatures != nil && w.sheet.Materials == nil {
		out = append(out, "Temperatures are given, and the sheet does not say what parts and standards are made of: what they do is not known.")
	}
	return out
}

// drift says how a gauge drifts on its check piece, where that is worth a word.
func (w *worker) drift(g sheet.Gauge) string {
	if len(g.Checks) == 0 || g.Limit == nil {
		return ""
	}
	var checks []correct.Check
	for _, c := range g.Checks {
		checks = append(checks, correct.Check{Read: c.Read.Exact(), Certified: c.Piece.Exact()})
	}
	d, err := correct.Watch(checks, g.Limit.Exact())
	if err != nil || d.State == correct.Within {
		return ""
	}
	say := fmt.Sprintf("%s on its check piece, %s: %s", g.ID, g.Checks[len(g.Checks)-1].Day, d.Say(w.sheet.Unit, w.sheet.Places))
	if d.State == correct.Beyond && d.LastGood >= 0 {
		say += fmt.Sprintf(" That was on %s.", g.Checks[d.LastGood].Day)
	}
	return say
}
