package ring

import "shimwright/calc/quantity"

// Judge is the verdict on any figure against a band in the same unit, with its
// expanded uncertainty u and the acceptance rule; compared unrounded.
func (b Band) Judge(x, u quantity.Exact, rule Rule) Verdict { return b.judge(x, rule.guard(u)) }

// JudgeMost is the verdict on a figure against an upper limit alone.
func JudgeMost(x, limit, u quantity.Exact, rule Rule) Verdict {
	return judgeMost(x, limit, rule.guard(u))
}
