package stat

import (
	"math/big"
	"sort"

	"github.com/shopspring/decimal"

	"shimwright/calc/quantity"
)

// A Summary is what a run of readings comes to. Sum, Mean, Min, Max, Range and
// Median are exact, in the unit of the readings.
type Summary struct {
	N             int
	Sum           decimal.Decimal
	Mean          quantity.Exact // the sum over the count
	Min, Max      decimal.Decimal
	Range, Median decimal.Decimal

	squares *big.Rat // Σ(x−mean)², exact
	lagged  *big.Rat // Σ(x[i]−mean)(x[i+1]−mean), exact
}

// Summarise works out the summary of readings in the order they were taken.
// It needs at least one.
func Summarise(readings []decimal.Decimal) (Summary, error) {
	c, err := scale("readings", readings)
	if err != nil {
		return Summary{}, err
	}
	count, err := quantity.RatioOf(1, int64(len(readings)))
	if err != nil {
		return Summary{}, problem(TooFew, "readings", "at least one reading", "none")
	}
	s := Summary{N: len(readings)}
	s.sum(c)
	s.Mean = quantity.FromDecimal(s.Sum).Times(count)
	s.order(readings)
	return s, nil
}

// sum fills in the sums. With S, Q and P the sums of x, x² and x[i]·x[i+1],
// the sum of squares about the mean is Q − S²/n and the lagged sum
// P − S(2S − x[1] − x[n])/n + (n−1)S²/n²: no rounded mean enters.
func (s *Summary) sum(c column) {
	n := whole(s.N)
	sum, q, p, t := new(big.Int), new(big.Int), new(big.Int), new(big.Int)
	for i, x := range c.whole {
		sum.Add(sum, x)
		q.Add(q, t.Mul(x, x))
		if i > 0 {
			p.Add(p, t.Mul(x, c.whole[i-1]))
		}
	}
	s.Sum = decimal.NewFromBigInt(new(big.Int).Set(sum), c.exp)

	s2 := new(big.Int).Mul(sum, sum)
	q.Mul(q, n)
	s.squares = fraction(q.Sub(q, s2), n, 2*c.exp)

	ends := new(big.Int).Add(c.whole[0], c.whole[s.N-1])
	both := new(big.Int).Lsh(sum, 1)
	both.Sub(both, ends).Mul(both, sum).Mul(both, n)
	nn := new(big.Int).Mul(n, n)
	p.Mul(p, nn).Sub(p, both).Add(p, s2.Mul(s2, whole(s.N-1)))
	s.lagged = fraction(p, nn, 2*c.exp)
}

func (s *Summary) order(readings []decimal.Decimal) {
	up := append([]decimal.Decimal(nil), readings...)
	sort.Slice(up, func(i, j int) bool { return up[i].LessThan(up[j]) })
	s.Min, s.Max = up[0], up[s.N-1]
	s.Range = s.Max.Sub(s.Min)
	s.Median = up[s.N/2]
	if s.N%2 == 0 {
		s.Median = up[s.N/2-1].Add(up[s.N/2]).Mul(decimal.New(5, -1))
	}
}

// SumSquares is Σ(x−mean)², rounded only here.
func (s Summary) SumSquares() decimal.Decimal { return round(s.squaresOr()) }

func (s Summary) squaresOr() *big.Rat {
	if s.squares == nil {
		return new(big.Rat)
	}
	return s.squares
}

func (s Summary) variance() (*big.Rat, error) {
	if s.N < 2 {
		return nil, problem(TooFew, "readings", "at least 2 for a standard deviation", "%d", s.N)
	}
	return over(s.squaresOr(), s.N-1), nil
}

// Variance is Σ(x−mean)²/(n−1). It needs two readings.
func (s Summary) Variance() (decimal.Decimal, error) {
	v, err := s.variance()
	if err != nil {
		return decimal.Decimal{}, err
	}
	return round(v), nil
}

// SD is the standard deviation √(Σ(x−mean)²/(n−1)). It needs two readings and
// is nought where they do not differ.
func (s Summary) SD() (decimal.Decimal, error) {
	v, err := s.variance()
	if err != nil {
		return decimal.Decimal{}, err
	}
	return root(v), nil
}

// SDOfMean is the standard deviation of the mean, SD/√n (GUM 4.2.3).
func (s Summary) SDOfMean() (decimal.Decimal, error) {
	v, err := s.variance()
	if err != nil {
		return decimal.Decimal{}, err
	}
	return root(over(v, s.N)), nil
}

// Lag1 is the lag-1 autocorrelation as NIST StRD defines it:
// Σ(x[i]−mean)(x[i+1]−mean) / Σ(x−mean)². It needs two readings that differ.
func (s Summary) Lag1() (decimal.Decimal, error) {
	if s.N < 2 {
		return decimal.Decimal{}, problem(TooFew, "readings", "at least 2 for an autocorrelation", "%d", s.N)
	}
	if s.squaresOr().Sign() == 0 {
		return decimal.Decimal{}, problem(NoSpread, "readings", "readings that differ, for an autocorrelation",
			"%d readings all alike", s.N)
	}
	return round(div(s.lagged, s.squares)), nil
}
