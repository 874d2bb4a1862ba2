package stock

import (
	"fmt"
	"math/bits"
)

// A size is one thickness of a tray on the grid.
type size struct {
	steps int64  // thickness in steps of the grid
	count int    // leaves of that thickness
	kinds []Leaf // what they are, in drawing order
}

// sizesOf gathers the leaves of a tray by thickness, thickest first.
func sizesOf(leaves []Leaf, g grid) []size {
	var out []size
	for _, l := range leaves {
		n := g.floor(l.Size)
		if len(out) == 0 || out[len(out)-1].steps != n {
			out = append(out, size{steps: n})
		}
		last := &out[len(out)-1]
		last.count += l.Count
		last.kinds = append(last.kinds, l)
	}
	return out
}

// A counts is a set of numbers of leaves: bit k is set when k leaves do.
type counts uint64

const allCounts = counts(1)<<(MaxLeaves+1) - 1

func (c counts) fewest() int { return bits.TrailingZeros64(uint64(c)) }

func (c counts) has(k int) bool { return c>>uint(k)&1 != 0 }

// A table tells which totals can be made, and of how many leaves.
// rows[i][s] holds every k such that k leaves out of sizes[i:] make s steps;
// the last row, of no sizes, makes nought of no leaves.
type table struct {
	sizes []size
	rows  [][]counts
}

// newTable is the table for totals of up to top steps.
func newTable(sizes []size, top int64) (table, error) {
	lengths := make([]int64, len(sizes)+1)
	lengths[len(sizes)] = 1
	cells, total := int64(1), int64(0)
	for i := len(sizes) - 1; i >= 0; i-- {
		total += sizes[i].steps * int64(min(sizes[i].count, MaxLeaves))
		lengths[i] = min(total, top) + 1
		cells += lengths[i]
	}
	if cells > MaxCells {
		return table{}, fmt.Errorf("%d sizes on so fine a grid need a table of %d cells: the most is %d; offer fewer sizes, or round the measured ones to 0.001 mm",
			len(sizes), cells, MaxCells)
	}
	t := table{sizes: sizes, rows: make([][]counts, len(sizes)+1)}
	store := make([]counts, cells)
	for i := len(sizes); i >= 0; i-- {
		t.rows[i], store = store[:lengths[i]:lengths[i]], store[lengths[i]:]
		if i == len(sizes) {
			t.rows[i][0] = 1
			continue
		}
		copy(t.rows[i], t.rows[i+1])
		addLeaves(t.rows[i], sizes[i])
	}
	return t, nil
}

// addLeaves lets up to z.count leaves of one size into a row. After a pass of
// k the row knows 0 to have+k leaves of it; as taking one pack twice does no
// harm to a set, passes may overlap, and each but the last doubles.
func addLeaves(row []counts, z size) {
	most := min(z.count, MaxLeaves)
	for have := 0; have < most; {
		k := min(have+1, most-have)
		addPass(row, z.steps*int64(k), uint(k))
		have += k
	}
}

// addPass lets k leaves, together step thick, into a row, thickest totals
// first so that none is let in twice.
func addPass(row []counts, step int64, k uint) {
	if step >= int64(len(row)) {
		return
	}
	from := row[:int64(len(row))-step]
	to := row[step:][:len(from)]
	for s := len(from) - 1; s >= 0; s-- {
		to[s] |= from[s] << (k & 63) & allCounts
	}
}

// at is the numbers of leaves out of sizes[i:] that make s steps.
func (t table) at(i int, s int64) counts {
	if s < 0 || s >= int64(len(t.rows[i])) {
		return 0
	}
	return t.rows[i][s]
}

// top is the thickest total the table can hold.
func (t table) top() int64 { return int64(len(t.rows[0])) - 1 }

// walk calls yield with each way to make s steps of k leaves, as how many of
// each size are taken, larger single leaves first, until yield says stop.
func (t table) walk(s int64, k int, yield func(taken []int) bool) {
	if t.at(0, s).has(k) {
		t.step(make([]int, len(t.sizes)), 0, s, k, yield)
	}
}

// step settles sizes[i:] of a walk; it enters only ways that end well.
func (t table) step(taken []int, i int, s int64, k int, yield func([]int) bool) bool {
	if i == len(t.sizes) {
		return yield(taken)
	}
	z := t.sizes[i]
	for n := min(int64(z.count), int64(k), s/z.steps); n >= 0; n-- {
		if !t.at(i+1, s-n*z.steps).has(k - int(n)) {
			continue
		}
		taken[i] = int(n)
		if !t.step(taken, i+1, s-n*z.steps, k-int(n), yield) {
			return false
		}
	}
	return true
}

// first is the preferred way to make s steps of k leaves.
func (t table) first(s int64, k int) []int {
	var out []int
	t.walk(s, k, func(taken []int) bool {
		out = taken
		return false
	})
	return out
}
