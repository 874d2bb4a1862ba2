package ring

import "shimwright/calc/quantity"

// Judge is the verdict on any figure against a band in the same unit, with its
// expanded uncertainty u, nought or more, and the acceptance rule; compared
// unrounded. A band upside down, an uncertainty below nought, a rule that is
// not known and figures of no bench are NotJudged: a verdict has no error.
func (b Band) Judge(x, u quantity.Exact, rule Rule) Verdict {
	if !judgeable(rule, u, x, b.Low, b.High) || b.High.Less(b.Low) {
		return NotJudged
	}
	return b.judge(x, rule.guard(u))
}

// JudgeMost is the verdict on a figure against an upper limit alone, with the
// same care as Judge.
func JudgeMost(x, limit, u quantity.Exact, rule Rule) Verdict {
	if !judgeable(rule, u, x, limit) {
		return NotJudged
	}
	return judgeMost(x, limit, rule.guard(u))
}

// farthest bounds the power of ten of what is compared, either way: beyond it
// the comparison itself would have no end.
const farthest = 1000

func judgeable(rule Rule, u quantity.Exact, figures ...quantity.Exact) bool {
	if rule > Simple || u.Sign() < 0 {
		return false
	}
	for _, x := range append(figures, u) {
		if !x.IsDecimal() {
			continue // it came of a division, so it is no figure put in
		}
		if e := x.Decimal().Exponent(); e < -farthest || e > farthest {
			return false
		}
	}
	return true
}
