package pg

import (
	"fmt"
	"testing"
)

// Questions for gauges are of few benches and few facts; a bench with more than
// that has a question of its own, and none is left out or asked for twice.
func TestParts(t *testing.T) {
	spans := func(facts ...int64) (out []news) {
		for i, n := range facts {
			out = append(out, news{bench: fmt.Sprint(i), from: 10, to: 10 + n})
		}
		return out
	}
	for _, c := range []struct {
		want  []news
		parts string
	}{
		{nil, "[]"},
		{spans(1, 2, 3), "[3]"},
		{spans(150_000, 50_000, 1, 200_001, 5), "[2 1 1 1]"},
		{spans(make([]int64, 101)...), "[50 50 1]"},
	} {
		var sizes []int
		next := 0
		for _, part := range parts(c.want) {
			sizes = append(sizes, len(part))
			for _, n := range part {
				if n != c.want[next] {
					t.Errorf("%v where %v comes next", n, c.want[next])
				}
				next++
			}
		}
		if got := fmt.Sprint(sizes); got != c.parts || next != len(c.want) {
			t.Errorf("%d benches in parts of %s, want %s", len(c.want), got, c.parts)
		}
	}
}
