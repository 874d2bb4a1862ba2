package ring

import (
	"fmt"

	"shimwright/calc/quantity"
)

// A Verdict is what a figure is worth against its limits.
type Verdict uint8

// The verdicts.
const (
	NotJudged Verdict = iota // no limit was given, or there is no figure
	Good
	TooClose // too close to call: nearer to a limit than the guard band
	OutLow
	OutHigh
	NotGood // out, where there is no high or low: a marking, a rough bearing
)

// String is the verdict in the workshop's words.
func (v Verdict) String() string {
	switch v {
	case Good:
		return "good"
	case TooClose:
		return "too close to call"
	case OutLow:
		return "out low"
	case OutHigh:
		return "out high"
	case NotGood:
		return "not good"
	default:
		return "not judged"
	}
}

// A Rule says how uncertainty counts in a verdict.
type Rule uint8

// The acceptance rules; a shop chooses one and the record says which.
const (
	Guarded Rule = iota // good inside the limits by at least U, out outside by at least U
	Simple              // good inside the limits or on them, U left aside
)

// String names the rule.
func (r Rule) String() string {
	switch r {
	case Guarded:
		return "guarded"
	case Simple:
		return "simple"
	default:
		return fmt.Sprintf("rule %d", uint8(r))
	}
}

// guard is the guard band for an expanded uncertainty.
func (r Rule) guard(u quantity.Exact) quantity.Exact {
	if r == Simple {
		return quantity.Exact{}
	}
	return u
}

// A Band is the limits of a figure, in the figure's base unit (mm for a ring);
// both belong to it.
type Band struct{ Low, High quantity.Exact }

// judge is the verdict on x with a guard band, compared unrounded.
func (b Band) judge(x, guard quantity.Exact) Verdict {
	switch {
	case b.Low.Add(guard).Cmp(x) <= 0 && x.Cmp(b.High.Sub(guard)) <= 0:
		return Good
	case x.Cmp(b.Low.Sub(guard)) <= 0:
		return OutLow
	case x.Cmp(b.High.Add(guard)) >= 0:
		return OutHigh
	default:
		return TooClose
	}
}

// judgeMost is the verdict on x against an upper limit alone.
func judgeMost(x, limit, guard quantity.Exact) Verdict {
	switch {
	case x.Cmp(limit.Sub(guard)) <= 0:
		return Good
	case x.Cmp(limit.Add(guard)) >= 0:
		return OutHigh
	default:
		return TooClose
	}
}
