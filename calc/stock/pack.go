package stock

import (
	"fmt"
	"slices"
	"strings"

	"shimwright/calc/quantity"
)

// A Pack is leaves made up to a wanted size.
type Pack struct {
	Leaves []Leaf         // one by one, Count 1, from one outer face to the other
	Total  quantity.Exact // mm: sum of the sizes
	Error  quantity.Exact // mm: total − wanted, negative when the pack is thin
}

// String is the pack as a sum of its labels, thickest first, such as
// "1.00 mm + 2 × 0.30 mm".
func (p Pack) String() string {
	if len(p.Leaves) == 0 {
		return "no leaves"
	}
	sorted := slices.Clone(p.Leaves)
	slices.SortStableFunc(sorted, Leaf.before)
	var terms []string
	for i := 0; i < len(sorted); {
		n := 1
		for i+n < len(sorted) && sorted[i+n].sameKind(sorted[i]) {
			n++
		}
		if n == 1 {
			terms = append(terms, sorted[i].Label)
		} else {
			terms = append(terms, fmt.Sprintf("%d × %s", n, sorted[i].Label))
		}
		i += n
	}
	return strings.Join(terms, " + ")
}

// newPack is a pack of these leaves, thickest first, for a wanted size; total is
// what they add up to.
func newPack(leaves []Leaf, total, want quantity.Exact, thinnestOutside bool) Pack {
	return Pack{Leaves: stack(leaves, thinnestOutside), Total: total, Error: total.Sub(want)}
}

// stack puts leaves, thickest first, in stacking order: from the outer faces
// inwards they go thickest to thinnest, or the other way.
func stack(leaves []Leaf, thinnestOutside bool) []Leaf {
	in := slices.Clone(leaves)
	if thinnestOutside {
		slices.Reverse(in)
	}
	out := make([]Leaf, len(in))
	for i, l := range in {
		if i%2 == 0 {
			out[i/2] = l
		} else {
			out[len(in)-1-i/2] = l
		}
	}
	return out
}

// leavesOf is the leaves taken of each size, thickest first, one by one.
func leavesOf(sizes []size, taken []int) []Leaf {
	all := 0
	for _, n := range taken {
		all += n
	}
	out := make([]Leaf, 0, all)
	for i, n := range taken {
		for _, kind := range sizes[i].kinds {
			m := min(n, kind.Count)
			one := kind
			one.Count = 1
			for range m {
				out = append(out, one)
			}
			n -= m
		}
	}
	return out
}
