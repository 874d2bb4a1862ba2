package stock

import (
	"fmt"

	"github.com/shopspring/decimal"

	"shimwright/calc/quantity"
)

func maxTarget() quantity.Exact { return quantity.FromDecimal(decimal.New(MaxTarget, 0)) }

// mostDigits bounds a figure's digits and places before any sum is done with
// it, so that no figure, however made, can make the arithmetic slow.
const mostDigits = 24

// checkDigits refuses a figure with more digits or places than any gauge has.
func checkDigits(x quantity.Exact) error {
	d := x.Decimal()
	if d.NumDigits() > mostDigits || d.Exponent() > mostDigits || d.Exponent() < -mostDigits {
		return fmt.Errorf("a figure of %d digits and exponent %d: at most %d of either", d.NumDigits(), d.Exponent(), mostDigits)
	}
	return nil
}

// A grid is the step every size of a tray is a whole number of:
// unit × 10^-places mm.
type grid struct {
	places int32
	unit   int64
}

// gridOf is the coarsest grid that holds every size: their greatest common
// divisor. An empty tray has a grid of 1 mm.
func gridOf(leaves []Leaf) (grid, error) {
	g := grid{unit: 1}
	for _, l := range leaves {
		g.places = max(g.places, placesOf(l.Size))
	}
	if g.places > 12 {
		return grid{}, fmt.Errorf("sizes written to %d places of a millimetre: the finest is 0.0001 mm; round the measured sizes", g.places)
	}
	for i, l := range leaves {
		n := l.Size.Decimal().Shift(g.places).IntPart()
		if i == 0 {
			g.unit = n
		}
		g.unit = gcd(g.unit, n)
	}
	if finer := g.places - FinestPlaces; finer > 0 && g.unit < pow10(finer) {
		return grid{}, fmt.Errorf("sizes of this tray share a step of only %s mm: the finest is 0.0001 mm; round the measured sizes, or keep inch and metric leaves apart", g.size(1))
	}
	return g, nil
}

// placesOf is how many decimals x needs, trailing zeros left out.
func placesOf(x quantity.Exact) int32 {
	d := x.Decimal()
	places := max(-d.Exponent(), 0)
	for places > 0 && d.Equal(d.Truncate(places-1)) {
		places--
	}
	return places
}

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

func pow10(n int32) int64 {
	p := int64(1)
	for range n {
		p *= 10
	}
	return p
}

// size is n steps in mm.
func (g grid) size(n int64) quantity.Exact {
	return quantity.FromDecimal(decimal.New(n, 0).Mul(decimal.New(g.unit, -g.places)))
}

// floor is the greatest whole number of steps that is not above x. Sizes and
// wanted sizes are checked before they come here, so it fits an int64.
func (g grid) floor(x quantity.Exact) int64 {
	fine := x.Mul(quantity.FromDecimal(decimal.New(1, g.places)))
	r := fine.Round(0)
	if fine.Less(quantity.FromDecimal(r)) {
		r = r.Sub(decimal.New(1, 0))
	}
	// as many whole steps as there are in the whole part
	n := r.IntPart()
	steps := n / g.unit
	if n%g.unit < 0 {
		steps--
	}
	return steps
}

// ceil is the least whole number of steps that is not below x.
func (g grid) ceil(x quantity.Exact) int64 { return -g.floor(x.Neg()) }

// A mark is a wanted size on the grid, in quarters of a step. Between two steps
// only three things matter to which total is nearer: below the middle, on it,
// or above it. They stand as 1, 2 and 3 quarters, which keeps every comparison
// of distances, ties too, as the exact size has it.
type mark int64

// mark is that of x, in which f whole steps fit.
func (g grid) mark(x quantity.Exact, f int64) mark {
	rest := x.Sub(g.size(f)) // less than one step
	if rest.IsZero() {
		return mark(4 * f)
	}
	return mark(4*f + 2 + int64(rest.Add(rest).Cmp(g.size(1))))
}

// from is how far s steps are from the mark, in quarters of a step.
func (m mark) from(s int64) int64 {
	d := 4*s - int64(m)
	return max(d, -d)
}
