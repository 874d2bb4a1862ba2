package correct_test

import (
	"fmt"
	"testing"

	"shimwright/calc/correct"
	"shimwright/calc/quantity"
)

func BenchmarkAt20(b *testing.B) {
	part := body(b, cast, "28")
	sum := []correct.Length{
		{Name: "post", Value: ex("75.004"), Body: body(b, gauge, "18")},
		{Name: "reading", Value: ex("33.38"), Body: body(b, gauge, "24")},
		{Name: "straightedge", Value: ex("-12.006"), Body: body(b, steel, "24")},
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := correct.At20(part, sum); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkTable(b *testing.B) {
	for _, n := range []int{5, 1000} {
		b.Run(fmt.Sprintf("%d points", n), func(b *testing.B) {
			var points []correct.Point
			for i := range n {
				points = append(points, correct.Point{At: ex("2.5").Times(quantity.Whole(int64(i))), Add: ex("0.001").Times(quantity.Whole(int64(i % 5)))})
			}
			tab := must[correct.Table](b)(correct.NewTable(points))
			x := ex("8.123")
			b.ReportAllocs()
			for b.Loop() {
				if _, err := tab.Correct(x); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
