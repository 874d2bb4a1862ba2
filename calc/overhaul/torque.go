package overhaul

import (
	"fmt"

	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
)

// torque is the mean of pull × (radius of the housing + radius of the cord),
// less what the seal adds where the sheet has that, and its roughness
// (most − least) / mean.
func (w *worker) torque(r *Result) {
	c, st := r.Check, r.Step.Check
	arm, ok := armOf(st)
	if !ok {
		return
	}
	drag, known := w.sealDrag(r.Step, arm)
	if !known {
		r.Wants = "the seal's drag: one steady pull with the seal in and one without"
		return
	}
	pull := c.Points[0].Figure
	turning := byArm(st, arm, "turning torque", Term{quantity.Whole(1), pull})
	c.Figure = turning
	unsure := turning
	if drag.figure != nil {
		c.Figure = sum("turning torque", Term{quantity.Whole(1), turning}, Term{quantity.Whole(-1), drag.figure})
		c.Figure.Rule = "without the seal"
		turning.Name = "torque as pulled"
		unsure = byArm(st, arm, "turning torque", append([]Term{{quantity.Whole(1), pull}}, drag.pulls...)...)
	}
	if rough := st.Rough.Exact(); rough.Sign() > 0 && c.Figure.Value.Sign() > 0 {
		if w.rough(r, arm, rough) {
			return
		}
	}
	w.judgeBy(r, "turning torque", unsure)
	c.Advice = w.nextSpacer(r, false)
}

// armOf is the radius a pull acts at, in m: half the diameters, and N·mm to N·m.
func armOf(st *sheet.Check) (quantity.Exact, bool) {
	half, err := quantity.RatioOf(1, 2000)
	if err != nil {
		return quantity.Exact{}, false
	}
	return st.Housing.Exact().Add(st.Cord.Exact()).Times(half), true
}

// byArm is a sum of pulls as a torque.
func byArm(st *sheet.Check, arm quantity.Exact, name string, pulls ...Term) *Figure {
	f := sum(name, pulls...)
	f.Value, f.By = f.Value.Mul(arm), &arm
	f.Rule = fmt.Sprintf("pull × (%s/2 + %s/2)", st.Housing, st.Cord)
	return f
}

// drag is what the seal adds to a turning torque: nil where the sheet has none,
// with the pulls it was found by, as they count in the torque.
type drag struct {
	figure *Figure
	pulls  []Term
}

// sealDrag is what the seal adds: by the sheet, or by one pull with it and one
// without; known is false while those are still wanted.
func (w *worker) sealDrag(st *sheet.Step, arm quantity.Exact) (drag, bool) {
	c := st.Check
	if d := c.SealDrag; d.Exact().Sign() > 0 {
		return drag{figure: leaf("seal drag", "seal:"+st.Name, "seal drag by the sheet", d)}, true
	}
	if !c.SealMeasured {
		return drag{}, true
	}
	e, i, ok := w.entry(st.Name, sheet.EntrySeal)
	if !ok || len(e.Measured) != 2 {
		return drag{}, false
	}
	with := leaf("pull with the seal", fmt.Sprintf("seal:%s:%d:with", st.Name, i), "pulled with the seal in", e.Measured[0])
	without := leaf("pull without the seal", fmt.Sprintf("seal:%s:%d:without", st.Name, i), "pulled without the seal", e.Measured[1])
	with.Leaf.Kind, without.Leaf.Kind = LeafKeyed, LeafKeyed
	with.Leaf.Ref, without.Leaf.Ref = e.Ref, e.Ref
	one := quantity.Whole(1)
	return drag{
		figure: byArm(c, arm, "seal drag", Term{one, with}, Term{one.Neg(), without}),
		pulls:  []Term{{one.Neg(), with}, {one, without}},
	}, true
}

// rough holds a bearing whose pulls differ too much: no spacer mends it. The
// comparison is range against limit × mean, so nothing is divided; the seal
// pulls alike all round, so that the mean is the bearing's own.
func (w *worker) rough(r *Result, arm, limit quantity.Exact) bool {
	c := r.Check
	unit, places := w.sheet.CheckShownIn(r.Step.Check)
	apart, torque := c.Points[0].Range.Mul(arm), c.Figure.Value
	shown := apart.Float() / torque.Float()
	c.Rough = &Figure{Name: "roughness", Value: c.Points[0].Range, Rule: fmt.Sprintf("(most − least) / mean = %.3f", shown)}
	if !torque.Mul(limit).Less(apart) {
		return false
	}
	c.Verdict = ring.NotGood
	c.Words = fmt.Sprintf("turning torque %s is rough: (most − least) / mean is %.3f, at most %s is allowed: NOT GOOD",
		torque.ShowUnit(unit, places), shown, r.Step.Check.Rough.Digits())
	c.Advice = w.nextSpacer(r, true)
	if c.Advice == "" {
		c.Advice = "Replace the bearing. No spacer mends a rough bearing."
	}
	r.Status, r.Problem = Held, c.Words
	return true
}
