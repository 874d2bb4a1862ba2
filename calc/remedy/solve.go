package remedy

import (
	"shimwright/calc/network"
	"shimwright/calc/quantity"
)

// A pair of rows is two equations in the changes of two packs.
type pairOfRows struct {
	a, b network.Row
	per  quantity.Ratio // one over the determinant
}

// rowsOf readies two rows; two that do the same thing, in any measure, cannot
// move the gear and keep the setting.
func rowsOf(a, b network.Row) (pairOfRows, error) {
	det := a.Float.Mul(b.Gear).Sub(b.Float.Mul(a.Gear))
	per, err := det.Inverse()
	if err != nil {
		return pairOfRows{}, problem("rows", "%s and %s: these two packs together cannot move the gear and keep the setting; name a positioning pack and a closing pack of one shaft", a.Words(), b.Words())
	}
	return pairOfRows{a, b, per}, nil
}

// changes is what each pack must change by for a change of the setting and a
// move of the gear.
func (p pairOfRows) changes(float, move quantity.Exact) (a, b quantity.Exact) {
	a = float.Times(p.b.Gear).Sub(move.Times(p.b.Float)).Times(p.per)
	b = move.Times(p.a.Float).Sub(float.Times(p.a.Gear)).Times(p.per)
	return a, b
}

// A span is a range of changes; both ends belong to it.
type span struct{ low, high quantity.Exact }

func (s span) with(x quantity.Exact) span { return span{least(s.low, x), most(s.high, x)} }

// spans is the range of each pack's change over ranges of both wishes: the
// corners hold the ends, the equations being linear.
func (p pairOfRows) spans(float, move span) (a, b span) {
	for i, f := range []quantity.Exact{float.low, float.high} {
		for j, m := range []quantity.Exact{move.low, move.high} {
			x, y := p.changes(f, m)
			if i+j == 0 {
				a, b = span{x, x}, span{y, y}
			}
			a, b = a.with(x), b.with(y)
		}
	}
	return a, b
}

// keeping is the range of the setting's change in which each pack also stays
// within its own limit of its exact figure.
func (p pairOfRows) keeping(float span, packs []Pack) (span, error) {
	for i, gear := range []quantity.Ratio{p.b.Gear, p.a.Gear} {
		off := gear.Mul(p.per)
		if packs[i].Within == nil || off.IsZero() {
			continue
		}
		by, err := off.Inverse()
		if err != nil {
			return span{}, err
		}
		limit := packs[i].Within.Times(by).Abs()
		float = span{most(float.low, limit.Neg()), least(float.high, limit)}
	}
	return float, nil
}
