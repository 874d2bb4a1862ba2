package quantity

import (
	"cmp"
	"fmt"
	"math/big"
)

// A Ratio is a coefficient: a ratio of whole numbers, exact. The zero Ratio is
// nought. A Ratio is never changed once made.
type Ratio struct {
	// whole is the ratio where r is nil: most coefficients are 1 and −1.
	whole int64
	r     *big.Rat
}

// Whole is the ratio n to 1.
func Whole(n int64) Ratio { return Ratio{whole: n} }

// RatioOf is the ratio a to b; b must not be nought.
func RatioOf(a, b int64) (Ratio, error) {
	switch b {
	case 0:
		return Ratio{}, fmt.Errorf("ratio %d to 0: the second number must not be 0", a)
	case 1:
		return Whole(a), nil
	}
	return Ratio{r: big.NewRat(a, b)}, nil
}

func (a Ratio) rat() *big.Rat {
	if a.r == nil {
		return big.NewRat(a.whole, 1)
	}
	return a.r
}

// small tells whether both are whole and so small that no sum or product of them
// overflows.
func small(a, b Ratio) bool {
	fits := func(n int64) bool { return n == int64(int32(n)) }
	return a.r == nil && b.r == nil && fits(a.whole) && fits(b.whole)
}

// Add is a + b.
func (a Ratio) Add(b Ratio) Ratio {
	if small(a, b) {
		return Whole(a.whole + b.whole)
	}
	return Ratio{r: new(big.Rat).Add(a.rat(), b.rat())}
}

// Sub is a − b.
func (a Ratio) Sub(b Ratio) Ratio { return a.Add(b.Neg()) }

// Mul is a × b.
func (a Ratio) Mul(b Ratio) Ratio {
	switch {
	case small(a, b):
		return Whole(a.whole * b.whole)
	case a.isOne():
		return b
	case b.isOne():
		return a
	}
	return Ratio{r: new(big.Rat).Mul(a.rat(), b.rat())}
}

func (a Ratio) isOne() bool {
	return a.r == nil && a.whole == 1
}

// Neg is −a.
func (a Ratio) Neg() Ratio {
	if small(a, a) {
		return Whole(-a.whole)
	}
	return Ratio{r: new(big.Rat).Neg(a.rat())}
}

// Inverse is 1/a; of nought it is an error.
func (a Ratio) Inverse() (Ratio, error) {
	if a.IsZero() {
		return Ratio{}, fmt.Errorf("nought has no inverse")
	}
	return Ratio{r: new(big.Rat).Inv(a.rat())}, nil
}

// Sign is −1, 0 or +1.
func (a Ratio) Sign() int {
	if a.r == nil {
		return cmp.Compare(a.whole, 0)
	}
	return a.r.Sign()
}

// IsZero tells whether a is nought.
func (a Ratio) IsZero() bool { return a.Sign() == 0 }

// Cmp compares a with b: −1, 0 or +1.
func (a Ratio) Cmp(b Ratio) int {
	if a.r == nil && b.r == nil {
		return cmp.Compare(a.whole, b.whole)
	}
	return a.rat().Cmp(b.rat())
}

// Equal tells whether a and b are the same ratio.
func (a Ratio) Equal(b Ratio) bool { return a.Cmp(b) == 0 }

// Float is a as the nearest float64, for distributions and drawings only.
func (a Ratio) Float() float64 { f, _ := a.rat().Float64(); return f }

// String is "2", "-1" or "1/3".
func (a Ratio) String() string { return a.rat().RatString() }

// Signed is String with a plus sign where the ratio is positive.
func (a Ratio) Signed() string {
	if a.Sign() > 0 {
		return "+" + a.String()
	}
	return a.String()
}
