package stock

import (
	"cmp"
	"slices"
	"strings"
	"testing"

	"shimwright/calc/quantity"
)

// mm is a leaf of so many millimetres, labelled as written.
func mm(size string, count int) Leaf {
	return Leaf{Size: quantity.MustExact(size), Label: size, Count: count}
}

// thou is a leaf of so many thousandths of an inch.
func thou(size string, count int) Leaf {
	return Leaf{Size: inThou(size), Label: size, Count: count}
}

func inThou(digits string) quantity.Exact {
	v, err := quantity.Parse(digits, quantity.Thou)
	if err != nil {
		panic(err)
	}
	return v.Exact()
}

func tray(t testing.TB, leaves ...Leaf) Tray {
	t.Helper()
	out, err := NewTray(leaves...)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func makeUp(t testing.TB, from Tray, r Request) Answer {
	t.Helper()
	a, err := from.MakeUp(r)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func labels(p Pack) string {
	var out []string
	for _, l := range p.Leaves {
		out = append(out, l.Label)
	}
	return strings.Join(out, " ")
}

// A trial is one pack that exhaustive search found.
type trial struct {
	taken []int // of each size, thickest first
	k     int
	total quantity.Exact
	miss  quantity.Exact // distance from the wanted size
	below bool
}

// everyPack is every pack of a tray with an allowed number of leaves, found by
// trying all of them and summing exact sizes: no grid, no table.
func everyPack(from Tray, r Request) []trial {
	var sizes []quantity.Exact
	var have []int
	for _, l := range from.leaves {
		if n := len(sizes); n == 0 || !sizes[n-1].Equal(l.Size) {
			sizes, have = append(sizes, l.Size), append(have, 0)
		}
		have[len(have)-1] += l.Count
	}
	var out []trial
	taken := make([]int, len(sizes))
	var try func(i, k int, total quantity.Exact)
	try = func(i, k int, total quantity.Exact) {
		if i == len(sizes) {
			if k >= r.Rules.AtLeast && k <= r.Rules.most() {
				miss := total.Sub(r.Want)
				out = append(out, trial{slices.Clone(taken), k, total, miss.Abs(), miss.Sign() <= 0})
			}
			return
		}
		for n := range have[i] + 1 {
			taken[i] = n
			try(i+1, k+n, total)
			total = total.Add(sizes[i])
		}
	}
	try(0, 0, quantity.Exact{})
	return out
}

// order is the documented order of preference.
func (a trial) order(b trial, o Objective) int {
	miss, k := a.miss.Cmp(b.miss), cmp.Compare(a.k, b.k)
	side := cmp.Compare(rank(b.below), rank(a.below))
	larger := slices.Compare(b.taken, a.taken)
	if o == FewestWithin {
		return cmp.Or(k, miss, side, larger)
	}
	return cmp.Or(miss, side, k, larger)
}
