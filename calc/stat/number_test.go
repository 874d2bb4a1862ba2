package stat

import (
	"math/big"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/shopspring/decimal"
)

func TestRoundHalfToEven(t *testing.T) {
	for _, c := range []struct {
		num, den int64
		digits   int
		want     string
	}{
		{5, 2, 1, "2"}, {7, 2, 1, "4"}, {-5, 2, 1, "-2"}, {25, 10, 1, "2"},
		{2500001, 1000000, 1, "3"}, {1, 3, 5, "0.33333"}, {2, 3, 5, "0.66667"},
		{9999, 1000, 3, "10"}, {123456, 1, 2, "120000"}, {-1, 700, 3, "-0.00143"},
		{0, 7, 3, "0"}, {1, 8, 30, "0.125"},
	} {
		got := roundTo(big.NewRat(c.num, c.den), c.digits)
		if got.String() != c.want {
			t.Errorf("%d/%d at %d digits = %s, want %s", c.num, c.den, c.digits, got, c.want)
		}
	}
}

func TestRootIsRightInTheLastDigit(t *testing.T) {
	for _, c := range []struct{ of, want string }{
		// √2 and √3 to 30 digits: any table of constants, from memory.
		{"2", "1.41421356237309504880168872421"},
		{"3", "1.73205080756887729352744634151"},
		{"0.01", "0.1"}, {"0", "0"}, {"-4", "0"}, {"1e-60", "0." + strings.Repeat("0", 29) + "1"},
		{"152399025", "12345"},
	} {
		if got := root(rat(decimal.RequireFromString(c.of))); got.String() != c.want {
			t.Errorf("√%s = %s, want %s", c.of, got, c.want)
		}
	}
}

// The root r of x, rounded at Digits, lies within half a unit of its last
// place: (r − u/2)² ≤ x ≤ (r + u/2)², in exact arithmetic.
func TestRootProperty(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 2))
	for range 2000 {
		x := big.NewRat(rnd.Int64N(1<<62)+1, rnd.Int64N(1<<62)+1)
		x.Mul(x, fraction(big.NewInt(1), big.NewInt(1), int32(rnd.IntN(60)-30)))
		r := root(x)
		if n := r.NumDigits(); n > Digits {
			t.Fatalf("√%s has %d digits", x, n)
		}
		unit := fraction(big.NewInt(1), big.NewInt(2), int32(r.NumDigits()-Digits)+r.Exponent())
		low, high := square(sub(rat(r), unit)), square(add(rat(r), unit))
		if low.Cmp(x) > 0 || high.Cmp(x) < 0 {
			t.Fatalf("√%s = %s is not the nearest", x, r)
		}
	}
}

func TestRoundProperty(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 4))
	for range 2000 {
		x := big.NewRat(rnd.Int64()-rnd.Int64(), rnd.Int64N(1<<62)+1)
		d := round(x)
		if d.NumDigits() > Digits {
			t.Fatalf("%s rounds to %d digits", x, d.NumDigits())
		}
		unit := fraction(big.NewInt(1), big.NewInt(2), int32(d.NumDigits()-Digits)+d.Exponent())
		if off := sub(rat(d), x); off.Abs(off).Cmp(unit) > 0 {
			t.Fatalf("%s rounds to %s", x, d)
		}
	}
}

func TestTailFAtTheEnds(t *testing.T) {
	for _, c := range []struct {
		f    string
		want float64
	}{{"0", 1}, {"1e-320", 1}, {"1e-400", 1}, {"1e310", 0}, {"1e400", 0}} {
		if got := tailF(decimal.RequireFromString(c.f), 3, 4); got != c.want {
			t.Errorf("tail of F = %s is %v, want %v", c.f, got, c.want)
		}
	}
	// With 2 and 2 degrees of freedom P(F > f) = 1/(1+f): closed form.
	for _, f := range []int64{1, 3, 99, 999_999_999} {
		got, want := tailF(decimal.NewFromInt(f), 2, 2), 1/(1+float64(f))
		if off := got/want - 1; off > 1e-12 || off < -1e-12 {
			t.Errorf("tail of F(2,2) at %d = %g, want %g", f, got, want)
		}
	}
}
