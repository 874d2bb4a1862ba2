package stat

import (
	"math/big"
	"strconv"

	"github.com/shopspring/decimal"
)

// Digits is how many significant digits a result has that is not a finite
// decimal: twice what a certified value prints, so it is never the limit.
const Digits = 30

// FactorDigits is how many significant digits are kept of a factor that comes
// from float64.
const FactorDigits = 12

// Limits on what comes in: more digits or places than any instrument sends
// would only cost memory.
const (
	MaxReadings = 1_000_000 // in one call
	MaxDigits   = 40        // significant digits of one reading
	MaxPlaces   = 100       // power of ten of one reading, up or down
)

func pow10(n int32) *big.Int {
	return new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(n)), nil)
}

// A column is readings as whole numbers of 10^exp, so that integer arithmetic
// is exact arithmetic.
type column struct {
	whole []*big.Int
	exp   int32
}

// plain refuses a decimal too long or too far from the point to be a reading.
func plain(field string, d decimal.Decimal) error {
	const bits = 133 // 10⁴⁰ needs 133
	if d.Exponent() < -MaxPlaces || d.Exponent() > MaxPlaces {
		return problem(OutOfRange, field, "a power of ten from -"+strconv.Itoa(MaxPlaces)+" to "+strconv.Itoa(MaxPlaces),
			"%d", d.Exponent())
	}
	if n := d.Coefficient().BitLen(); n > bits {
		return problem(OutOfRange, field, "a figure with at most "+strconv.Itoa(MaxDigits)+" digits",
			"a figure of about %d digits", n*3/10)
	}
	return nil
}

// scale brings readings to whole numbers of one power of ten.
func scale(field string, readings []decimal.Decimal) (column, error) {
	if len(readings) == 0 {
		return column{}, problem(TooFew, field, "at least one reading", "none")
	}
	if len(readings) > MaxReadings {
		return column{}, problem(TooMany, field, "at most "+strconv.Itoa(MaxReadings)+" readings", "%d", len(readings))
	}
	c := column{whole: make([]*big.Int, len(readings)), exp: readings[0].Exponent()}
	for _, d := range readings {
		if err := plain(field, d); err != nil {
			return column{}, err
		}
		c.exp = min(c.exp, d.Exponent())
	}
	for i, d := range readings {
		c.whole[i] = d.Coefficient()
		if up := d.Exponent() - c.exp; up > 0 {
			c.whole[i].Mul(c.whole[i], pow10(up))
		}
	}
	return c, nil
}

// fraction is num/den × 10^exp.
func fraction(num, den *big.Int, exp int32) *big.Rat {
	if exp >= 0 {
		return new(big.Rat).SetFrac(new(big.Int).Mul(num, pow10(exp)), den)
	}
	return new(big.Rat).SetFrac(num, new(big.Int).Mul(den, pow10(-exp)))
}

func whole(n int) *big.Int      { return big.NewInt(int64(n)) }
func ratio(a, b int64) *big.Rat { return big.NewRat(a, b) }

func rat(d decimal.Decimal) *big.Rat {
	return fraction(d.Coefficient(), big.NewInt(1), d.Exponent())
}

func add(a, b *big.Rat) *big.Rat { return new(big.Rat).Add(a, b) }
func sub(a, b *big.Rat) *big.Rat { return new(big.Rat).Sub(a, b) }
func mul(a, b *big.Rat) *big.Rat { return new(big.Rat).Mul(a, b) }

// div is a/b; callers have made sure that b is not nought.
func div(a, b *big.Rat) *big.Rat { return new(big.Rat).Quo(a, b) }

// over is a/n; n is a count above nought.
func over(a *big.Rat, n int) *big.Rat { return div(a, ratio(int64(n), 1)) }

func square(a *big.Rat) *big.Rat { return mul(a, a) }

// atLeastNought is a, or nought where a is below it.
func atLeastNought(a *big.Rat) *big.Rat {
	if a.Sign() < 0 {
		return new(big.Rat)
	}
	return a
}

// decimals10 is about how many decimal digits stand before the point in r.
func decimals10(r *big.Rat) int32 {
	return int32(float64(r.Num().BitLen()-r.Denom().BitLen()) * 0.30103)
}

// shifted is the whole part of |r| × 10^up and whether anything was cut off.
func shifted(r *big.Rat, up int32) (q *big.Int, cut bool) {
	num, den := new(big.Int).Abs(r.Num()), r.Denom()
	if up >= 0 {
		num.Mul(num, pow10(up))
	} else {
		den = new(big.Int).Mul(den, pow10(-up))
	}
	q, rest := new(big.Int).QuoRem(num, den, new(big.Int))
	return q, rest.Sign() != 0
}

// round is r at Digits significant digits, half to even.
func round(r *big.Rat) decimal.Decimal { return roundTo(r, Digits) }

func roundTo(r *big.Rat, digits int) decimal.Decimal {
	if r.Sign() == 0 {
		return decimal.Decimal{}
	}
	up := int32(digits) + 2 - decimals10(r)
	q, cut := shifted(r, up)
	d := trim(q, cut, -up, digits)
	if r.Sign() < 0 {
		return d.Neg()
	}
	return d
}

// root is the square root of r, which is not below nought, right in all of
// Digits significant digits, half to even.
func root(r *big.Rat) decimal.Decimal {
	if r.Sign() <= 0 {
		return decimal.Decimal{}
	}
	up := int32(Digits) + 2 - decimals10(r)/2
	q, cut := shifted(r, 2*up)
	s := new(big.Int).Sqrt(q)
	cut = cut || new(big.Int).Mul(s, s).Cmp(q) != 0
	return trim(s, cut, -up, Digits)
}

// trim rounds q × 10^exp half to even at the given digits; cut says that
// something above nought was already cut off below q. Zeros at the end go.
func trim(q *big.Int, cut bool, exp int32, digits int) decimal.Decimal {
	drop := int32(len(q.String()) - digits)
	if drop > 0 {
		unit := pow10(drop)
		rest := new(big.Int)
		q.QuoRem(q, unit, rest)
		switch rest.Lsh(rest, 1).Cmp(unit) {
		case 1:
			q.Add(q, big.NewInt(1))
		case 0:
			if cut || q.Bit(0) == 1 {
				q.Add(q, big.NewInt(1))
			}
		}
		exp += drop
	}
	ten, rest, next := big.NewInt(10), new(big.Int), new(big.Int)
	for q.Sign() != 0 {
		if next.QuoRem(q, ten, rest); rest.Sign() != 0 {
			break
		}
		q.Set(next)
		exp++
	}
	return decimal.NewFromBigInt(q, exp)
}

// factor is a float64 as a FactorDigits decimal. f is finite: it comes from
// the functions of this package, which see to that.
func factor(f float64) decimal.Decimal {
	d, err := decimal.NewFromString(strconv.FormatFloat(f, 'e', FactorDigits-1, 64))
	if err != nil {
		return decimal.Decimal{}
	}
	return d
}

// Float is d as the nearest float64, for drawing only.
func Float(d decimal.Decimal) float64 { f, _ := d.Float64(); return f }
