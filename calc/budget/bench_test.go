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
	names := []string{"closing sum"}
	for n := 8; n <= 1024; n *= 2 {
		var s []budget.Source
		for i := range n {
			s = append(s, piece(fmt.Sprintf("piece %d", i), int64(i%3+1)))
		}
		names = append(names, fmt.Sprint("n=", n))
		sets[names[len(names)-1]] = s
	}
	for _, name := range names {
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
