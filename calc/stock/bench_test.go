package stock

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"shimwright/calc/quantity"
)

// bigTray is 40 sizes, ten leaves of each, from 0.05 to 2 mm.
func bigTray(b *testing.B, step string, steps int64) Tray {
	b.Helper()
	rng := rand.New(rand.NewPCG(7, 7))
	unit := quantity.MustExact(step)
	var leaves []Leaf
	seen := map[int64]bool{}
	for len(leaves) < 40 {
		n := steps/40 + rng.Int64N(steps-steps/40)
		if seen[n] {
			continue
		}
		seen[n] = true
		leaves = append(leaves, Leaf{Size: unit.Times(quantity.Whole(n)), Label: fmt.Sprint(n), Count: 10, Measured: true})
	}
	return tray(b, leaves...)
}

// BenchmarkMakeUp: 40 sizes × 10, packs up to 25 mm; the aim is 5 ms and 64 MB.
// The peer, where there is one, solves the same question, for one pack, as a
// mixed integer program: see glpsol.
func BenchmarkMakeUp(b *testing.B) {
	ex := quantity.MustExact
	for _, c := range []struct {
		name, step string
		steps      int64
		want       string
		objective  Objective
	}{
		{"grid 0.01 closest 25 mm", "0.01", 200, "25.00", Closest},
		{"grid 0.001 closest 25 mm", "0.001", 2000, "25.000", Closest},
		{"grid 0.001 fewest 25 mm", "0.001", 2000, "24.999", FewestWithin},
		{"grid 0.001 closest 1.37 mm", "0.001", 2000, "1.370", Closest},
	} {
		from := bigTray(b, c.step, c.steps)
		ask := Request{Want: ex(c.want), Within: ex("0.01"), Objective: c.objective}
		timed(b, c.name+"/ours", func() {
			if a := makeUp(b, from, ask); len(a.Packs) != 1 {
				b.Fatal("no pack")
			}
		})
		b.Run(c.name+"/peer=glpsol", func(b *testing.B) { glpsol(b, from, ask) })
		ask.Answers = 5
		timed(b, c.name+", 5 packs/ours", func() {
			if a := makeUp(b, from, ask); len(a.Packs) == 0 {
				b.Fatal("no pack")
			}
		})
	}
	from := bigTray(b, "0.001", 2000)
	ask := Request{Want: ex("25.0005"), Rules: Rules{AtMost: 13}}
	timed(b, "no pack, 25 mm of big leaves/ours", func() {
		if a := makeUp(b, from, ask); len(a.Packs) != 0 || a.Order == nil {
			b.Fatalf("%+v", a)
		}
	})
	largest := alike(b, MaxSizes, MaxLeaves)
	timed(b, "the largest table allowed/ours", func() {
		makeUp(b, largest, Request{Want: ex("39.9"), Objective: FewestWithin, Within: ex("0.05"), Answers: MaxAnswers})
	})
}

// alike is a tray of so many sizes from 1 mm on, so many leaves of each.
func alike(b *testing.B, sizes, count int) Tray {
	b.Helper()
	var leaves []Leaf
	for i := range sizes {
		leaves = append(leaves, Leaf{Size: quantity.MustExact("0.001").Times(quantity.Whole(int64(1000 + 7*i))), Count: count})
	}
	return tray(b, leaves...)
}

func timed(b *testing.B, name string, do func()) {
	b.Run(name, func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			do()
		}
	})
}

// BenchmarkExhaustive asks trays that are small enough to try every pack. The
// peer tries them all in whole steps of the grid and remembers the best.
func BenchmarkExhaustive(b *testing.B) {
	for _, n := range []int{4, 6, 8} {
		from, ask := alike(b, n, 3), Request{Want: quantity.MustExact("7.654"), Within: quantity.MustExact("1")}
		g, err := gridOf(from.leaves)
		if err != nil {
			b.Fatal(err)
		}
		sizes, want := sizesOf(from.leaves, g), g.floor(ask.Want)
		miss, _ := nearestOfAll(sizes, want)
		if p := makeUp(b, from, ask).Packs[0]; !p.Error.Abs().Equal(quantity.MustExact("0.001").Times(quantity.Whole(miss))) {
			b.Fatalf("ours is off by %s, the best of all by %d steps", p.Error, miss)
		}
		name := fmt.Sprintf("%d sizes, 3 of each", n)
		timed(b, name+"/ours", func() { makeUp(b, from, ask) })
		timed(b, name+"/peer=every-pack", func() { nearestOfAll(sizes, want) })
	}
}

// nearestOfAll is the smallest miss of any pack in steps of the grid, and the
// fewest leaves that have it.
func nearestOfAll(sizes []size, want int64) (miss int64, leaves int) {
	miss = want + 1
	var try func(i, k int, left int64)
	try = func(i, k int, left int64) {
		if i == len(sizes) {
			if off := max(left, -left); off < miss || off == miss && k < leaves {
				miss, leaves = off, k
			}
			return
		}
		for n := range sizes[i].count + 1 {
			try(i+1, k+n, left-int64(n)*sizes[i].steps)
		}
	}
	try(0, 0, want)
	return miss, leaves
}

// BenchmarkSizes doubles the sizes in a tray of ten leaves each, to the most that
// a tray may have; a pack of 25 mm.
func BenchmarkSizes(b *testing.B) {
	for _, n := range []int{5, 10, 20, 40, 80, 160, MaxSizes} {
		from := alike(b, n, 10)
		timed(b, fmt.Sprint("n=", n), func() { makeUp(b, from, Request{Want: quantity.MustExact("25"), Within: quantity.MustExact("0.01")}) })
	}
}

// BenchmarkLeaves doubles the leaves of each of 40 sizes, beyond the most that a
// pack may have.
func BenchmarkLeaves(b *testing.B) {
	for _, n := range []int{1, 2, 4, 8, 16, 32, 64, 128, 1024, MaxCount} {
		from := alike(b, 40, n)
		timed(b, fmt.Sprint("n=", n), func() { makeUp(b, from, Request{Want: quantity.MustExact("25"), Within: quantity.MustExact("0.01")}) })
	}
}

// BenchmarkThickness doubles the wanted size to the thickest that may be asked.
func BenchmarkThickness(b *testing.B) {
	for _, n := range []int{1, 2, 4, 8, 16, 32, 64, MaxTarget} {
		from := bigTray(b, "0.001", 2000)
		timed(b, fmt.Sprint("n=", n), func() {
			makeUp(b, from, Request{Want: quantity.MustExact(fmt.Sprint(n)), Within: quantity.MustExact("0.01")})
		})
	}
}
