package budget_test

import (
	"fmt"
	"testing"

	"shimwright/calc/budget"
)

// BenchmarkWork is a budget as at every press; the closing sum is the largest
// that a usual job has.
func BenchmarkWork(b *testing.B) {
	sets := map[string][]budget.Source{"closing sum": limitOf(plain).figures()["three"]}
	for _, n := range []int{10, 1000} {
		var s []budget.Source
		for i := range n {
			s = append(s, piece(fmt.Sprintf("piece %d", i), int64(i%3+1)))
		}
		sets[fmt.Sprintf("%d sources", n)] = s
	}
	for _, name := range []string{"closing sum", "10 sources", "1000 sources"} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := budget.Work(sets[name]); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkHalve(b *testing.B) {
	w := work(b, limitOf(plain).figures()["three"]...)
	b.ReportAllocs()
	for b.Loop() {
		if len(w.Halve()) == 0 {
			b.Fatal("no gains")
		}
	}
}
