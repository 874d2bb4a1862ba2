package overhaul

import (
	"fmt"

	"shimwright/calc/quantity"
	"shimwright/calc/remedy"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
)

// fewLearned is how many earlier re-shims must tell before a sheet that says
// "learned" goes by them.
const fewLearned = 3

// factor is what one unit of wheel move adds to the backlash that a check's
// dial shows: what earlier re-shims found where the sheet goes by that, else
// the sheet's own figure, else worked from the gears; false where none is known.
func (w *worker) factor(st *sheet.Step) (remedy.Factor, bool) {
	stated, ok := w.statedFactor(st.Check)
	if !ok || !st.Check.Learned {
		return stated, ok
	}
	l, err := remedy.Learn(w.entries.Earlier[st.Name], stated)
	if err != nil || l.N < fewLearned || l.Mean.Sign() <= 0 {
		return stated, true
	}
	return remedy.Factor{K: l.Mean, Source: fmt.Sprintf("learned from %d re-shims, which found %s to %s",
		l.N, l.Low.Round(3).StringFixed(3), l.High.Round(3).StringFixed(3))}, true
}

// statedFactor is the sheet's own, else worked from the gears.
func (w *worker) statedFactor(c *sheet.Check) (remedy.Factor, bool) {
	if c.Factor.Exact().Sign() > 0 {
		return remedy.Factor{K: c.Factor.Exact(), Source: "from the sheet"}, true
	}
	all, ok := w.gearFactors()
	k := all.WheelTransverse
	if c.Reads == "normal" {
		k = all.WheelNormal
	}
	return remedy.Factor{K: k, Source: "from the gears"}, ok && k.Sign() > 0
}

func (w *worker) gearFactors() (ring.Factors, bool) {
	g := w.sheet.Gears
	if g.Wheel == 0 {
		return ring.Factors{}, false
	}
	all, err := ring.Gears{Pinion: g.Pinion, Wheel: g.Wheel, Shafts: g.Shafts.Exact(), Pressure: g.Pressure.Exact(), Spiral: g.Spiral.Exact()}.Factors()
	return all, err == nil
}

// pinionFactor is the pinion's own by the wheel's: the two are as the teeth,
// so that a sheet's or a learned figure of one gear never meets a worked one of
// the other.
func (w *worker) pinionFactor(wheel remedy.Factor) (remedy.Factor, bool) {
	share, err := quantity.RatioOf(int64(w.sheet.Gears.Pinion), int64(max(w.sheet.Gears.Wheel, 1)))
	if err != nil || w.sheet.Gears.Wheel == 0 {
		return remedy.Factor{}, false
	}
	return remedy.Factor{K: quantity.FromDecimal(wheel.K.Times(share).Round(ring.FactorPlaces)), Source: wheel.Source + ", by the teeth"}, true
}

// learn holds the factor that is used against earlier re-shims, where the
// entries carry any.
func (w *worker) learn(r *Result) {
	k, known := w.factor(r.Step)
	if !known {
		return
	}
	r.Check.Factor = &k
	stated, _ := w.statedFactor(r.Step.Check)
	earlier := w.entries.Earlier[r.Step.Name]
	if len(earlier) == 0 {
		return
	}
	l, err := remedy.Learn(earlier, stated)
	if err != nil {
		return
	}
	if l.LeftOut > 0 {
		l.Words += fmt.Sprintf(" Left out, for it is too small to tell: %d.", l.LeftOut)
	}
	switch {
	case r.Step.Check.Learned && k.Source != stated.Source:
		l.Words += " The learned one is used, as the sheet says."
	case r.Step.Check.Learned:
		l.Words += fmt.Sprintf(" The sheet would go by what they found once %d tell.", fewLearned)
	default:
		l.Words += " The one " + stated.Source + " is used."
	}
	r.Check.Learned = &l
}

// windowWords says what change of the mean would bring every point in, and
// which move of the wheel that is, or that none does.
func (w *worker) windowWords(c *Check) string {
	if c.Verdict == ring.Good || c.Factor == nil {
		return ""
	}
	u, p := w.sheet.Unit, w.sheet.Places
	from, to := c.Ring.Window.From, c.Ring.Window.To
	if c.Ring.Window.Empty() {
		return fmt.Sprintf("The lowest point wants the mean changed by %s or more, the highest by %s or less: no shim does both.",
			signed(from, u, p), signed(to, u, p))
	}
	out := fmt.Sprintf("A change of the mean from %s to %s passes at every point", signed(from, u, p), signed(to, u, p))
	move, err := c.Ring.Window.Move(c.Factor.K)
	if err != nil {
		return out + "."
	}
	near, far, way := move.From.Abs(), move.To.Abs(), "AWAY"
	switch {
	case move.To.Sign() <= 0:
		near, far, way = far, near, "TOWARD the pinion"
	case move.From.Sign() < 0:
		return out + fmt.Sprintf(": wheel up to %s TOWARD the pinion or up to %s AWAY (factor %s %s).", near.ShowUnit(u, p+1), far.ShowUnit(u, p+1), c.Factor.K.Round(4), c.Factor.Source)
	}
	return out + fmt.Sprintf(": wheel %s by %s to %s, best %s (factor %s %s).", way,
		near.ShowUnit(u, p+1), far.ShowUnit(u, p+1), move.Aim.Abs().ShowUnit(u, p+1), c.Factor.K.Round(4), c.Factor.Source)
}
