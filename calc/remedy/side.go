package remedy

import (
	"cmp"
	"slices"

	"shimwright/calc/quantity"
	"shimwright/calc/stock"
)

// A keep is a part of a pack's present leaves that stays in: what the pack
// then counts before anything is put in.
type keep struct {
	base  quantity.Exact // mm
	taken []int          // of each kind
	out   int            // leaves taken out
	steps int64          // of the grid, that the leaves taken out make
	left  int            // leaves that stay
	anew  bool           // nothing stays: the pack is made anew
}

// A side is one of the two packs of a choice.
type side struct {
	pack  Pack
	y     quantity.Exact // change of the mean for one more of the pack
	kinds []kind
	grid  grid
	table table
	keeps []keep
	// What the pack may be, in mm.
	low, high quantity.Exact
	cut       bool // not every part to keep was listed
}

// mostKeeps bounds the parts of a pack that may stay; a pack of six different
// leaves has 64. Beyond it only parts with up to three leaves out are tried.
const mostKeeps = 4096

// none is the side of a shaft whose gear is set by one pack alone.
func none() side {
	return side{grid: grid{whole(1), whole(1)}, table: table{[][]counts{{1}}}, keeps: []keep{{}}}
}

// newSide readies a pack for totals from low to high. other is the leaves of
// the pack that draws on the same tray.
func newSide(p Pack, other []stock.Leaf, y, low, high quantity.Exact) (side, error) {
	s := side{pack: p, y: y, low: most(low, quantity.Exact{}), high: least(high, whole(stock.MaxTarget))}
	if p.Range != nil {
		s.low, s.high = most(s.low, p.Range.Low), least(s.high, p.Range.High)
	}
	var all []stock.Leaf
	for _, part := range [][]stock.Leaf{p.Tray.Leaves(), p.Leaves, other} {
		all = append(all, part...)
	}
	merged, err := stock.NewTray(all...)
	if err != nil {
		return side{}, problem("tray", "%v", err)
	}
	if s.grid, err = gridOf(merged.Leaves()); err != nil {
		return side{}, err
	}
	for _, l := range merged.Leaves() {
		steps, _ := s.grid.on(l.Size)
		s.kinds = append(s.kinds, kind{leaf: l, steps: steps,
			free: countIn(p.Tray.Leaves(), l), own: countIn(p.Leaves, l), other: countIn(other, l)})
	}
	s.listKeeps()
	s.narrow()
	s.table, err = newTable(s.kinds, s.reachTop())
	return s, err
}

func sameKind(a, b stock.Leaf) bool {
	return a.Label == b.Label && a.Measured == b.Measured && a.Size.Equal(b.Size)
}

func countIn(leaves []stock.Leaf, l stock.Leaf) int {
	n := 0
	for _, m := range leaves {
		if sameKind(l, m) {
			n += m.Count
		}
	}
	return n
}

// narrow keeps the figures looked at within the limits of the search.
func (s *side) narrow() {
	most := int64(min(mostFigures, mostLooks/len(s.keeps)))
	if s.high.Less(s.low) || s.grid.floor(s.high.Sub(s.low)) < most {
		return
	}
	middle, err := half(s.low.Add(s.high))
	if err != nil {
		return
	}
	s.low, s.high = middle.Sub(s.grid.size(most/2)), middle.Add(s.grid.size(most/2))
	s.cut = true
}

func (s *side) reachTop() int64 {
	top := int64(0)
	for _, k := range s.keeps {
		top = max(top, s.grid.floor(s.high.Sub(k.base)))
	}
	return top
}

// listKeeps lists every part of the present leaves that may stay.
func (s *side) listKeeps() {
	nothing := make([]int, len(s.kinds))
	if len(s.pack.Leaves) == 0 {
		if s.pack.Figure.IsZero() {
			s.keeps = []keep{{taken: nothing}}
			return
		}
		s.keeps = []keep{{base: s.pack.Figure, taken: nothing, left: 1}, {taken: nothing, out: 1, anew: true}}
		return
	}
	parts, have := 1, 0
	for _, k := range s.kinds {
		parts = min(parts*(k.own+1), mostKeeps+1)
		have += k.own
	}
	mostOut := have
	if parts > mostKeeps {
		mostOut, s.cut = min(3, have), true
	}
	s.part(nothing, 0, 0, mostOut, have)
	if s.cut {
		all := make([]int, len(s.kinds))
		for i, k := range s.kinds {
			all[i] = k.own
		}
		s.keeps = append(s.keeps, keep{taken: all, out: have, anew: true})
	}
}

// part settles what is taken of kinds[i:].
func (s *side) part(taken []int, i, out, mostOut, have int) {
	if i == len(s.kinds) {
		k := keep{taken: slices.Clone(taken), out: out, left: have - out, anew: out == have}
		if !k.anew {
			k.base = s.pack.Figure
			for j, n := range taken {
				k.steps += s.kinds[j].steps * int64(n)
			}
			k.base = k.base.Sub(s.grid.size(k.steps))
		}
		s.keeps = append(s.keeps, k)
		return
	}
	for n := range min(s.kinds[i].own, mostOut-out) + 1 {
		taken[i] = n
		s.part(taken, i+1, out+n, mostOut, have)
	}
	taken[i] = 0
}

// allowed is the numbers of leaves that may be put in, so many staying.
func (s *side) allowed(left int) counts {
	top := s.pack.Rules.AtMost
	if top == 0 {
		top = stock.MaxLeaves
	}
	if left > top {
		return 0
	}
	c := counts(1)<<(top-left+1) - 1
	if low := s.pack.Rules.AtLeast - left; low > 0 {
		c &^= counts(1)<<low - 1
	}
	return c
}

// A total is a figure that the pack can be made to, with the fewest leaves put
// in or taken out.
type total struct {
	size quantity.Exact // mm
	f, y quantity.Exact // what the change to it does: to the setting, to the mean
	cost int
}

// totals is every figure in range that the pack can be made to, by what it does
// to the setting. A cost is a lower bound: the other pack may have the leaf.
func (s *side) totals() []total {
	type at struct {
		anew bool
		n    int64
	}
	offset, common := s.grid.on(s.pack.Figure)
	best := map[at]*total{}
	for _, k := range s.keeps {
		bits := s.allowed(k.left)
		first, last := max(s.grid.ceil(s.low.Sub(k.base)), 0), min(s.grid.floor(s.high.Sub(k.base)), s.table.top())
		for n := first; n <= last; n++ {
			ks := s.table.at(0, n) & bits
			if ks == 0 {
				continue
			}
			key := at{k.anew && !common, n}
			if !k.anew {
				key.n -= k.steps
			} else if common {
				key.n -= offset
			}
			cost := k.out + ks.fewest()
			if had, ok := best[key]; ok {
				had.cost = min(had.cost, cost)
				continue
			}
			size := k.base.Add(s.grid.size(n))
			change := size.Sub(s.pack.Figure)
			best[key] = &total{size: size, f: change.Times(s.pack.Row.Float), y: change.Mul(s.y), cost: cost}
		}
	}
	out := make([]total, 0, len(best))
	for _, t := range best {
		out = append(out, *t)
	}
	slices.SortFunc(out, func(a, b total) int { return cmp.Or(a.f.Cmp(b.f), a.size.Cmp(b.size)) })
	return out
}

// A way is one way to a total: what stays, and how many leaves go in.
type way struct {
	keep   keep
	steps  int64
	leaves int
	cost   int
}

// ways is every way to a total, fewest leaves put in or taken out first.
func (s *side) ways(size quantity.Exact) []way {
	var out []way
	whole, onWhole := s.grid.on(size)
	more, onMore := s.grid.on(size.Sub(s.pack.Figure))
	for _, k := range s.keeps {
		n, ok := more+k.steps, onMore
		if k.anew {
			n, ok = whole, onWhole
		}
		if !ok || n < 0 {
			continue
		}
		for ks := s.table.at(0, n) & s.allowed(k.left); ks != 0; ks &= ks - 1 {
			out = append(out, way{keep: k, steps: n, leaves: ks.fewest(), cost: k.out + ks.fewest()})
		}
	}
	slices.SortStableFunc(out, func(a, b way) int {
		return cmp.Or(cmp.Compare(a.cost, b.cost), cmp.Compare(a.keep.left+a.leaves, b.keep.left+b.leaves))
	})
	return out
}

// walk calls yield with the leaves of each kind that make a way, no more than
// most of any, larger single leaves first; it stops when yield does or when
// budget is spent.
func (s *side) walk(w way, most func(i int) int, budget *int, yield func([]int) bool) bool {
	taken := make([]int, len(s.kinds))
	var step func(i int, left int64, k int) bool
	step = func(i int, left int64, k int) bool {
		if *budget--; *budget < 0 {
			return false
		}
		if i == len(s.kinds) {
			return yield(taken)
		}
		z := s.kinds[i].steps
		for n := min(int64(most(i)), int64(k), left/z); n >= 0; n-- {
			if s.table.at(i+1, left-n*z)>>uint(k-int(n))&1 == 0 {
				continue
			}
			taken[i] = int(n)
			if !step(i+1, left-n*z, k-int(n)) {
				return false
			}
		}
		taken[i] = 0
		return true
	}
	return step(0, w.steps, w.leaves)
}
