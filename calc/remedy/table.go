package remedy

import (
	"math/bits"

	"github.com/shopspring/decimal"

	"shimwright/calc/quantity"
	"shimwright/calc/stock"
)

// A kind is one kind of leaf that may go into a pack.
type kind struct {
	leaf  stock.Leaf // Count is not used
	steps int64      // thickness in steps of the grid
	free  int        // in the tray
	own   int        // in the pack itself now
	other int        // in the other pack now, where both draw on one tray
}

// counts is a set of numbers of leaves, as a bit each.
type counts uint64

const allCounts = counts(1)<<(stock.MaxLeaves+1) - 1

// A table tells which totals can be added to a pack, and of how many leaves:
// rows[i][s] holds every k such that k leaves out of kinds[i:] make s steps.
// It is the method of package stock, with each kind of leaf on its own.
type table struct{ rows [][]counts }

// mostCells bounds the table: 64 MB.
const mostCells = 8000000

func newTable(kinds []kind, top int64) (table, error) {
	lengths := make([]int64, len(kinds)+1)
	lengths[len(kinds)] = 1
	total, cells := int64(0), int64(1)
	for i := len(kinds) - 1; i >= 0; i-- {
		total += kinds[i].steps * int64(min(kinds[i].free+kinds[i].other, stock.MaxLeaves))
		lengths[i] = min(total, top) + 1
		cells += lengths[i]
	}
	if cells > mostCells {
		return table{}, problem("tray", "%d kinds of leaf on so fine a grid need a table of %d cells, at most %d: round the measured sizes to 0.001 mm", len(kinds), cells, mostCells)
	}
	t := table{rows: make([][]counts, len(kinds)+1)}
	store := make([]counts, cells)
	for i := len(kinds); i >= 0; i-- {
		t.rows[i], store = store[:lengths[i]:lengths[i]], store[lengths[i]:]
		if i == len(kinds) {
			t.rows[i][0] = 1
			continue
		}
		copy(t.rows[i], t.rows[i+1])
		add(t.rows[i], kinds[i].steps, min(kinds[i].free+kinds[i].other, stock.MaxLeaves))
	}
	return t, nil
}

// add lets up to n leaves of one kind into a row, doubling at each pass; passes
// may overlap, as taking a pack into a set twice does no harm.
func add(row []counts, steps int64, n int) {
	for have := 0; have < n; {
		k := min(have+1, n-have)
		shift := steps * int64(k)
		for s := int64(len(row)) - 1; s >= shift; s-- {
			row[s] |= row[s-shift] << uint(k) & allCounts
		}
		have += k
	}
}

func (t table) at(i int, s int64) counts {
	if s < 0 || s >= int64(len(t.rows[i])) {
		return 0
	}
	return t.rows[i][s]
}

func (t table) top() int64 { return int64(len(t.rows[0])) - 1 }

func (c counts) fewest() int { return bits.TrailingZeros64(uint64(c)) }

// A grid is the step, in mm, that every leaf is a whole number of.
type grid struct {
	step, per quantity.Exact // per is 1/step
}

// gridOf is the coarsest grid that holds every leaf; of none it is 1 mm.
func gridOf(leaves []stock.Leaf) (grid, error) {
	one := quantity.MustExact("1")
	if len(leaves) == 0 {
		return grid{one, one}, nil
	}
	places := int32(0)
	for _, l := range leaves {
		places = max(places, placesOf(l.Size.Decimal()))
	}
	if places > 12 {
		return grid{}, problem("tray", "sizes written to %d places of a millimetre: the finest is %s mm; round the measured sizes", places, finest())
	}
	unit := int64(0)
	for _, l := range leaves {
		n := l.Size.Decimal().Shift(places).IntPart()
		for n != 0 {
			unit, n = n, unit%n
		}
	}
	step := quantity.FromDecimal(decimal.New(unit, -places))
	if step.Less(finest()) {
		return grid{}, problem("tray", "its sizes share a step of only %s mm: the finest is %s mm; round the measured sizes, or keep inch and metric leaves apart", step, finest())
	}
	per, err := inverse("tray", step)
	return grid{step, per}, err
}

func placesOf(d decimal.Decimal) int32 {
	places := max(-d.Exponent(), 0)
	for places > 0 && d.Equal(d.Truncate(places-1)) {
		places--
	}
	return places
}

func (g grid) size(n int64) quantity.Exact       { return g.step.Times(quantity.Whole(n)) }
func (g grid) floor(x quantity.Exact) int64      { return floorOf(x.Mul(g.per)) }
func (g grid) ceil(x quantity.Exact) int64       { return ceilOf(x.Mul(g.per)) }
func (g grid) on(x quantity.Exact) (int64, bool) { n := g.floor(x); return n, g.size(n).Equal(x) }
