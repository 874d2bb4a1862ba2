package sheet

import (
	"maps"
	"slices"

	"shimwright/calc/document"
	"shimwright/calc/quantity"
)

// ShownIn is the unit in which figures of a dimension are shown, with the
// decimals: the sheet's own for lengths, the one its first limits are written
// in for forces and torques.
func (s *Sheet) ShownIn(d quantity.Dimension) (quantity.Unit, int32) {
	if d == quantity.Length {
		return s.Unit, s.Places
	}
	for _, st := range s.Steps() {
		if st.Check == nil {
			continue
		}
		for _, l := range st.Check.limits() {
			if u := l.Low.Unit(); u != quantity.Bare && u.Dimension() == d {
				return u, placesOf(u)
			}
		}
	}
	otherwise := map[quantity.Dimension]quantity.Unit{quantity.Force: quantity.Newton, quantity.Torque: quantity.NewtonMetre, quantity.Angle: quantity.Degree}[d]
	return otherwise, placesOf(otherwise)
}

// CheckShownIn is the unit of the figure that a check judges: that of its own
// limits for a torque.
func (s *Sheet) CheckShownIn(c *Check) (quantity.Unit, int32) {
	if c.What != TurningTorque && c.What != Tightening {
		return s.Unit, s.Places
	}
	for _, l := range c.limits() {
		if u := l.Low.Unit(); u.Dimension() == quantity.Torque {
			return u, placesOf(u)
		}
	}
	return s.ShownIn(quantity.Torque)
}

// limits are the window and the limits of a check, in a fixed order.
func (c *Check) limits() []document.Band {
	out := []document.Band{c.Window}
	if c.Band == nil {
		return out
	}
	if c.Band.Fixed != nil {
		out = append(out, *c.Band.Fixed)
	}
	for _, answer := range slices.Sorted(maps.Keys(c.Band.ByAnswer)) {
		out = append(out, c.Band.ByAnswer[answer])
	}
	return out
}

// placesOf is about one decimal more than gauges of the unit give.
func placesOf(u quantity.Unit) int32 {
	switch {
	case u == quantity.NewtonMetre:
		return 4
	case u.Dimension() == quantity.Torque:
		return 3
	}
	return 2
}
