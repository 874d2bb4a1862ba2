package remedy

import (
	"fmt"

	"shimwright/calc/quantity"
	"shimwright/calc/ring"
)

// DefaultCap is the most a spacer is changed at once on the word of two
// trials, in mm. Turning torque rises faster than squeeze and bearings growing
// on a press fit add to it, so a straight line through two loose trials
// overshoots; 0.05 mm is about the allowance of a preload (common practice, no
// source).
func DefaultCap() quantity.Exact { return quantity.MustExact("0.05") }

// A Trial is one spacer with the turning torque it gave.
type Trial struct {
	Thickness quantity.Exact // mm
	Torque    quantity.Exact // N·m, seal drag taken off where the band is without seal
}

// A Spacer is a spacer, or pack, that is set by turning torque.
type Spacer struct {
	Name   string
	Float  quantity.Ratio // what one more of it does to the setting, from its row
	Trials []Trial        // in the order made; the last is in now
	Band   ring.Band      // N·m, for the bearing's condition
	U      quantity.Exact // N·m
	Rule   ring.Rule
	Rough  bool           // the pulls differ too much round the turn, or the bearing is notchy
	Step   quantity.Exact // mm, of the spacer stock; nought rounds nothing
	Cap    quantity.Exact // mm; nought takes DefaultCap
	Show   Display
}

// A SpacerAdvice says what spacer to try next.
type SpacerAdvice struct {
	Verdict ring.Verdict    // on the last trial
	Way     int             // +1 thicker, −1 thinner, 0 no change of it
	Next    *quantity.Exact // mm, the thickness to try; nil where only the way is known
	Exact   *quantity.Exact // mm, where the straight line meets the middle of the band
	Capped  bool
	Words   string
}

const mostTrials = 100

// NextSpacer says which way a spacer goes, and from two trials or more how far:
// the straight line through two trials to the middle of the band, no further
// than the cap and no further than a trial that was out on the other side,
// rounded to the stock's step, to the looser side when midway. A rough bearing
// gets no spacer.
func NextSpacer(in Spacer) (SpacerAdvice, error) {
	if err := in.check(); err != nil {
		return SpacerAdvice{}, err
	}
	if in.Rough {
		return SpacerAdvice{Verdict: ring.NotGood, Words: "Replace the bearing: no spacer mends a rough one."}, nil
	}
	last := in.Trials[len(in.Trials)-1]
	out := SpacerAdvice{Verdict: in.Band.Judge(last.Torque, in.U, in.Rule)}
	switch out.Verdict {
	case ring.Good:
		out.Words = fmt.Sprintf("%s N.m is good: leave the %s as it is.", last.Torque.Round(4), in.Name)
		return out, nil
	case ring.TooClose:
		out.Words = fmt.Sprintf("%s N.m is too close to call: take the pulls again with the better method before changing the %s.", last.Torque.Round(4), in.Name)
		return out, nil
	}
	tight := out.Verdict == ring.OutHigh
	out.Way = in.Float.Sign()
	if !tight {
		out.Way = -out.Way
	}
	if len(in.Trials) == 1 {
		out.Words = in.wayWords(tight, out.Way) + " One trial gives the way and not the amount."
		return out, nil
	}
	if t, ok := in.goodBefore(out.Way); ok {
		out.Next = &t.Thickness
		out.Words = in.wayWords(tight, out.Way) + fmt.Sprintf(" %s was tried and gave %s N.m, which is good: fit that one again.",
			in.Show.figure(t.Thickness), t.Torque.Round(4))
		return out, nil
	}
	return in.amount(out, tight)
}

// goodBefore is the latest trial that was good, on the side that the last one
// asks for.
func (in Spacer) goodBefore(way int) (Trial, bool) {
	last := in.Trials[len(in.Trials)-1]
	for i := len(in.Trials) - 2; i >= 0; i-- {
		t := in.Trials[i]
		if t.Thickness.Sub(last.Thickness).Sign() == way && in.Band.Judge(t.Torque, in.U, in.Rule) == ring.Good {
			return t, true
		}
	}
	return Trial{}, false
}

// amount adds how far to go.
func (in Spacer) amount(out SpacerAdvice, tight bool) (SpacerAdvice, error) {
	last := in.Trials[len(in.Trials)-1]
	before, bracket := in.partner(tight)
	run, rise := last.Thickness.Sub(before.Thickness), last.Torque.Sub(before.Torque)
	// Thicker by a positive Float is looser: torque falls.
	if rise.Sign() == 0 || run.Sign()*rise.Sign()*in.Float.Sign() >= 0 {
		out.Words = in.wayWords(tight, out.Way) + fmt.Sprintf(
			" The last two trials do not tell how far: %s gave %s N.m and %s gave %s N.m. Measure both spacers, roll the bearings, take the pulls again.",
			in.Show.figure(before.Thickness), before.Torque.Round(4), in.Show.figure(last.Thickness), last.Torque.Round(4))
		return out, nil
	}
	middle, err := half(in.Band.Low.Add(in.Band.High))
	if err != nil {
		return SpacerAdvice{}, err
	}
	slope := quantity.FromDecimal(rise.Round(quantity.WorkPlaces))
	by, err := inverse("torque of the trials", slope)
	if err != nil {
		return SpacerAdvice{}, err
	}
	exact := last.Thickness.Add(middle.Sub(last.Torque).Mul(run).Mul(by))
	out.Exact = &exact
	next := exact
	limit := in.limit()
	if !bracket && limit.Less(exact.Sub(last.Thickness).Abs()) {
		out.Capped = true
		next = last.Thickness.Add(limit.Times(quantity.Whole(int64(out.Way))))
	}
	next, err = in.onStep(next, out)
	if err != nil {
		return SpacerAdvice{}, err
	}
	return in.settle(out, next, tight), nil
}

// partner is the trial that the line is drawn from: the nearest one that was
// out on the other side, else the one before the last with another thickness.
func (in Spacer) partner(tight bool) (Trial, bool) {
	last := in.Trials[len(in.Trials)-1]
	other, have := Trial{}, false
	for _, t := range in.Trials[:len(in.Trials)-1] {
		v := in.Band.Judge(t.Torque, in.U, in.Rule)
		if tight && v != ring.OutLow || !tight && v != ring.OutHigh {
			continue
		}
		if !have || t.Thickness.Sub(last.Thickness).Abs().Less(other.Thickness.Sub(last.Thickness).Abs()) {
			other, have = t, true
		}
	}
	if have {
		return other, true
	}
	for i := len(in.Trials) - 2; i >= 0; i-- {
		if t := in.Trials[i]; !t.Thickness.Equal(last.Thickness) {
			return t, false
		}
	}
	return in.Trials[len(in.Trials)-2], false
}

func (in Spacer) limit() quantity.Exact {
	if in.Cap.IsZero() {
		return DefaultCap()
	}
	return in.Cap
}

// onStep is the nearest thickness of the stock, the looser of two as near; a
// capped one is not rounded beyond its cap.
func (in Spacer) onStep(x quantity.Exact, out SpacerAdvice) (quantity.Exact, error) {
	if in.Step.IsZero() {
		return x, nil
	}
	by, err := inverse("step", in.Step)
	if err != nil {
		return x, err
	}
	below := whole(floorOf(x.Mul(by))).Mul(in.Step)
	if below.Equal(x) {
		return x, nil
	}
	above := below.Add(in.Step)
	if out.Capped {
		if out.Way > 0 {
			return below, nil
		}
		return above, nil
	}
	down, up := x.Sub(below), above.Sub(x)
	if c := down.Cmp(up); c < 0 || c == 0 && in.Float.Sign() < 0 {
		return below, nil
	}
	return above, nil
}

// settle refuses a thickness that was tried already, or lies on the wrong side.
func (in Spacer) settle(out SpacerAdvice, next quantity.Exact, tight bool) SpacerAdvice {
	last := in.Trials[len(in.Trials)-1]
	for _, t := range in.Trials {
		if t.Thickness.Equal(next) || next.Sub(last.Thickness).Sign() != out.Way {
			out.Words = in.wayWords(tight, out.Way) + " No spacer of this stock's step lies between what was tried: have one ground to " +
				in.Show.figure(*out.Exact) + "."
			return out
		}
	}
	if next.Sign() <= 0 {
		out.Words = in.wayWords(tight, out.Way) + " The trials ask for no spacer at all: measure the spacers, and doubt the parts."
		return out
	}
	out.Next = &next
	out.Words = in.wayWords(tight, out.Way) + " Try " + in.Show.figure(next)
	if out.Capped {
		out.Words += fmt.Sprintf(" (the trials say %s; no more than %s at once, because torque rises faster than squeeze)",
			in.Show.figure(*out.Exact), in.Show.figure(in.limit()))
	}
	out.Words += "."
	return out
}

func (in Spacer) wayWords(tight bool, way int) string {
	state := "too loose"
	if tight {
		state = "too tight"
	}
	word := "THINNER"
	if way > 0 {
		word = "THICKER"
	}
	return fmt.Sprintf("Turns %s: fit a %s %s.", state, word, in.Name)
}

func (in Spacer) check() error {
	if in.Name == "" {
		return problem("name", "give the spacer its name")
	}
	if err := checkRatio("float of the row", in.Float); err != nil {
		return err
	}
	if in.Float.IsZero() {
		return problem("float of the row", "one more of the %s does not change the setting, so no torque is set by it", in.Name)
	}
	if n := len(in.Trials); n == 0 || n > mostTrials {
		return problem("trials", "%d of them: give 1 to %d", n, mostTrials)
	}
	for i, t := range in.Trials {
		if err := checkNotNegative(fmt.Sprintf("trial %d, thickness", i+1), t.Thickness); err != nil {
			return err
		}
		if err := checkTorque(fmt.Sprintf("trial %d, torque", i+1), t.Torque); err != nil {
			return err
		}
	}
	for _, f := range []struct {
		field string
		x     quantity.Exact
	}{{"band, low", in.Band.Low}, {"band, high", in.Band.High}, {"U", in.U}} {
		if err := checkTorque(f.field, f.x); err != nil {
			return err
		}
	}
	if in.Band.High.Less(in.Band.Low) {
		return problem("band", "low %s is above high %s: swap them", in.Band.Low, in.Band.High)
	}
	return in.checkSteps()
}

func (in Spacer) checkSteps() error {
	for _, f := range []struct {
		field string
		x     quantity.Exact
	}{{"step", in.Step}, {"cap", in.Cap}} {
		if err := checkNotNegative(f.field, f.x); err != nil {
			return err
		}
	}
	if !in.Step.IsZero() && in.Step.Less(finest()) {
		return problem("step", "%s mm: the finest is %s mm", in.Step, finest())
	}
	if in.Rule > ring.Simple {
		return problem("rule", "%s is not known: use guarded or simple", in.Rule)
	}
	return in.Show.check("show")
}
