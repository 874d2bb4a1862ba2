package network

import (
	"fmt"
	"math/rand/v2"
	"testing"
)

// Faces at random places are joined in a random order, and every way between two
// of them adds up to how far they lie apart; there is one exactly where the links
// join them.
func TestWayAddsUp(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for round := range 200 {
		n := &Net{faces: map[string]*node{}}
		at, part := map[string]int64{}, map[string]int{} // where a face is; a number for all that hang together
		var names []string
		for i := range 2 + rng.IntN(30) {
			f := fmt.Sprint("f", i)
			names = append(names, f)
			n.faces[f], at[f], part[f] = newNode(), rng.Int64N(1000), i
		}
		length := map[string]int64{}
		for i := range 2 * len(names) {
			a, b := names[rng.IntN(len(names))], names[rng.IntN(len(names))]
			if part[a] == part[b] {
				continue
			}
			name := fmt.Sprint("l", i)
			n.join(a, b, name, "")
			length[name] = at[b] - at[a]
			for f, p := range part {
				if p == part[b] && f != b {
					part[f] = part[a]
				}
			}
			part[b] = part[a]
		}
		for _, a := range names {
			for _, b := range names {
				way, ok := n.way(a, b)
				if ok != (part[a] == part[b]) {
					t.Fatalf("round %d: a way from %s to %s: %t", round, a, b, ok)
				}
				sum, seen := int64(0), map[string]bool{}
				for _, l := range way {
					if seen[l.name] {
						t.Fatalf("round %d: the way from %s to %s passes %s twice", round, a, b, l.name)
					}
					seen[l.name] = true
					sum += l.coef * length[l.name]
				}
				if ok && sum != at[b]-at[a] {
					t.Fatalf("round %d: from %s to %s is %d, the way adds up to %d", round, a, b, at[b]-at[a], sum)
				}
			}
		}
	}
}
