package guard

import (
	"fmt"
	"slices"

	"shimwright/calc/quantity"
	"shimwright/ingest/fact"
)

// LookOf is how a press looks: what one gauge's presses have in common.
func LookOf(v quantity.Value, unitStated bool) fact.Looked {
	return fact.Looked{Unit: v.Unit().String(), Stated: unitStated, Places: v.Places()}
}

// Fits tells whether a press looks like the gauge. One that was never taught has
// no looks, and any press fits it.
func Fits(looks []fact.Looked, v quantity.Value, unitStated bool) bool {
	return len(looks) == 0 || slices.ContainsFunc(looks, func(l fact.Looked) bool {
		return alike(l, v, unitStated) && within(l, v)
	})
}

// alike compares what the digits look like, whatever their figure is.
func alike(l fact.Looked, v quantity.Value, unitStated bool) bool {
	is := LookOf(v, unitStated)
	return l.Unit == is.Unit && l.Stated == is.Stated && l.Places == is.Places
}

// within tells whether a figure lies in the range that was seen or no more than
// a tenth of it outside: who teaches a gauge seldom goes right to both ends. The
// tenth is chosen, with no source.
func within(l fact.Looked, v quantity.Value) bool {
	if l.Low == nil || l.High == nil {
		return true
	}
	low, high := l.Low.Exact(), l.High.Exact()
	over := high.Sub(low).Mul(quantity.MustExact("0.1"))
	x := v.Exact()
	return !x.Less(low.Sub(over)) && !high.Add(over).Less(x)
}

// same asks whether this is still the gauge that was taught: its cable may carry
// another one, or its unit key was hit.
func same(c Case) *Decision {
	v := c.Sample.Value
	if Fits(c.Looks, v, c.Sample.UnitStated) {
		return nil
	}
	id := c.Sample.Gauge
	return held(fact.LooksOtherwise, "Unit key hit? Set it back and press again. Another gauge on the cable? Teach the cables anew. All is right? Take the press.",
		"%s from %s, which %s when it was taught: is this still %s?", v, id, looked(c.Looks, v, c.Sample.UnitStated), id)
}

// looked says how the gauge looked where it differs from a press.
func looked(looks []fact.Looked, v quantity.Value, unitStated bool) string {
	for _, l := range looks {
		if alike(l, v, unitStated) {
			return fmt.Sprintf("went from %s to %s", l.Low, l.High)
		}
	}
	l := looks[len(looks)-1]
	places := fmt.Sprintf("%d decimals", l.Places)
	if l.Places == 1 {
		places = "1 decimal"
	}
	if l.Stated != unitStated && l.Unit == v.Unit().String() && l.Places == v.Places() {
		if l.Stated {
			return "sent its unit"
		}
		return "sent no unit"
	}
	return "sent " + l.Unit + " with " + places
}
