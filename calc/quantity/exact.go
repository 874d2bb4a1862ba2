package quantity

import (
	"fmt"
	"math/big"

	"github.com/shopspring/decimal"
)

// WorkPlaces is where a quotient is rounded when it must be printed in full or
// handed on: 10⁻⁹ mm.
const WorkPlaces = 9

// An Exact is a decimal over a whole number, in the base unit of its
// dimension. The zero Exact is nought. An Exact is never changed once made.
type Exact struct {
	num decimal.Decimal
	den *big.Int // nil means 1; otherwise above 1
}

// FromDecimal is d itself.
func FromDecimal(d decimal.Decimal) Exact { return Exact{num: d} }

// MustExact reads a plain decimal written in source code; it panics on any
// other text, so it is for constants and tests.
func MustExact(s string) Exact { return FromDecimal(decimal.RequireFromString(s)) }

func (a Exact) over() *big.Int {
	if a.den == nil {
		return big.NewInt(1)
	}
	return a.den
}

// reduced brings num over den to an Exact, taking out what den shares with the
// decimal's digits.
func reduced(num decimal.Decimal, den *big.Int) Exact {
	if den.Sign() < 0 {
		num, den = num.Neg(), new(big.Int).Neg(den)
	}
	if isOne(den) {
		return Exact{num: num}
	}
	coef := num.Coefficient()
	g := new(big.Int).GCD(nil, nil, new(big.Int).Abs(coef), den)
	if !isOne(g) {
		coef.Quo(coef, g)
		den = new(big.Int).Quo(den, g)
		num = decimal.NewFromBigInt(coef, num.Exponent())
	}
	return settle(num, den)
}

func isOne(n *big.Int) bool { return n.IsInt64() && n.Int64() == 1 }

// settle moves factors 2 and 5 of den into the decimal, where they belong.
func settle(num decimal.Decimal, den *big.Int) Exact {
	for _, p := range []struct{ prime, mate int64 }{{2, 5}, {5, 2}} {
		if den.IsInt64() && den.Int64()%p.prime != 0 {
			continue
		}
		rest, mod, prime := new(big.Int), new(big.Int), big.NewInt(p.prime)
		for {
			rest.QuoRem(den, prime, mod)
			if mod.Sign() != 0 {
				break
			}
			den = new(big.Int).Set(rest)
			num = num.Mul(decimal.New(p.mate, -1))
		}
	}
	if isOne(den) {
		return Exact{num: num}
	}
	return Exact{num: num, den: den}
}

// Add is a + b.
func (a Exact) Add(b Exact) Exact {
	switch { // every sum begins with nought
	case a.IsZero():
		return b
	case b.IsZero():
		return a
	}
	if a.den == nil && b.den == nil {
		return Exact{num: a.num.Add(b.num)}
	}
	da, db := a.over(), b.over()
	if da.Cmp(db) == 0 { // thirds and thirds, as means of three presses are
		return reduced(a.num.Add(b.num), da)
	}
	num := a.num.Mul(decimal.NewFromBigInt(db, 0)).Add(b.num.Mul(decimal.NewFromBigInt(da, 0)))
	return reduced(num, new(big.Int).Mul(da, db))
}

// Sub is a − b.
func (a Exact) Sub(b Exact) Exact { return a.Add(b.Neg()) }

// Neg is −a.
func (a Exact) Neg() Exact { return Exact{num: a.num.Neg(), den: a.den} }

// Abs is a without its sign: for tolerances, never for a pack.
func (a Exact) Abs() Exact { return Exact{num: a.num.Abs(), den: a.den} }

// Mul is a × b, exact; the dimensions are the caller's care (mm × N is N·mm, and
// no unit of this package).
func (a Exact) Mul(b Exact) Exact {
	return reduced(a.num.Mul(b.num), new(big.Int).Mul(a.over(), b.over()))
}

// Times is a × k.
func (a Exact) Times(k Ratio) Exact {
	if k.r == nil {
		switch k.whole { // most coefficients
		case 1:
			return a
		case -1:
			return a.Neg()
		}
		return reduced(a.num.Mul(decimal.NewFromInt(k.whole)), a.over())
	}
	return reduced(a.num.Mul(decimal.NewFromBigInt(k.r.Num(), 0)), new(big.Int).Mul(a.over(), k.r.Denom()))
}

// Sign is −1, 0 or +1.
func (a Exact) Sign() int { return a.num.Sign() }

// IsZero tells whether a is nought.
func (a Exact) IsZero() bool { return a.num.IsZero() }

// Cmp compares a with b: −1, 0 or +1, exactly.
func (a Exact) Cmp(b Exact) int {
	if a.den == nil && b.den == nil {
		return a.num.Cmp(b.num)
	}
	return a.Sub(b).Sign()
}

// Equal tells whether a and b are the same figure.
func (a Exact) Equal(b Exact) bool { return a.Cmp(b) == 0 }

// Less tells whether a is below b.
func (a Exact) Less(b Exact) bool { return a.Cmp(b) < 0 }

// IsDecimal tells whether a is a finite decimal, so that nothing is lost in
// writing it out.
func (a Exact) IsDecimal() bool { return a.den == nil }

// Round is a at the given number of places, half to even: the one place where
// this program divides a figure.
func (a Exact) Round(places int32) decimal.Decimal {
	if a.den == nil {
		return a.num.RoundBank(places)
	}
	// a = coef·10^exp / den, in units of 10^-places
	coef, shift := a.num.Coefficient(), a.num.Exponent()+places
	den := new(big.Int).Set(a.den)
	if shift >= 0 {
		coef.Mul(coef, pow10(shift))
	} else {
		den.Mul(den, pow10(-shift))
	}
	return decimal.NewFromBigInt(divHalfEven(coef, den), -places)
}

func pow10(n int32) *big.Int {
	return new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(n)), nil)
}

func divHalfEven(num, den *big.Int) *big.Int {
	quo, rem := new(big.Int).QuoRem(num, den, new(big.Int))
	twice := new(big.Int).Abs(rem)
	twice.Lsh(twice, 1)
	switch c := twice.Cmp(den); {
	case c < 0, c == 0 && quo.Bit(0) == 0:
		return quo
	}
	return quo.Add(quo, big.NewInt(int64(num.Sign())))
}

// Decimal is a as a decimal: itself where it is one, else rounded half to even
// at WorkPlaces.
func (a Exact) Decimal() decimal.Decimal {
	if a.den == nil {
		return a.num
	}
	return a.Round(WorkPlaces)
}

// Float is a as a float64, for statistics and drawings only.
func (a Exact) Float() float64 { return a.Round(15).InexactFloat64() }

// In is a in unit u as a decimal over a whole number, exact.
func (a Exact) In(u Unit) Exact {
	if _, _, factor := u.facts(); factor == "1" {
		return a
	}
	f := u.Factor()
	// 1/f = 10^-exp / coef: a whole-number division, kept exact.
	num := a.num.Mul(decimal.New(1, -f.Exponent()))
	return reduced(num, new(big.Int).Mul(a.over(), f.Coefficient()))
}

// Show is a in unit u at the given places, without the unit.
func (a Exact) Show(u Unit, places int32) string { return a.In(u).Round(places).StringFixed(places) }

// ShowUnit is Show with the unit's name behind it.
func (a Exact) ShowUnit(u Unit, places int32) string {
	s := a.Show(u, places)
	if u == Bare {
		return s
	}
	return s + " " + u.String()
}

// String is the figure in its base unit, without trailing zeros, with its
// whole-number divisor where it has one.
func (a Exact) String() string {
	if a.den == nil {
		return a.num.String()
	}
	return fmt.Sprintf("%s/%s", a.num.String(), a.den.String())
}

// MarshalText writes what String writes.
func (a Exact) MarshalText() ([]byte, error) { return []byte(a.String()), nil }
