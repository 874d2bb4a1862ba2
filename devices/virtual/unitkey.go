package virtual

import (
	"fmt"
	"slices"

	"shimwright/calc/quantity"
	"shimwright/devices"
)

// otherUnit is the unit that a gauge's unit key changes to.
func otherUnit(u quantity.Unit) (quantity.Unit, int32, error) {
	// A length gauge shows two more decimals in inches than in millimetres:
	// common practice, no source.
	switch u {
	case quantity.MM:
		return quantity.Inch, +2, nil
	case quantity.Inch:
		return quantity.MM, -2, nil
	}
	return quantity.Bare, 0, fmt.Errorf("a gauge that measures in %s has no unit key here", u)
}

// converted is what the gauge shows for v with its other unit: rounded to the
// decimals that it has then.
func converted(v quantity.Value) (quantity.Value, error) {
	to, more, err := otherUnit(v.Unit())
	if err != nil {
		return v, err
	}
	return quantity.Parse(v.Exact().Show(to, max(v.Places()+more, 0)), to)
}

// rekeyed is the profile of the gauge with its other unit: its decimals are
// others, and a gauge that sends no unit sends none still.
func rekeyed(p devices.Profile) devices.Profile {
	p.Parts = slices.Clone(p.Parts)
	for i, part := range p.Parts {
		if f, ok := part.(devices.Figure); ok {
			f.Places = nil
			p.Parts[i] = f
		}
	}
	if to, _, err := otherUnit(p.Assume); err == nil {
		p.Assume = to
	}
	return p
}
