package remedy

import (
	"fmt"

	"shimwright/calc/quantity"
)

// DefaultStep is the longest step a pinion is moved between two markings, in
// mm: 0.05 to 0.10 is common practice, no source.
func DefaultStep() quantity.Exact { return quantity.MustExact("0.10") }

// A PinionMove is a pinion that is to move, with the wheel following so that
// backlash holds.
type PinionMove struct {
	Move          quantity.Exact // mm, OUT above nought
	Pinion, Wheel int            // teeth; not used where Ratio is given
	// Ratio is the sheet's own wheel move for one of pinion move, for pairs
	// whose axes are offset; nil takes pinion teeth / wheel teeth, which holds
	// at any shaft angle without offset.
	Ratio *quantity.Exact
	// Factors of both gears, for the predicted change of backlash; nil leaves
	// it out. Take both from one source: never a sheet's with a worked one.
	PinionFactor, WheelFactor *Factor
	Step                      quantity.Exact // longest step; nought takes DefaultStep
	Show                      Display
}

// A Following is a pinion move with what it does and what makes up for it.
type Following struct {
	Pinion quantity.Exact   // mm, OUT above nought
	Wheel  quantity.Exact   // mm, AWAY above nought, exact
	Steps  []quantity.Exact // the pinion's move in equal steps, each followed by the wheel
	// Alone and Both are the predicted change of backlash by the pinion alone,
	// and with the wheel following; nil where a factor is missing.
	Alone, Both *quantity.Exact
	Words       string
}

// mostSteps bounds the steps of one pinion move.
const mostSteps = 100

// Follow works out the wheel's move that gives back what a pinion move takes:
// wheel = −pinion × ratio, exact. That the ratio is the one of the teeth is
// derived: both pitch cones share an element, so sin δ1 : sin δ2 = z1 : z2. No
// published worked example was found.
func Follow(in PinionMove) (Following, error) {
	ratio, step, err := in.check()
	if err != nil {
		return Following{}, err
	}
	out := Following{Pinion: in.Move, Wheel: in.Move.Mul(ratio).Neg()}
	per, err := inverse("step", step)
	if err != nil {
		return Following{}, err
	}
	n := ceilOf(in.Move.Abs().Mul(per))
	if n > mostSteps {
		return Following{}, problem("step", "%s mm makes %d steps of this move: at most %d; is the unit right?", step, n, mostSteps)
	}
	for range n {
		one, err := quantity.RatioOf(1, n)
		if err != nil {
			return Following{}, err
		}
		out.Steps = append(out.Steps, in.Move.Times(one))
	}
	if in.PinionFactor != nil {
		alone := in.Move.Mul(in.PinionFactor.K)
		out.Alone = &alone
		if in.WheelFactor != nil {
			both := alone.Add(out.Wheel.Mul(in.WheelFactor.K))
			out.Both = &both
		}
	}
	out.Words = out.words(in)
	return out, nil
}

func (in PinionMove) check() (ratio, step quantity.Exact, err error) {
	if err := checkLength("pinion move", in.Move); err != nil {
		return ratio, step, err
	}
	if in.Ratio != nil {
		ratio = *in.Ratio
		if err := checkNotNegative("ratio", ratio); err != nil {
			return ratio, step, err
		}
	} else {
		if err := checkTeeth(in.Pinion, in.Wheel); err != nil {
			return ratio, step, err
		}
		if ratio, err = share(int64(in.Pinion), int64(in.Wheel)); err != nil {
			return ratio, step, err
		}
	}
	for _, f := range []struct {
		field string
		f     *Factor
	}{{"pinion factor", in.PinionFactor}, {"wheel factor", in.WheelFactor}} {
		if f.f == nil {
			continue
		}
		if err := f.f.check(f.field); err != nil {
			return ratio, step, err
		}
	}
	if step = in.Step; step.IsZero() {
		step = DefaultStep()
	}
	if err := checkNotNegative("step", step); err != nil {
		return ratio, step, err
	}
	if step.Less(finest()) {
		return ratio, step, problem("step", "%s mm: the finest is %s mm", step, finest())
	}
	return ratio, step, in.Show.check("show")
}

func (f Following) words(in PinionMove) string {
	s := in.Show.goes("pinion", f.Pinion)
	if f.Pinion.IsZero() {
		return s + "."
	}
	if len(f.Steps) > 1 {
		s += fmt.Sprintf(" in %d steps, marking and backlash between them", len(f.Steps))
	}
	s += "; " + in.Show.goes("wheel", f.Wheel) + " so that backlash holds"
	if f.Alone != nil {
		s += fmt.Sprintf(" (the pinion alone changes it by %s)", in.Show.figure(*f.Alone))
	}
	return s + ". Measure backlash again: a pinion move shifts more than the formula has."
}
