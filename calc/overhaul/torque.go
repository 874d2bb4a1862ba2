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
	c.Advice = w.nextSpacer(r, false)
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
	c.Advice = w.nextSpacer(r, true)
	if c.Advice == "" {
		c.Advice = "Replace the bearing. No spacer mends a rough bearing."
	}
	r.Status, r.Problem = Held, c.Words
	return true
}
