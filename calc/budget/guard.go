package budget

import (
	"fmt"

	"shimwright/calc/quantity"
	"shimwright/calc/stat"
)

// A Way says which guard factor a shop works with.
type Way uint8

// The ways. Summaries of ISO 14253-1 disagree about its default rule, so it is
// a setting and the record says which was used.
const (
	Fixed   Way = iota // a fixed factor k, 2 unless stated otherwise
	Student            // Student's t at 95.45 % for the effective degrees of freedom
	Simple             // no guard band: simple acceptance
)

// String names the way.
func (w Way) String() string {
	switch w {
	case Fixed:
		return "fixed k"
	case Student:
		return "Student's t"
	case Simple:
		return "simple"
	default:
		return fmt.Sprintf("way %d", uint8(w))
	}
}

// A Guard is a shop's guard factor. The zero Guard is k = 2.
type Guard struct {
	Way Way
	K   quantity.Exact // of Fixed; nought is 2
}

// Factor is how many standard uncertainties wide the guard band is.
func (g Guard) Factor(b Budget) (quantity.Exact, error) {
	switch g.Way {
	case Fixed:
		if g.K.IsZero() {
			return whole(2), nil
		}
		if err := bounded("guard factor", g.K, MaxK); err != nil {
			return quantity.Exact{}, err
		}
		if g.K.Sign() < 0 {
			return quantity.Exact{}, problem(stat.OutOfRange, "guard factor", "above nought, such as 2; simple acceptance is a way of its own", "%s", g.K)
		}
		return g.K, nil
	case Student:
		return b.T, nil
	case Simple:
		return quantity.Exact{}, nil
	default:
		return quantity.Exact{}, problem(stat.OutOfRange, "guard way", "fixed k, Student's t or simple", "%s", g.Way)
	}
}

// Band is the guard band of a figure, in the figure's base unit: what the
// verdict draws limits in by. It is nought for simple acceptance.
func (g Guard) Band(b Budget) (quantity.Exact, error) {
	f, err := g.Factor(b)
	if err != nil {
		return quantity.Exact{}, err
	}
	return exact(f.Float() * b.u), nil
}
