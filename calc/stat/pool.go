package stat

import (
	"math"
	"math/big"
	"strconv"

	"github.com/shopspring/decimal"
)

// A Spread is a standard deviation, in the unit of the readings, and the degrees
// of freedom behind it.
type Spread struct {
	SD decimal.Decimal
	DF int
}

func (s Spread) check(field string) error {
	if err := plain(field, s.SD); err != nil {
		return err
	}
	if s.SD.Sign() < 0 {
		return problem(OutOfRange, field, "a standard deviation not below nought", "%s", s.SD)
	}
	if s.DF < 1 || s.DF > MaxReadings {
		return problem(OutOfRange, field, "1 to "+strconv.Itoa(MaxReadings)+" degrees of freedom", "%d", s.DF)
	}
	return nil
}

// SpreadOf is √(sum of squares/df), for sources that print sums of squares. It
// refuses a sum below nought and df below 1.
func SpreadOf(sumSquares decimal.Decimal, df int) (Spread, error) {
	if err := plain("sum of squares", sumSquares); err != nil {
		return Spread{}, err
	}
	if sumSquares.Sign() < 0 {
		return Spread{}, problem(OutOfRange, "sum of squares", "not below nought", "%s", sumSquares)
	}
	s := Spread{DF: df}
	if err := s.check("sum of squares"); err != nil {
		return Spread{}, err
	}
	s.SD = root(over(rat(sumSquares), df))
	return s, nil
}

// Pool is the pooled standard deviation √(Σ νs²/Σν) with Σν degrees of freedom
// (NIST/SEMATECH e-Handbook 2.4.4). It needs at least one spread.
func Pool(spreads []Spread) (Spread, error) {
	if len(spreads) == 0 {
		return Spread{}, problem(TooFew, "standard deviations", "at least one", "none")
	}
	squares, df := new(big.Rat), 0
	for i, s := range spreads {
		if err := s.check("standard deviation " + strconv.Itoa(i+1)); err != nil {
			return Spread{}, err
		}
		squares.Add(squares, mul(ratio(int64(s.DF), 1), square(rat(s.SD))))
		df += s.DF
	}
	return Spread{SD: root(over(squares, df)), DF: df}, nil
}

// PoolReadings is the pooled standard deviation of repeats in groups, each of
// two readings or more, worked from the exact sums of squares.
func PoolReadings(groups [][]decimal.Decimal) (Spread, error) {
	if len(groups) == 0 {
		return Spread{}, problem(TooFew, "groups", "at least one", "none")
	}
	squares, df := new(big.Rat), 0
	for i, g := range groups {
		if len(g) < 2 {
			return Spread{}, problem(TooFew, "group "+strconv.Itoa(i+1), "at least 2 readings", "%d", len(g))
		}
		s, err := Summarise(g)
		if err != nil {
			return Spread{}, inGroup(err, i)
		}
		squares.Add(squares, s.squares)
		df += s.N - 1
	}
	return Spread{SD: root(over(squares, df)), DF: df}, nil
}

// A Component is one component of variance: as it came out, which may be below
// nought, and the standard deviation reported, nought in that case.
type Component struct {
	Raw decimal.Decimal // variance
	SD  decimal.Decimal
}

func component(raw *big.Rat) Component {
	return Component{Raw: round(raw), SD: root(atLeastNought(raw))}
}

// A Nested is a gauge study of repeats within days within runs.
type Nested struct {
	Days Component       // day to day: s2² − s1²/J
	Runs Component       // run to run: s3² − s2²/K
	All  decimal.Decimal // of one reading: √(s3² + (K−1)/K·s2² + (J−1)/J·s1²)
}

// NestedStudy takes a gauge study's levels apart: s1 of repeats within a day,
// s2 of the averages of J repeats from day to day, s3 of the averages of K
// days from run to run (NIST/SEMATECH e-Handbook 2.4.4).
func NestedStudy(s1, s2, s3 Spread, repeats, days int) (Nested, error) {
	levels := []struct {
		field string
		s     Spread
	}{{"level 1", s1}, {"level 2", s2}, {"level 3", s3}}
	for _, l := range levels {
		if err := l.s.check(l.field); err != nil {
			return Nested{}, err
		}
	}
	if repeats < 2 || repeats > MaxReadings {
		return Nested{}, problem(OutOfRange, "repeats", "2 to "+strconv.Itoa(MaxReadings), "%d", repeats)
	}
	if days < 2 || days > MaxReadings {
		return Nested{}, problem(OutOfRange, "days", "2 to "+strconv.Itoa(MaxReadings), "%d", days)
	}
	v1, v2, v3 := square(rat(s1.SD)), square(rat(s2.SD)), square(rat(s3.SD))
	j, k := int64(repeats), int64(days)
	all := add(v3, add(mul(ratio(k-1, k), v2), mul(ratio(j-1, j), v1)))
	return Nested{
		Days: component(sub(v2, over(v1, repeats))),
		Runs: component(sub(v3, over(v2, days))),
		All:  root(all),
	}, nil
}

// A Term is one squared contribution to a variance with its degrees of
// freedom, which may be +Inf.
type Term struct{ Variance, DF float64 }

// EffectiveDF is the Welch-Satterthwaite figure (Σv)²/Σ(v²/ν) (GUM G.4). It is
// not cut to a whole number, and +Inf where every term has +Inf. Some variance
// must be above nought.
func EffectiveDF(terms []Term) (float64, error) {
	biggest := 0.0
	for i, t := range terms {
		field := "term " + strconv.Itoa(i+1)
		if !(t.Variance >= 0) || math.IsInf(t.Variance, 1) {
			return 0, problem(OutOfRange, field, "a variance not below nought", "%s", show(t.Variance))
		}
		if !(t.DF >= 1) {
			return 0, problem(OutOfRange, field, "1 degree of freedom or more", "%s", show(t.DF))
		}
		biggest = max(biggest, t.Variance)
	}
	if biggest == 0 {
		return 0, problem(NoSpread, "terms", "some variance above nought", "none")
	}
	sum, below := 0.0, 0.0
	for _, t := range terms {
		v := t.Variance / biggest // so that squares neither vanish nor overflow
		sum += v
		below += v * v / t.DF
	}
	if below == 0 {
		return math.Inf(1), nil
	}
	return sum * sum / below, nil
}
