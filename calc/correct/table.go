package correct

import (
	"fmt"
	"math/big"
	"sort"

	"github.com/shopspring/decimal"

	"shimwright/calc/quantity"
	"shimwright/calc/stat"
)

// A Point is one row of a gauge's correction table, in the base unit.
type Point struct {
	At  quantity.Exact // what the gauge reads
	Add quantity.Exact // what is added to it: the certified size less the reading
}

// FromError is the point of a certificate that states the gauge's error at a
// reading, error = reading − true: the correction is its opposite.
func FromError(at, err quantity.Exact) Point { return Point{At: at, Add: err.Neg()} }

// A Table corrects readings by a straight line between points.
type Table struct{ points []Point }

// NewTable makes a table of two points or more, given in rising order of
// reading. Readings of a table are decimals.
func NewTable(points []Point) (Table, error) {
	if err := counted("points", len(points), 2); err != nil {
		return Table{}, err
	}
	for i, p := range points {
		field := fmt.Sprintf("point %d", i+1)
		if err := bounded(field+": reading", p.At); err != nil {
			return Table{}, err
		}
		if !p.At.IsDecimal() {
			return Table{}, problem(stat.OutOfRange, field+": reading", "a decimal, as the certificate writes it", "%s", p.At)
		}
		if err := bounded(field+": correction", p.Add); err != nil {
			return Table{}, err
		}
		if i == 0 {
			continue
		}
		before := points[i-1].At
		if !before.Less(p.At) {
			return Table{}, problem(stat.UpsideDown, field+": reading", "more than the "+before.String()+" before it", "%s", p.At)
		}
		if _, ok := inverse(p.At.Sub(before)); !ok {
			return Table{}, problem(stat.OutOfRange, field+": reading", "at most 18 digits from the point before it", "%s after %s", p.At, before)
		}
	}
	return Table{append([]Point(nil), points...)}, nil
}

// inverse is 1/d of a decimal d above nought, as a decimal power of ten times a
// ratio; false where d has more digits than a ratio of ours holds.
func inverse(d quantity.Exact) (of func(quantity.Exact) quantity.Exact, ok bool) {
	dec := d.Decimal()
	coef, shift := dec.Coefficient(), decimal.NewFromBigInt(big.NewInt(1), -dec.Exponent())
	if !coef.IsInt64() {
		return nil, false
	}
	r, err := quantity.RatioOf(1, coef.Int64())
	if err != nil {
		return nil, false
	}
	return func(a quantity.Exact) quantity.Exact { return a.Mul(quantity.FromDecimal(shift)).Times(r) }, true
}

// Range is the least and greatest reading the table corrects. The zero Table
// has none, and gives noughts.
func (t Table) Range() (low, high quantity.Exact) {
	if len(t.points) == 0 {
		return quantity.Exact{}, quantity.Exact{}
	}
	return t.points[0].At, t.points[len(t.points)-1].At
}

// Correction is what is to be added to a reading:
//
//	c = c0 + (x − x0)·(c1 − c0)/(x1 − x0)
//
// exact, over a whole number. A reading outside the table is refused: how a
// gauge errs there is not known.
func (t Table) Correction(x quantity.Exact) (quantity.Exact, error) {
	if len(t.points) < 2 {
		return quantity.Exact{}, problem(stat.TooFew, "points", "a table made by NewTable", "none")
	}
	if err := bounded("reading", x); err != nil {
		return quantity.Exact{}, err
	}
	low, high := t.Range()
	if x.Less(low) || high.Less(x) {
		return quantity.Exact{}, problem(stat.OutOfRange, "reading",
			fmt.Sprintf("one from %s to %s, where the table was made; take another gauge or have the table made longer", low, high), "%s", x.Decimal())
	}
	i := sort.Search(len(t.points), func(i int) bool { return !t.points[i].At.Less(x) })
	p := t.points[i]
	if p.At.Equal(x) {
		return p.Add, nil
	}
	q := t.points[i-1]
	over, ok := inverse(p.At.Sub(q.At))
	if !ok { // NewTable has refused it
		return quantity.Exact{}, problem(stat.OutOfRange, "points", "a table made by NewTable", "one that was not")
	}
	return q.Add.Add(over(x.Sub(q.At).Mul(p.Add.Sub(q.Add)))), nil
}

// Correct is the reading put right: x plus its correction.
func (t Table) Correct(x quantity.Exact) (quantity.Exact, error) {
	c, err := t.Correction(x)
	if err != nil {
		return quantity.Exact{}, err
	}
	return x.Add(c), nil
}
