package remedy

import (
	"cmp"
	"fmt"
	"math/rand/v2"
	"testing"

	"shimwright/calc/network"
	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/calc/stock"
)

// A tried is the rank of one choice, found by trying every leaf in every pack:
// no grid, no table, no rows turned round.
type tried struct {
	class, fclass int64
	cost          int
	miss, y, f    quantity.Exact
}

func (a tried) compare(b tried) int {
	return cmp.Or(cmp.Compare(a.fclass, b.fclass), cmp.Compare(a.cost, b.cost), a.miss.Cmp(b.miss), b.y.Cmp(a.y), a.f.Abs().Cmp(b.f.Abs()))
}

// everyChoice is the best of each class over all ways to put leaves of the
// tray and of the packs into the packs.
func everyChoice(in Reshim, shared bool) map[int64]tried {
	best := map[int64]tried{}
	kinds := [2][]stock.Leaf{}
	for i, p := range in.Packs {
		all := append(p.Tray.Leaves(), p.Leaves...)
		if shared {
			all = append(all, in.Packs[1-i].Leaves...)
		}
		merged, err := stock.NewTray(all...)
		if err != nil {
			panic(err)
		}
		kinds[i] = merged.Leaves()
	}
	each(kinds[0], func(x []int) {
		if !obeys(in.Packs[0], x) {
			return
		}
		each(kinds[1], func(y []int) {
			if !obeys(in.Packs[1], y) || !have(in, kinds, x, y, shared) {
				return
			}
			in.try(best, kinds, x, y)
		})
	})
	return best
}

// try ranks one choice by the words of the package comment.
func (in Reshim) try(best map[int64]tried, kinds [2][]stock.Leaf, counts ...[]int) {
	var t tried
	for i, p := range in.Packs {
		var put, taken quantity.Exact
		stays, sum := 0, quantity.Exact{}
		for j, l := range kinds[i] {
			was, n := countIn(p.Leaves, l), counts[i][j]
			stays += min(was, n)
			sum = sum.Add(times(l.Size, n))
			put, taken = put.Add(times(l.Size, max(n-was, 0))), taken.Add(times(l.Size, max(was-n, 0)))
			t.cost += max(n-was, was-n)
		}
		after := p.Figure.Add(put).Sub(taken)
		if stays == 0 {
			after = sum
		}
		t.f = t.f.Add(after.Sub(p.Figure).Times(p.Row.Float))
		t.y = t.y.Add(after.Sub(p.Figure).Times(p.Row.Gear).Mul(in.Factor.K))
	}
	if t.f.Abs().Cmp(in.Setting.Within) > 0 || !in.goodAt(t.y) {
		return
	}
	off := t.y.Sub(in.window().Middle())
	t.miss = off.Abs()
	per, err := inverse("", in.U)
	if err != nil {
		panic(err)
	}
	t.class, t.fclass = floorOf(t.miss.Mul(per)), floorOf(t.f.Abs().Mul(per))
	if off.Sign() < 0 {
		t.class = -t.class
	}
	if had, ok := best[t.class]; !ok || t.compare(had) < 0 {
		best[t.class] = t
	}
}

func times(x quantity.Exact, n int) quantity.Exact { return x.Times(quantity.Whole(int64(n))) }

// each calls yield with every way to take of these kinds.
func each(kinds []stock.Leaf, yield func([]int)) {
	taken := make([]int, len(kinds))
	var step func(i int)
	step = func(i int) {
		if i == len(kinds) {
			yield(taken)
			return
		}
		for n := range kinds[i].Count + 1 {
			taken[i] = n
			step(i + 1)
		}
		taken[i] = 0
	}
	step(0)
}

func obeys(p Pack, taken []int) bool {
	n := 0
	for _, x := range taken {
		n += x
	}
	return n >= p.Rules.AtLeast && (p.Rules.AtMost == 0 || n <= p.Rules.AtMost)
}

// have tells whether the leaves are there: none is in two packs at once.
func have(in Reshim, kinds [2][]stock.Leaf, x, y []int, shared bool) bool {
	if shared {
		for i, l := range kinds[0] {
			if x[i]+y[i] > l.Count {
				return false
			}
		}
	}
	return true
}

// The joint choice never loses to trying everything.
func TestJointChoiceAgainstEveryChoice(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 4))
	plans, none := 0, 0
	for n := range 400 {
		in := storyFive(t)
		shared := rng.IntN(2) == 0
		spoilPacks(t, rng, &in, shared)
		a := advise(t, in)
		want := everyChoice(in, shared)
		name := fmt.Sprintf("case %d (one tray: %v)", n, shared)
		if a.CutShort {
			t.Errorf("%s: cut short", name)
		}
		if len(want) == 0 {
			if len(a.Plans) != 0 {
				t.Errorf("%s: found %s where there is nothing", name, a.Words)
			}
			none++
			continue
		}
		if len(a.Plans) != min(len(want), in.Answers) {
			t.Fatalf("%s: %d plans, want %d: %s %v", name, len(a.Plans), len(want), a.Words, a.LookFor)
		}
		for _, p := range a.Plans {
			plans++
			off := p.MeanChange.Sub(a.Window.Middle())
			per, _ := inverse("", in.U)
			class := floorOf(off.Abs().Mul(per))
			if off.Sign() < 0 {
				class = -class
			}
			w, ok := want[class]
			if !ok || w.cost != p.Leaves || !w.y.Equal(p.MeanChange) || !w.f.Abs().Equal(p.Setting.Abs()) {
				t.Errorf("%s: class %d has %+v, found %d leaves, mean %s, setting %s: %s", name, class, w, p.Leaves, p.MeanChange, p.Setting, p.Words)
			}
			checkLeaves(t, name, in, p, shared)
		}
	}
	if plans < 200 || none == 0 {
		t.Errorf("%d plans and %d without: the cases are no test", plans, none)
	}
}

func spoilPacks(t *testing.T, rng *rand.Rand, in *Reshim, shared bool) {
	sizes := []string{"0.05", "0.1", "0.15", "0.16", "0.2", "0.5"}
	rows := [][2]network.Row{{row(-1, -1), row(-1, 0)}, {row(-1, 0), row(-1, 1)}, {row(1, 1), row(-1, 0)}, {{Float: quantity.Whole(-1), Gear: ratio(-1, 2)}, {Float: quantity.Whole(1), Gear: ratio(-1, 2)}}}
	pick := rows[rng.IntN(len(rows))]
	var free [2][]stock.Leaf
	for i := range in.Packs {
		for range 1 + rng.IntN(3) {
			free[i] = append(free[i], mm(sizes[rng.IntN(len(sizes))], 1+rng.IntN(2)))
		}
		if shared {
			free[i] = free[0]
		}
		p := &in.Packs[i]
		p.Row, p.Tray, p.TrayName = pick[i], tray(t, free[i]...), fmt.Sprint("tray ", i)
		if shared {
			p.TrayName = "one tray"
		}
		p.Leaves = []stock.Leaf{mm(sizes[rng.IntN(len(sizes))], 1), mm(sizes[rng.IntN(len(sizes))], 1)}
		p.Figure = sumOf(p.Leaves)
		if rng.IntN(3) == 0 { // as measured, not as labelled
			p.Figure = p.Figure.Add(ex("0.003"))
		}
		p.Rules = stock.Rules{AtLeast: rng.IntN(2), AtMost: []int{0, 3, 4}[rng.IntN(3)]}
	}
	in.Setting.Within = ex([]string{"0", "0.01", "0.03"}[rng.IntN(3)])
	in.Answers = 1 + rng.IntN(4)
	in.U = ex("0.01")
	in.Rule = ring.Rule(rng.IntN(2))
}

// checkLeaves adds up what a plan says of its leaves.
func checkLeaves(t *testing.T, name string, in Reshim, p Plan, shared bool) {
	t.Helper()
	used := map[string]int{}
	free := map[string]int{}
	for i, c := range p.Changes {
		pack := in.Packs[i]
		key := func(l stock.Leaf) string {
			if shared {
				return l.Label
			}
			return fmt.Sprint(i, l.Label)
		}
		if i == 0 || !shared {
			for _, l := range pack.Tray.Leaves() {
				free[key(l)] += l.Count
			}
		}
		for _, l := range c.Take {
			free[key(l)] += l.Count
			if countIn(pack.Leaves, l) < l.Count {
				t.Errorf("%s: takes %d × %s that %s does not have", name, l.Count, l.Label, c.Pack)
			}
		}
		for _, l := range c.Put {
			used[key(l)] += l.Count
		}
		after := pack.Figure.Add(sumOf(c.Put)).Sub(sumOf(c.Take))
		if c.Anew {
			after = sumOf(c.Put)
		}
		if !after.Equal(c.After) {
			t.Errorf("%s: the leaves make %s, said %s", name, after, c.After)
		}
	}
	for l, n := range used {
		if n > free[l] {
			t.Errorf("%s: %d of leaf %s put in, there are %d", name, n, l, free[l])
		}
	}
}
