package sheet

import (
	"slices"

	"shimwright/calc/document"
	"shimwright/calc/quantity"
)

// What a step may need before a press on it counts.
const (
	NeedsZero   = "zero"            // the gauge's zero was checked for this setup
	NeedsRolled = "bearings rolled" // a person says so, and it goes stale
	NeedsSeated = "bearings seated" // the same
)

// gates reads what must hold before a press counts at the step, and whether a
// second person must look at it.
func (r *reader) gates(s *Step, f *document.Fields) {
	if c := f.Get("critical"); c.Given() {
		s.Critical = c.YesNo()
	}
	needs, within := f.Get("needs"), f.Get("zero within")
	for _, n := range needs.List(3) {
		need := n.OneOf(NeedsZero, NeedsRolled, NeedsSeated)
		if slices.Contains(s.Needs, need) {
			n.Fail("%s stands here a second time", need)
		}
		s.Needs = append(s.Needs, need)
	}
	if needs.Given() && s.Gauge == "" {
		needs.Fail("%s is fed by no gauge: only a press can wait for what it needs", s.Name)
		return
	}
	zero := slices.Contains(s.Needs, NeedsZero)
	switch {
	case within.Given() && !zero:
		within.Fail("no zero is checked here: take this away or write needs: [zero]")
	case within.Given():
		window, _ := s.Window()
		s.Zero = above(within, window.Low.Unit().Dimension())
	case zero && s.agree().Exact().Sign() == 0:
		needs.Fail("write zero within: how far from nought the gauge may stand when its zero is checked, as in 0.01 mm")
	case zero:
		s.Zero = s.agree()
	}
}

// agree is how far the step's presses may lie apart; nought where it does not
// say.
func (s *Step) agree() quantity.Value {
	switch {
	case s.Measure != nil:
		return s.Measure.Agree
	case s.Pack != nil:
		return s.Pack.Agree
	case s.Check != nil:
		return s.Check.Agree
	}
	return quantity.Value{}
}

// Agree is how far presses at one spot of the step may lie apart; false where
// the sheet does not say.
func (s *Step) Agree() (quantity.Value, bool) {
	a := s.agree()
	return a, a.Exact().Sign() > 0
}

// Need tells whether a press at the step needs something.
func (s *Step) Need(what string) bool { return slices.Contains(s.Needs, what) }
