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
		b.Run(c.name, func(b *testing.B) {
			from := bigTray(b, c.step, c.steps)
			ask := Request{Want: ex(c.want), Within: ex("0.01"), Objective: c.objective, Answers: 5}
			b.ReportAllocs()
			for b.Loop() {
				if a := makeUp(b, from, ask); len(a.Packs) == 0 {
					b.Fatal("no pack")
				}
			}
		})
	}
	b.Run("grid 0.001 no pack, 25 mm of big leaves", func(b *testing.B) {
		from := bigTray(b, "0.001", 2000)
		ask := Request{Want: ex("25.0005"), Rules: Rules{AtMost: 13}}
		b.ReportAllocs()
		for b.Loop() {
			if a := makeUp(b, from, ask); len(a.Packs) != 0 || a.Order == nil {
				b.Fatalf("%+v", a)
			}
		}
	})
	b.Run("the largest table allowed", func(b *testing.B) {
		var leaves []Leaf
		for i := range MaxSizes {
			leaves = append(leaves, Leaf{Size: ex("0.001").Times(quantity.Whole(int64(1000 + 7*i))), Count: MaxLeaves})
		}
		from := tray(b, leaves...)
		b.ReportAllocs()
		for b.Loop() {
			makeUp(b, from, Request{Want: ex("39.9"), Objective: FewestWithin, Within: ex("0.05"), Answers: MaxAnswers})
		}
	})
}
