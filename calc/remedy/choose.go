package remedy

import (
	"cmp"
	"container/heap"
	"slices"
	"sort"

	"shimwright/calc/quantity"
)

// Limits of the search. Beyond them it takes what it has found so far and says
// that it was cut short.
const (
	mostPairs  = 40000    // pairs of totals compared
	mostCombos = 4000     // ways to one pair of totals
	mostWalk   = 10000000 // steps of looking for leaves, for one advice
	// What a pair of totals that has no leaves counts in these steps, and each
	// part that may stay in its packs.
	costOfChoice = 1000
	costOfKeep   = 100
	// Figures looked at for one pack, and these times the parts that may stay;
	// beyond them the range is narrowed about its middle.
	mostFigures = 20000
	mostLooks   = 2000000
)

// A task is what a choice must do: f to the setting, y to the mean (or, with a
// factor of 1, to the gear).
type task struct {
	fAim, fLow, fHigh quantity.Exact
	yAim, yLow, yHigh quantity.Exact
	grain             quantity.Exact              // what is too little to tell; above nought
	passes            func(y quantity.Exact) bool // a last look at each y
	answers           int                         // classes wanted
	sides             [2]side
	shared            bool // both draw on one tray
}

// A choice is a pair of totals.
type choice struct {
	a, b   total
	f, y   quantity.Exact
	class  int64 // whole grains of y from its aim, with their sign
	fclass int64
	cost   int
	miss   quantity.Exact // |y − aim|
	fmiss  quantity.Exact
	done   *made // the leaves, once they were found
}

// made is the leaves of both packs.
type made struct {
	ways   [2]way
	put    [2][]int // of each kind
	leaves int      // in both packs, afterwards
}

// compare is the order of preference within a class.
func (c *choice) compare(d *choice) int {
	leaves := func(x *choice) int {
		if x.done == nil {
			return 0
		}
		return x.done.leaves
	}
	return cmp.Or(
		cmp.Compare(c.fclass, d.fclass),
		cmp.Compare(c.cost, d.cost),
		c.miss.Cmp(d.miss),
		d.y.Cmp(c.y),
		c.fmiss.Cmp(d.fmiss),
		cmp.Compare(leaves(c), leaves(d)),
		c.a.size.Cmp(d.a.size),
	)
}

// choose finds the best choice of each class, best class first.
func (t *task) choose() (out []*choice, cut bool) {
	pairs, cut := t.pairs()
	cut = cut || t.sides[0].cut || t.sides[1].cut
	budget := mostWalk
	for _, c := range classesOf(pairs) {
		if len(out) == max(t.answers, 1) {
			break
		}
		if best := t.bestOf(pairs[c], &budget, &cut); best != nil {
			out = append(out, best)
		}
	}
	return out, cut
}

// classesOf is the classes, nearest to the aim first, of two as near the looser.
func classesOf(pairs map[int64][]*choice) []int64 {
	var out []int64
	for c := range pairs {
		out = append(out, c)
	}
	slices.SortFunc(out, func(a, b int64) int {
		return cmp.Or(cmp.Compare(max(a, -a), max(b, -b)), cmp.Compare(b, a))
	})
	return out
}

// queue is choices by preference; the cost of one that has no leaves yet is a
// lower bound, so that the first one with leaves is the best.
type queue []*choice

func (q queue) Len() int           { return len(q) }
func (q queue) Less(i, j int) bool { return q[i].compare(q[j]) < 0 }
func (q queue) Swap(i, j int)      { q[i], q[j] = q[j], q[i] }

// Push is for package heap.
func (q *queue) Push(x any) {
	if c, ok := x.(*choice); ok {
		*q = append(*q, c)
	}
}

// Pop is for package heap.
func (q *queue) Pop() any {
	last := len(*q) - 1
	c := (*q)[last]
	*q = (*q)[:last]
	return c
}

func (t *task) bestOf(of []*choice, budget *int, cut *bool) *choice {
	q := queue(of)
	heap.Init(&q)
	for len(q) > 0 {
		c := q[0]
		if c.done != nil {
			return c
		}
		if *budget < 0 {
			*cut = true
			return nil
		}
		if c.done = t.make(c, budget, cut); c.done == nil {
			*budget -= costOfChoice + costOfKeep*(len(t.sides[0].keeps)+len(t.sides[1].keeps))
			heap.Pop(&q)
			continue
		}
		c.cost = c.done.ways[0].cost + c.done.ways[1].cost
		heap.Fix(&q, 0)
	}
	return nil
}

// pairs is every pair of totals that does the task, by class.
func (t *task) pairs() (map[int64][]*choice, bool) {
	as, bs := t.sides[0].totals(), t.sides[1].totals()
	out := map[int64][]*choice{}
	if len(as) == 0 || len(bs) == 0 {
		return out, false
	}
	per, err := inverse("", t.grain)
	if err != nil {
		return out, true
	}
	each, cut := max(mostPairs/len(as), 1), false
	for _, a := range as {
		// bs stand by what they do to the setting: go outwards from the aim.
		above := sort.Search(len(bs), func(i int) bool { return t.fAim.Sub(a.f).Cmp(bs[i].f) <= 0 })
		below := above - 1
		for n := 0; ; n++ {
			upIn := above < len(bs) && a.f.Add(bs[above].f).Cmp(t.fHigh) <= 0
			downIn := below >= 0 && t.fLow.Cmp(a.f.Add(bs[below].f)) <= 0
			if !upIn && !downIn {
				break
			}
			if n >= each {
				cut = true
				break
			}
			b := below
			if upIn && (!downIn || bs[above].f.Add(a.f).Sub(t.fAim).Cmp(t.fAim.Sub(bs[below].f.Add(a.f))) <= 0) {
				b = above
				above++
			} else {
				below--
			}
			if c := t.pair(a, bs[b], per); c != nil {
				out[c.class] = append(out[c.class], c)
			}
		}
	}
	return out, cut
}

// pair is two totals as a choice, nil where they miss.
func (t *task) pair(a, b total, per quantity.Exact) *choice {
	c := &choice{a: a, b: b, f: a.f.Add(b.f), y: a.y.Add(b.y), cost: a.cost + b.cost}
	if c.f.Less(t.fLow) || t.fHigh.Less(c.f) || c.y.Less(t.yLow) || t.yHigh.Less(c.y) || t.passes != nil && !t.passes(c.y) {
		return nil
	}
	off := c.y.Sub(t.yAim)
	c.miss, c.fmiss = off.Abs(), c.f.Sub(t.fAim).Abs()
	c.class = floorOf(c.miss.Mul(per))
	if off.Sign() < 0 {
		c.class = -c.class
	}
	c.fclass = floorOf(c.fmiss.Mul(per))
	return c
}

// make finds the leaves of a choice that touch the fewest; nil where the packs
// can only have it by sharing a leaf.
func (t *task) make(c *choice, budget *int, cut *bool) *made {
	as, bs := t.sides[0].ways(c.a.size), t.sides[1].ways(c.b.size)
	if len(as) == 0 || len(bs) == 0 {
		return nil
	}
	dearest := as[len(as)-1].cost + bs[len(bs)-1].cost
	tried := 0
	for cost := as[0].cost + bs[0].cost; cost <= dearest; cost++ {
		for _, x := range combosOf(as, bs, cost) {
			tried++
			if tried > mostCombos || *budget < 0 {
				*cut = true
				return nil
			}
			if m := t.fit(x.a, x.b, budget); m != nil {
				m.leaves = x.leaves
				return m
			}
		}
	}
	return nil
}

// A combo is a way for each pack.
type combo struct {
	a, b   way
	leaves int // in both packs, afterwards
}

// combosOf is the pairs of ways that together touch so many leaves, fewest
// leaves in the packs first. Ways come in order of their cost.
func combosOf(as, bs []way, cost int) []combo {
	var out []combo
	for _, a := range as {
		first := sort.Search(len(bs), func(i int) bool { return bs[i].cost >= cost-a.cost })
		for _, b := range bs[first:] {
			if a.cost+b.cost != cost {
				break
			}
			out = append(out, combo{a, b, a.keep.left + a.leaves + b.keep.left + b.leaves})
		}
	}
	slices.SortStableFunc(out, func(x, y combo) int { return cmp.Compare(x.leaves, y.leaves) })
	return out
}

// fit looks for leaves for both ways so that none is in both packs.
func (t *task) fit(a, b way, budget *int) (m *made) {
	A, B := &t.sides[0], &t.sides[1]
	mostA := func(i int) int {
		if a.keep.taken[i] > 0 {
			return 0
		}
		n := A.kinds[i].free
		if t.shared {
			n += b.keep.taken[i]
		}
		return n
	}
	A.walk(a, mostA, budget, func(putA []int) bool {
		mostB := func(i int) int {
			if b.keep.taken[i] > 0 {
				return 0
			}
			n := B.kinds[i].free
			if t.shared {
				n += a.keep.taken[i] - putA[i]
			}
			return n
		}
		B.walk(b, mostB, budget, func(putB []int) bool {
			m = &made{ways: [2]way{a, b}, put: [2][]int{slices.Clone(putA), slices.Clone(putB)}}
			return false
		})
		return m == nil
	})
	return m
}
