package overhaul

import (
	"fmt"

	"shimwright/calc/quantity"
	"shimwright/calc/ring"
)

// torque is the mean of pull × (radius of the housing + radius of the cord),
// and its roughness (most − least) / mean.
func (w *worker) torque(r *Result) {
	c, st := r.Check, r.Step.Check
	half, err := quantity.RatioOf(1, 2000) // half the diameters, and N·mm to N·m
	if err != nil {
		return
	}
	arm := st.Housing.Exact().Add(st.Cord.Exact()).Times(half)
	pull := c.Points[0].Figure
	c.Figure = &Figure{Name: "turning torque", Value: pull.Value.Mul(arm), Terms: []Term{{quantity.Whole(1), pull}}, By: &arm,
		Rule: fmt.Sprintf("pull × (%s/2 + %s/2)", st.Housing, st.Cord)}
	if rough := st.Rough.Exact(); rough.Sign() > 0 && pull.Value.Sign() > 0 {
		if w.rough(r, pull.Value, rough) {
			return
		}
	}
	w.judge(r, "turning torque")
	c.Advice = w.spacerAdvice(r)
}

// rough holds a bearing whose pulls differ too much: no spacer mends it. The
// comparison is range against limit × mean, so nothing is divided.
func (w *worker) rough(r *Result, meanPull, limit quantity.Exact) bool {
	c := r.Check
	unit, places := w.sheet.CheckShownIn(r.Step.Check)
	apart := c.Points[0].Range
	shown := apart.Float() / meanPull.Float()
	c.Rough = &Figure{Name: "roughness", Value: apart, Rule: fmt.Sprintf("(most − least) / mean = %.3f", shown)}
	if !meanPull.Mul(limit).Less(apart) {
		return false
	}
	c.Verdict = ring.NotGood
	c.Words = fmt.Sprintf("turning torque %s is rough: (most − least) / mean is %.3f, at most %s is allowed: NOT GOOD",
		c.Figure.Value.ShowUnit(unit, places), shown, r.Step.Check.Rough.Digits())
	c.Advice = "Replace the bearing. No spacer mends a rough bearing."
	r.Status, r.Problem = Held, c.Words
	return true
}

// spacerAdvice says which way the pack goes that this check sets: a torque too
// high wants it looser.
func (w *worker) spacerAdvice(r *Result) string {
	v := r.Check.Verdict
	if v != ring.OutHigh && v != ring.OutLow {
		return ""
	}
	for _, st := range w.sheet.Steps() {
		if st.Pack == nil || st.Pack.SetBy != r.Step.Name {
			continue
		}
		shaft, _ := w.sheet.ShaftNamed(st.Pack.Shaft)
		row, err := w.sheet.Net.Row(st.Pack.Length, shaft.Name, st.Pack.RowState(shaft))
		if err != nil || row.Float.IsZero() {
			return ""
		}
		thicker := (row.Float.Sign() > 0) == (v == ring.OutHigh)
		if thicker {
			return "Fit a THICKER " + st.Name + "."
		}
		return "Fit a THINNER " + st.Name + "."
	}
	return ""
}
