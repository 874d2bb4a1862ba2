package overhaul

import (
	"fmt"

	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
)

// CheckExample works a sheet's example and holds it to the packs it must give.
// It also turns the sign of each leaf, and drops each leaf, in turn: an example
// that still comes out is blind to that leaf, so a slip there would pass, and
// the sheet is refused. So is an example whose check does not close. A sheet without an example, or with a worked pack that
// the example does not give, is refused too.
func CheckExample(s *sheet.Sheet) (*Results, error) {
	if s.Example == nil {
		return nil, s.Fault("", "the sheet has no example: write a job's entries and the packs they must give")
	}
	res, err := Work(s, s.Example.Entries)
	if err != nil {
		return nil, err
	}
	if err := holdClosures(s, res); err != nil {
		return res, err
	}
	given := map[string]bool{}
	for _, g := range s.Example.Gives {
		given[g.Pack] = true
		if err := holdGiven(s, res, g); err != nil {
			return res, err
		}
	}
	for _, st := range s.Steps() {
		if st.Pack != nil && st.Pack.Makes != "" && !given[st.Name] {
			return res, s.FaultAt(st.At, fmt.Sprintf("the example does not say what %s must come to: add it under gives", st.Name))
		}
	}
	return res, nil
}

func holdGiven(s *sheet.Sheet, res *Results, g sheet.Given) error {
	r := res.Of(g.Pack)
	if r.Pack == nil || r.Pack.Worked == nil || r.Status == Stopped {
		why := r.Problem
		if why == "" {
			why = "it waits for " + r.Wants
		}
		return s.FaultAt(g.At, fmt.Sprintf("the example does not give %s: %s", g.Pack, why))
	}
	got := r.Pack.Worked
	if !matches(got.Value, g.Figure) {
		return s.FaultAt(g.At, fmt.Sprintf("the example gives %s = %s, and %s is written", g.Pack,
			got.Value.ShowUnit(g.Figure.Unit(), g.Figure.Places()+1), g.Figure))
	}
	if err := holdSharp(s, g, got, g.Figure); err != nil {
		return err
	}
	if r.Pack.Other == nil {
		return nil
	}
	other, err := quantity.Parse(r.Pack.Other.Value.In(g.Figure.Unit()).Round(g.Figure.Places()).StringFixed(g.Figure.Places()), g.Figure.Unit())
	if err != nil {
		return s.FaultAt(g.At, err.Error())
	}
	return holdSharp(s, g, r.Pack.Other, other)
}

// holdClosures refuses an example whose two ways to a pack, or whose length
// found as a check, do not close: one of its own figures is wrong.
func holdClosures(s *sheet.Sheet, res *Results) error {
	for _, r := range res.Steps {
		c := r.Closure
		if r.Pack != nil && r.Pack.Closure != nil {
			c = r.Pack.Closure
		}
		if c != nil && !c.Good {
			return s.FaultAt(r.Step.At, "the example does not close: "+r.Problem)
		}
	}
	return nil
}

// holdSharp turns and drops each leaf of a figure and sees that it no longer
// comes out.
func holdSharp(s *sheet.Sheet, g sheet.Given, got *Figure, written quantity.Value) error {
	for _, l := range got.Leaves() {
		if k := l.Figure.Leaf.Kind; k == LeafCorrection || k == LeafGrowth {
			continue // worked, not put in: it may well be nought
		}
		part := l.Figure.Value.Times(l.Coef)
		for _, slip := range []struct {
			did   string
			value quantity.Exact
		}{
			{"turned", got.Value.Sub(part.Times(quantity.Whole(2)))},
			{"dropped", got.Value.Sub(part)},
		} {
			if matches(slip.value, written) {
				return s.FaultAt(g.At, fmt.Sprintf("the example is blind to %s (%s) in %s: %s, the pack still comes out. Give it a figure that shows in the pack",
					l.Figure.Name, l.Figure.Leaf.Source, g.Pack, slip.did))
			}
		}
	}
	return nil
}

// matches tells whether a figure rounds to the one written.
func matches(got quantity.Exact, written quantity.Value) bool {
	return got.In(written.Unit()).Round(written.Places()).StringFixed(written.Places()) == written.Digits()
}
