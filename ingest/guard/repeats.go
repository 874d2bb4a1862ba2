package guard

import (
	"fmt"
	"slices"

	"shimwright/calc/correct"
	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
)

// mostRun is how many readings of a run are shown.
const mostRun = 4

// unlike says of a press that is taken that the presses of its spot lie too far
// apart, and what to do. The press counts all the same: none of the repeats is
// known to be the bad one, and leaving one out would hide it. The step's result
// is held by the arithmetic, which gives no mean of them.
//
// Repeats that only fall, or only rise, by more than the agreement allows are
// told apart from scatter: parts that settle need rolling, a burr needs a stone.
func unlike(c Case) (sentence, do string) {
	agree, ok := c.Step.Agree()
	if !ok {
		return "", ""
	}
	all := []quantity.Value{}
	for _, v := range append(slices.Clone(c.Repeats), c.Sample.Value) {
		if v.Unit().Dimension() == agree.Unit().Dimension() {
			all = append(all, v)
		}
	}
	apart := spread(all)
	if !agree.Exact().Less(apart) {
		return "", ""
	}
	if words := settling(all, agree); words != "" && standsStill(c.Step) {
		return words, "Roll and reseat until they hold, then take the step again."
	}
	do = "Look for slack or dirt, take the step again: do not average it away."
	switch {
	case c.Step.Measure != nil:
		do = "Clean and stone the faces, reseat, take the step again: do not average it away."
	case c.Step.Pack != nil:
		do = "Clean the leaves, take out burrs, measure the pack again: do not average it away."
	}
	return fmt.Sprintf("The presses lie %s apart, at most %s is allowed.", asExact(apart, agree.Unit()), agree), do
}

// standsStill tells whether repeats at a step are of a length that should not
// move. Pulls are taken while a shaft turns, a pack is pressed at several places.
func standsStill(st *sheet.Step) bool {
	return st.Measure != nil || st.Check != nil && st.Check.What != sheet.TurningTorque && st.Check.What != sheet.Tightening
}

// spread is highest less lowest.
func spread(values []quantity.Value) quantity.Exact {
	if len(values) == 0 {
		return quantity.Exact{}
	}
	byFigure := func(a, b quantity.Value) int { return a.Exact().Cmp(b.Exact()) }
	return slices.MaxFunc(values, byFigure).Exact().Sub(slices.MinFunc(values, byFigure).Exact())
}

// settling says that repeats are still settling; "" where they are not.
func settling(values []quantity.Value, agree quantity.Value) string {
	var figures []quantity.Exact
	var places int32
	for _, v := range values {
		figures = append(figures, v.Exact())
		places = max(places, v.Places())
	}
	s, err := correct.Settle(figures, correct.SettleRule{Move: agree.Exact()})
	if err != nil || s.Settled() {
		return ""
	}
	if moved := s.Run[len(s.Run)-1].Sub(s.Run[0]).Abs(); !agree.Exact().Less(moved) {
		return ""
	}
	s.Run = s.Run[max(0, len(s.Run)-mostRun):]
	return s.Say(values[len(values)-1].Unit(), places)
}

// RepeatsOf are the presses that a next one at a spot of a step repeats, oldest
// first: those that count and were made since metal changed, with the same gauge
// on the same pieces. On other pieces the figures differ though the lengths
// agree.
func RepeatsOf(r *overhaul.Result, spot, gauge string, pieces []string) []quantity.Value {
	var out []quantity.Value
	for _, p := range r.Presses {
		e := p.Entry
		if !p.Stale && e.Spot == spot && e.Gauge == gauge && slices.Equal(e.Pieces, pieces) {
			out = append(out, e.Value)
		}
	}
	return out
}
