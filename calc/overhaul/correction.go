package overhaul

import (
	"fmt"

	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
)

// pressed is a press with what its gauge's table adds to it. The table speaks
// of readings from the gauge's own nought; one zeroed on a piece shows others.
func (w *worker) pressed(st *sheet.Step, e sheet.Entry) Press {
	p := Press{Entry: e, Build: w.build}
	c := w.entries.Gauges[e.Gauge].Corrections
	if c == nil || len(c.Points) == 0 || zeroedOnPiece(st) {
		return p
	}
	low, high := c.Points[0].At, c.Points[len(c.Points)-1].At
	read := e.Value.Exact()
	add, err := c.Table.Correction(read)
	switch {
	case low.Unit().Dimension() != e.Value.Unit().Dimension():
		p.Uncovered = fmt.Sprintf("%s read %s, a %s, and its correction table is of another kind, from %s to %s: is this the right gauge? Take the step again.",
			e.Gauge, e.Value, e.Value.Unit().Dimension(), low, high)
	case read.Less(low.Exact()) || high.Exact().Less(read):
		p.Uncovered = fmt.Sprintf("%s read %s, its correction table covers %s to %s: how it errs there is not known. Take the step again with a gauge whose table reaches there, or have this one's made longer.",
			e.Gauge, e.Value, low, high)
	case err != nil:
		p.Uncovered = fmt.Sprintf("%s read %s, which its correction table cannot correct: %s. Take the step again with another gauge.", e.Gauge, e.Value, err)
	default:
		p.Correction = correction(e, c, add)
	}
	return p
}

func zeroedOnPiece(st *sheet.Step) bool { return st.Measure != nil && st.Measure.Setup.ZeroedOnPiece }

// correction is what a table adds to one press, with the points it lies between.
func correction(e sheet.Entry, c *sheet.Corrections, add quantity.Exact) *Figure {
	low, high := c.Between(e.Value.Exact())
	source := fmt.Sprintf("table of %s (%s at %s, %s at %s)", e.Gauge, low.Add, low.At, high.Add, high.At)
	return &Figure{Name: "correction", Value: add, Leaf: &Leaf{
		Key: "correction:" + pressKey(e), Source: source, Ref: e.Ref, Kind: LeafCorrection, Gauge: e.Gauge,
	}}
}

// uncovered says that a press lies outside its gauge's table; "" where none does.
func uncovered(presses []Press) string {
	for _, p := range presses {
		if p.Uncovered != "" {
			return p.Uncovered
		}
	}
	return ""
}

// covered holds a step with a press outside its gauge's table: it counts for
// nothing, and no figure is made without it.
func (w *worker) covered(r *Result) bool {
	presses := fresh(r.Presses)
	if at, ok := w.in[r.Step.Name].last[sheet.EntryFit]; ok && r.Pack != nil && len(presses) == 0 {
		presses = w.pressedFor(r.Step, at)
	}
	wrong := uncovered(presses)
	if wrong == "" {
		return true
	}
	r.Status, r.Wants, r.Problem = Held, "", wrong
	return false
}
