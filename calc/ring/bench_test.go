package ring

import (
	"fmt"
	"testing"

	"shimwright/calc/quantity"
)

// BenchmarkJudge works a ring with two lifts a point, as at every press; the last
// is the most points that a ring may have.
func BenchmarkJudge(b *testing.B) {
	for _, n := range []int{4, 8, 16, 32, 64, 128, 256, MaxPoints} {
		b.Run(fmt.Sprintf("n=%d", n), func(b *testing.B) {
			var points []Point
			for i := range n {
				j := ex("0.20").Add(ex("0.01").Times(quantity.Whole(int64(i * i % 7))))
				points = append(points, Point{over(whole(360), int64(n)).Times(quantity.Whole(int64(i))), []quantity.Exact{j, j.Add(ex("0.005"))}})
			}
			in := Input{Points: points, Band: Band{ex("0.15"), ex("0.30")}, U: ex("0.01"), SpreadLimit: limit("0.08")}
			b.ReportAllocs()
			for b.Loop() {
				judge(b, in)
			}
		})
	}
}

// BenchmarkFactors works the move factors of one pair.
func BenchmarkFactors(b *testing.B) {
	g := Gears{Pinion: 9, Wheel: 37, Shafts: whole(90), Pressure: whole(20), Spiral: whole(35)}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := g.Factors(); err != nil {
			b.Fatal(err)
		}
	}
}
