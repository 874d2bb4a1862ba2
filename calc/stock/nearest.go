package stock

import (
	"cmp"
	"slices"

	"shimwright/calc/quantity"
)

// nearest is the answer when no pack is within tolerance; the table reaches to
// the edge above.
func (s search) nearest(t table, e edge) Answer {
	a := Answer{Below: s.below(t, s.floor), Order: s.order(t)}
	switch {
	case e.inside:
		a.Above = s.above(t, s.floor+1)
	case e.known:
		p := s.pack(s.thinnest(s.Rules.AtLeast))
		a.Above = &p
	}
	return a
}

func (s search) below(t table, from int64) *Pack {
	for n := min(from, t.top()); n >= 0; n-- {
		if p := s.fewest(t, n); p != nil {
			return p
		}
	}
	return nil
}

func (s search) above(t table, from int64) *Pack {
	for n := from; n <= t.top(); n++ {
		if p := s.fewest(t, n); p != nil {
			return p
		}
	}
	return nil
}

// fewest is the preferred pack of total n, nil if there is none.
func (s search) fewest(t table, n int64) *Pack {
	ks := t.at(0, n) & s.allowed
	if ks == 0 {
		return nil
	}
	p := s.pack(t.first(n, ks.fewest()))
	return &p
}

// An edge says where the nearest pack above is to be looked for.
type edge struct {
	known  bool  // there is a pack above
	inside bool  // it is not simply the fewest thinnest leaves allowed
	total  int64 // a total at or above the wanted one that can be made for sure
}

// edge looks for a total of at least from steps that can be made for sure,
// which bounds the table. Packs of m leaves, j of them the thickest and the
// rest the thinnest, reach from the thinnest pack of m to the thickest by steps
// of less than one leaf, so some of them passes the wanted size closely. If the
// thinnest pack the rules allow is already at or above it, that is the nearest.
func (s search) edge(from int64) edge {
	thick := steps(s.sizes)
	up := slices.Clone(s.sizes)
	slices.Reverse(up)
	thin := steps(up)
	fromThin, fromThick := sums(thin), sums(thick)
	most := min(s.Rules.most(), len(thin))
	if s.Rules.AtLeast > most {
		return edge{}
	}
	if fromThin[s.Rules.AtLeast] >= from {
		return edge{known: true}
	}
	e := edge{}
	for m := s.Rules.AtLeast; m <= most; m++ {
		for j := range m + 1 {
			n := fromThin[m-j] + fromThick[j]
			if n >= from && (!e.known || n < e.total) {
				e = edge{known: true, inside: true, total: n}
			}
		}
	}
	return e
}

// steps is the leaves of these sizes one by one, as many as a pack may have.
func steps(sizes []size) []int64 {
	out := make([]int64, 0, MaxLeaves)
	for _, z := range sizes {
		for range min(z.count, MaxLeaves-len(out)) {
			out = append(out, z.steps)
		}
	}
	return out
}

// sums is the totals of the first 0, 1, 2 … of these.
func sums(of []int64) []int64 {
	out := make([]int64, len(of)+1)
	for i, n := range of {
		out[i+1] = out[i] + n
	}
	return out
}

// thinnest takes the m thinnest leaves.
func (s search) thinnest(m int) []int {
	taken := make([]int, len(s.sizes))
	for i := len(s.sizes) - 1; i >= 0; i-- {
		taken[i] = min(m, s.sizes[i].count)
		m -= taken[i]
	}
	return taken
}

// A choice of a leaf to order: it goes with k leaves of total n.
type choice struct {
	unusual, breaks bool
	k               int
	n               int64
}

func (c choice) compare(d choice) int {
	flag := func(b bool) int { return rank(b) }
	return cmp.Or(
		cmp.Compare(flag(c.unusual), flag(d.unusual)),
		cmp.Compare(flag(c.breaks), flag(d.breaks)),
		cmp.Compare(c.k, d.k),
		cmp.Compare(c.n, d.n), // the thicker leaf goes with the thinner rest
	)
}

// order is the single leaf that makes the wanted size exactly, the table being
// good for every total below it.
func (s search) order(t table) *Order {
	if s.Want.IsZero() {
		return nil
	}
	usualLow, usualHigh := s.usual()
	withOne := s.allowed >> 1 // numbers of leaves that one more makes allowed
	var pick choice
	found := false
	for n := range min(s.grid.ceil(s.Want), t.top()+1) {
		for _, breaks := range []bool{false, true} {
			ks := t.at(0, n) & withOne
			if breaks {
				ks = t.at(0, n) &^ withOne &^ (1 << MaxLeaves)
			}
			if ks == 0 {
				continue
			}
			c := choice{unusual: n < usualLow || n > usualHigh, breaks: breaks, k: ks.fewest(), n: n}
			if !found || c.compare(pick) < 0 {
				pick, found = c, true
			}
		}
	}
	if !found {
		return nil
	}
	return s.ordered(pick, t.first(pick.n, pick.k))
}

// usual is the totals that an ordered leaf of usual thickness goes with.
func (s search) usual() (low, high int64) {
	if len(s.sizes) == 0 {
		return 0, -1
	}
	thickest, thinnest := s.sizes[0], s.sizes[len(s.sizes)-1]
	return s.grid.ceil(s.Want.Sub(s.grid.size(thickest.steps))), s.grid.floor(s.Want.Sub(s.grid.size(thinnest.steps)))
}

func (s search) ordered(c choice, taken []int) *Order {
	thickness := s.Want.Sub(s.grid.size(c.n))
	leaf := Leaf{Size: thickness, Label: orderLabel(thickness), Count: 1}
	leaves := append(leavesOf(s.sizes, taken), leaf)
	slices.SortStableFunc(leaves, Leaf.before)
	return &Order{
		Size:        thickness,
		Pack:        newPack(leaves, s.Want, s.Want, s.Rules.ThinnestOutside),
		Unusual:     c.unusual,
		BreaksRules: c.breaks,
	}
}

func orderLabel(x quantity.Exact) string { return x.Decimal().String() + " mm" }
