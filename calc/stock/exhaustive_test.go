package stock

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/quantity"
)

// TestAgainstExhaustiveSearch holds every answer for small trays against trying
// all packs: the same packs in the same order, the same neighbours when there
// is none, and no better leaf to order.
func TestAgainstExhaustiveSearch(t *testing.T) {
	seed := uint64(20)
	rng := rand.New(rand.NewPCG(seed, 1))
	none := 0
	for i := range 4000 {
		from, ask := randomCase(t, rng)
		if !against(t, from, ask) {
			none++
		}
		if t.Failed() {
			t.Fatalf("case %d of seed %d", i, seed)
		}
	}
	if none < 400 || none > 3600 {
		t.Errorf("%d cases of 4000 without a pack: the cases do not try both ends", none)
	}
}

func randomCase(t testing.TB, rng *rand.Rand) (Tray, Request) {
	unit := []string{"0.01", "0.001", "0.0254", "0.05", "0.00254"}[rng.IntN(5)]
	step := quantity.MustExact(unit)
	var leaves []Leaf
	for range 1 + rng.IntN(5) {
		n := 1 + rng.Int64N(40)
		leaves = append(leaves, Leaf{Size: step.Times(quantity.Whole(n)), Label: fmt.Sprint(n), Count: 1 + rng.IntN(3)})
	}
	quarter := func(n int64) quantity.Exact {
		return step.Times(quantity.Whole(n)).Mul(quantity.MustExact("0.25"))
	}
	r := Request{
		Want:      quarter(rng.Int64N(500)),
		Within:    quarter(rng.Int64N(12)),
		Objective: Objective(rng.IntN(2)),
		Answers:   rng.IntN(7),
	}
	switch rng.IntN(4) {
	case 0:
		r.Rules.AtLeast = rng.IntN(5)
	case 1:
		r.Rules.AtMost = 1 + rng.IntN(4)
	case 2:
		third, err := quantity.RatioOf(1, 3)
		if err != nil {
			t.Fatal(err)
		}
		r.Want = r.Want.Times(third)
	}
	return tray(t, leaves...), r
}

// against checks one answer; it tells whether there was a pack.
func against(t *testing.T, from Tray, ask Request) bool {
	t.Helper()
	a := makeUp(t, from, ask)
	all := everyPack(from, ask)
	slices.SortFunc(all, func(x, y trial) int { return x.order(y, ask.Objective) })
	fit := slices.DeleteFunc(slices.Clone(all), func(x trial) bool { return x.miss.Cmp(ask.Within) > 0 })
	fit = fit[:min(len(fit), max(ask.Answers, 1))]
	if len(fit) != len(a.Packs) {
		t.Errorf("%d packs, exhaustive search has %d; %+v from %+v", len(a.Packs), len(fit), ask, from)
		return false
	}
	for i, want := range fit {
		checkSame(t, fmt.Sprintf("pack %d", i+1), from, ask, a.Packs[i], want)
	}
	for _, p := range a.Packs {
		if _, err := from.Draw(p); err != nil {
			t.Errorf("pack %s: %v", p, err)
		}
	}
	if len(fit) > 0 {
		return true
	}
	slices.SortFunc(all, func(x, y trial) int { return x.order(y, Closest) })
	checkNeighbour(t, "below", from, ask, a.Below, all, true)
	checkNeighbour(t, "above", from, ask, a.Above, all, false)
	checkOrder(t, from, ask, a.Order)
	return false
}

func checkNeighbour(t *testing.T, side string, from Tray, ask Request, got *Pack, all []trial, below bool) {
	t.Helper()
	i := slices.IndexFunc(all, func(x trial) bool { return x.below == below })
	switch {
	case i < 0 && got != nil:
		t.Errorf("%s: %s, exhaustive search has none; %+v from %+v", side, got, ask, from)
	case i >= 0 && got == nil:
		t.Errorf("%s: none, exhaustive search has %s; %+v from %+v", side, all[i].total, ask, from)
	case i >= 0:
		checkSame(t, side, from, ask, *got, all[i])
	}
}

func checkSame(t *testing.T, what string, from Tray, ask Request, got Pack, want trial) {
	t.Helper()
	sum := quantity.Exact{}
	for _, l := range got.Leaves {
		sum = sum.Add(l.Size)
	}
	if !got.Total.Equal(want.total) || !sum.Equal(want.total) || !got.Error.Equal(want.total.Sub(ask.Want)) {
		t.Errorf("%s: %s = %s, want %s; %+v from %+v", what, got, got.Total, want.total, ask, from)
	}
	if !slices.Equal(takenOf(from, got), want.taken) {
		t.Errorf("%s: %s, want %v of each size; %+v from %+v", what, got, want.taken, ask, from)
	}
}

// takenOf counts the leaves of a pack by size, thickest first.
func takenOf(from Tray, p Pack) []int {
	var out []int
	for i, l := range from.leaves {
		if i > 0 && from.leaves[i-1].Size.Equal(l.Size) {
			continue
		}
		n := 0
		for _, m := range p.Leaves {
			if m.Size.Equal(l.Size) {
				n++
			}
		}
		out = append(out, n)
	}
	return out
}

// checkOrder holds an ordered leaf against every rest the tray can make.
func checkOrder(t *testing.T, from Tray, ask Request, got *Order) {
	t.Helper()
	key := func(leaf quantity.Exact, k int) [3]int {
		n := len(from.leaves)
		unusual := n == 0 || leaf.Cmp(from.leaves[0].Size) > 0 || leaf.Cmp(from.leaves[n-1].Size) < 0
		breaks := k < ask.Rules.AtLeast || k > ask.Rules.most()
		return [3]int{rank(unusual), rank(breaks), k}
	}
	var best *[3]int
	var size quantity.Exact
	for _, rest := range everyPack(from, Request{}) {
		leaf := ask.Want.Sub(rest.total)
		if leaf.Sign() <= 0 || rest.k == MaxLeaves {
			continue
		}
		k := key(leaf, rest.k+1)
		c := 0
		if best != nil {
			c = slices.Compare(k[:], best[:])
		}
		if best == nil || c < 0 || c == 0 && size.Less(leaf) {
			best, size = &k, leaf
		}
	}
	if best == nil || got == nil {
		if (best == nil) != (got == nil) {
			t.Errorf("order %+v, exhaustive search has %v; %+v from %+v", got, best, ask, from)
		}
		return
	}
	if !got.Size.Equal(size) || key(got.Size, len(got.Pack.Leaves)) != *best || !got.Pack.Error.IsZero() {
		t.Errorf("order %s in %s, want %s in %v; %+v from %+v", got.Size, got.Pack, size, *best, ask, from)
	}
}

// FuzzMakeUp: no panic, counts kept, tolerance kept; on small trays never
// beaten by exhaustive search.
func FuzzMakeUp(f *testing.F) {
	f.Add([]byte{10, 3, 25, 3}, int64(137), int32(2), int64(1), uint8(0), uint8(1), uint8(0), uint8(0))
	f.Add([]byte{3, 6, 5, 6, 10, 6, 20, 6, 30, 6}, int64(507), int32(4), int64(20), uint8(1), uint8(3), uint8(0), uint8(5))
	f.Add([]byte{}, int64(-1), int32(3), int64(-1), uint8(2), uint8(200), uint8(9), uint8(1))
	f.Fuzz(func(t *testing.T, stock []byte, want int64, places int32, within int64, objective, answers, least, most uint8) {
		var leaves []Leaf
		ways := 1
		for i := 0; i+1 < len(stock) && i < 80; i += 2 {
			size := quantity.FromDecimal(decimal.New(int64(stock[i]), -2))
			leaves = append(leaves, Leaf{Size: size, Label: size.String(), Count: int(stock[i+1] % 16)})
			ways = min(ways*(int(stock[i+1]%16)+1), 1<<20)
		}
		from, err := NewTray(leaves...)
		if err != nil {
			return
		}
		ask := Request{
			Want:      quantity.FromDecimal(decimal.New(want, -places)),
			Within:    quantity.FromDecimal(decimal.New(within, -places)),
			Objective: Objective(objective),
			Answers:   int(answers),
			Rules:     Rules{AtLeast: int(least), AtMost: int(most)},
		}
		a, err := from.MakeUp(ask)
		if err != nil {
			return
		}
		for _, p := range a.Packs {
			if _, err := from.Draw(p); err != nil {
				t.Errorf("pack %s: %v", p, err)
			}
			if p.Error.Abs().Cmp(ask.Within) > 0 {
				t.Errorf("pack %s is off by %s, more than %s", p, p.Error, ask.Within)
			}
		}
		if ways <= 2000 {
			against(t, from, ask)
		}
	})
}
