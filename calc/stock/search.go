package stock

import (
	"fmt"
	"math/bits"
)

// A search is one request on the grid of its tray.
type search struct {
	Request
	grid    grid
	sizes   []size
	allowed counts
	floor   int64 // whole steps in the wanted size
	aim     mark
}

func newSearch(r Request, g grid, sizes []size) search {
	floor := g.floor(r.Want)
	return search{Request: r, grid: g, sizes: sizes, allowed: r.Rules.allowed(), floor: floor, aim: g.mark(r.Want, floor)}
}

// answer works with one table where it can: the nearest pack above is mostly a
// little beyond the tolerance, so the first table reaches as far unless that
// would make it much longer.
func (s search) answer() (Answer, error) {
	low, high := max(s.grid.ceil(s.Want.Sub(s.Within)), 0), s.grid.floor(s.Want.Add(s.Within))
	above := s.edge(s.floor + 1)
	reach := high
	if above.inside && above.total <= high+high/8 {
		reach = max(high, above.total)
	}
	t, err := newTable(s.sizes, reach)
	if err != nil {
		return Answer{}, fmt.Errorf("tray: %w", err)
	}
	if found := s.best(t, low, min(high, t.top())); len(found) > 0 {
		return Answer{Packs: found}, nil
	}
	if above.inside && above.total > reach {
		if t, err = newTable(s.sizes, above.total); err != nil {
			return Answer{}, fmt.Errorf("tray, nearest pack above: %w", err)
		}
	}
	return s.nearest(t, above), nil
}

// best is the packs with totals from low to high steps, in order of preference.
func (s search) best(t table, low, high int64) []Pack {
	b := best{search: s, table: t, left: max(s.Answers, 1)}
	switch s.Objective {
	case FewestWithin:
		var seen counts
		for n := low; n <= high; n++ {
			seen |= t.rows[0][n] & s.allowed
		}
		for ; seen != 0; seen &= seen - 1 {
			if !b.outwards(low, high, seen&-seen) {
				break
			}
		}
	default:
		b.outwards(low, high, s.allowed)
	}
	return b.packs
}

// best gathers packs until enough are found.
type best struct {
	search
	table table
	left  int
	packs []Pack
}

// outwards takes packs of the allowed numbers of leaves with totals from low to
// high, nearest to the wanted size first, the thinner of two equally near; it
// tells whether more are wanted.
func (b *best) outwards(low, high int64, allowed counts) bool {
	below := min(b.floor, high)
	above := max(below+1, low)
	for below >= low || above <= high {
		next := below
		if below < low || above <= high && b.aim.from(above) < b.aim.from(below) {
			next = above
			above++
		} else {
			below--
		}
		if !b.take(next, b.table.at(0, next)&allowed) {
			return false
		}
	}
	return true
}

// take takes the packs of total n with these numbers of leaves, fewest first.
func (b *best) take(n int64, ks counts) bool {
	for ; ks != 0; ks &= ks - 1 {
		b.table.walk(n, bits.TrailingZeros64(uint64(ks)), func(taken []int) bool {
			b.packs = append(b.packs, b.pack(taken))
			b.left--
			return b.left > 0
		})
		if b.left == 0 {
			return false
		}
	}
	return true
}

func (s search) pack(taken []int) Pack {
	total := int64(0)
	for i, n := range taken {
		total += int64(n) * s.sizes[i].steps
	}
	return newPack(leavesOf(s.sizes, taken), s.grid.size(total), s.Want, s.Rules.ThinnestOutside)
}
