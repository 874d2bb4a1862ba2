package quantity

import (
	"math"
	"math/big"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/shopspring/decimal"
)

func TestParseKeepsWhatWasWritten(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"33.38", "33.38 mm"},
		{"-0.050", "-0.050 mm"},
		{"+150.00", "150.00 mm"},
		{"-0.00", "0.00 mm"},
		{"000033.380", "33.380 mm"},
		{"7", "7 mm"},
	} {
		v, err := Parse(c.in, MM)
		if err != nil {
			t.Errorf("Parse(%q): %v", c.in, err)
			continue
		}
		if v.String() != c.want {
			t.Errorf("Parse(%q) = %q, want %q", c.in, v, c.want)
		}
	}
}

func TestParseRefuses(t *testing.T) {
	for _, in := range []string{
		"", "+", "-", ".", "5.", ".5", "1e3", "1E3", "NaN", "Inf", "-Inf", "0x1F", "1_000", "1,000", "1 000",
		"33,38", "3.3.8", "--3", "+-3", "3-", " 3", "3 ", "٣", "1234567890", "1.1234567891", "3\x1b[31m",
		strings.Repeat("0", 40) + "1",
	} {
		if v, err := Parse(in, MM); err == nil {
			t.Errorf("Parse(%q) = %v, want a refusal", in, v)
		}
	}
}

func TestParseWithUnit(t *testing.T) {
	v, err := ParseWithUnit("1.3142 in")
	if err != nil {
		t.Fatal(err)
	}
	// 1.3142 × 25.4 mm, by hand.
	if got := v.Exact().String(); got != "33.38068" {
		t.Errorf("1.3142 in = %s mm, want 33.38068", got)
	}
	if got := v.Resolution().String(); got != "0.00254" {
		t.Errorf("resolution of 1.3142 in = %s mm, want 0.00254", got)
	}
	for _, bad := range []string{"33.38", "33.38 furlong", "mm", ""} {
		if _, err := ParseWithUnit(bad); err == nil {
			t.Errorf("ParseWithUnit(%q) was taken", bad)
		}
	}
}

// Units against NIST SP 811 appendix B as listed in the GNU units data file;
// torques are products of the exact definitions.
func TestUnitFactors(t *testing.T) {
	inch, lbf, kgf := Inch.Factor(), PoundForce.Factor(), KilogramForce.Factor()
	for _, c := range []struct {
		unit Unit
		want decimal.Decimal
	}{
		{PoundForceInch, lbf.Mul(inch).Shift(-3)},
		{PoundForceFoot, lbf.Mul(inch).Mul(decimal.NewFromInt(12)).Shift(-3)},
		{KilogramForceCM, kgf.Shift(-2)},
		{Thou, inch.Shift(-3)},
	} {
		if !c.unit.Factor().Equal(c.want) {
			t.Errorf("%s = %s, want %s", c.unit, c.unit.Factor(), c.want)
		}
	}
	// SP 811 prints 1.129 848 E-01 and 1.355 818 E+00.
	if got := PoundForceInch.Factor().Round(7).String(); got != "0.1129848" {
		t.Errorf("lbf.in = %s", got)
	}
	if got := PoundForceFoot.Factor().Round(6).String(); got != "1.355818" {
		t.Errorf("lbf.ft = %s", got)
	}
}

func TestMeanIsExact(t *testing.T) {
	// The mean of 33.38, 33.38, 33.39 is no decimal; three times it is the sum.
	sum := MustExact("100.15")
	third, _ := RatioOf(1, 3)
	mean := sum.Times(third)
	if !mean.Times(Whole(3)).Equal(sum) {
		t.Errorf("three times the mean is %s, want %s", mean.Times(Whole(3)), sum)
	}
	if got := mean.Decimal().String(); got != "33.383333333" {
		t.Errorf("mean written out = %s", got)
	}
	if mean.IsDecimal() {
		t.Error("a third of 100.15 claims to be a decimal")
	}
	half, _ := RatioOf(1, 2)
	if !MustExact("0.08").Times(half).IsDecimal() {
		t.Error("half of 0.08 should be a decimal")
	}
}

func TestRoundHalfEven(t *testing.T) {
	third, _ := RatioOf(1, 3)
	for _, c := range []struct {
		in     Exact
		places int32
		want   string
	}{
		{MustExact("2.5"), 0, "2"},
		{MustExact("3.5"), 0, "4"},
		{MustExact("-2.5"), 0, "-2"},
		{MustExact("-3.5"), 0, "-4"},
		{MustExact("0.125"), 2, "0.12"},
		{MustExact("7.5").Times(third), 0, "2"},  // 2.5 over a whole number
		{MustExact("10.5").Times(third), 0, "4"}, // 3.5
		{MustExact("2").Times(third), 3, "0.667"},
		{MustExact("-2").Times(third), 3, "-0.667"},
		{MustExact("-1").Times(third), 0, "0"},
		{MustExact("123456").Times(third), -2, "41200"},
	} {
		if got := c.in.Round(c.places); got.StringFixed(max(c.places, 0)) != c.want {
			t.Errorf("%s at %d places = %s, want %s", c.in, c.places, got, c.want)
		}
	}
}

func TestInchesShowExactly(t *testing.T) {
	v, _ := ParseWithUnit("12.677 in")
	if got := v.Exact().Show(Inch, 4); got != "12.6770" {
		t.Errorf("12.677 in shown = %s", got)
	}
	third, _ := RatioOf(1, 3)
	if got := v.Exact().Times(third).Show(Inch, 6); got != "4.225667" {
		t.Errorf("a third of 12.677 in = %s", got)
	}
}

// Arithmetic against math/big's rationals on random figures.
func TestExactAgreesWithRationals(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 2000 {
		a, ra := randomExact(t, rng)
		b, rb := randomExact(t, rng)
		for _, c := range []struct {
			op   string
			got  Exact
			want *big.Rat
		}{
			{"+", a.Add(b), new(big.Rat).Add(ra, rb)},
			{"-", a.Sub(b), new(big.Rat).Sub(ra, rb)},
			{"×", a.Mul(b), new(big.Rat).Mul(ra, rb)},
		} {
			if got := rational(c.got); got.Cmp(c.want) != 0 {
				t.Fatalf("%s %s %s = %s, want %s", a, c.op, b, c.got, c.want)
			}
		}
		if got, want := a.Cmp(b), ra.Cmp(rb); got != want {
			t.Fatalf("%s against %s: %d, want %d", a, b, got, want)
		}
		inInch := a.In(Inch).Mul(FromDecimal(Inch.Factor()))
		if !inInch.Equal(a) {
			t.Fatalf("%s to inch and back gives %s", a, inInch)
		}
	}
}

// Coefficients against math/big's rationals, whole ones at the ends of what is
// kept as a plain number too.
func TestRatioAgreesWithRationals(t *testing.T) {
	var all []Ratio
	for _, n := range []int64{0, 1, -1, 2, -7, math.MaxInt32, math.MinInt32, math.MaxInt32 + 1, math.MinInt32 - 1, math.MaxInt64, math.MinInt64} {
		all = append(all, Whole(n))
		for _, d := range []int64{-1, 1, 3, math.MaxInt64} {
			r, err := RatioOf(n, d)
			if err != nil {
				t.Fatal(err)
			}
			all = append(all, r)
		}
	}
	all = append(all, Ratio{})
	for _, a := range all {
		ra := new(big.Rat).Set(a.rat())
		if got, want := a.Neg().rat(), new(big.Rat).Neg(ra); got.Cmp(want) != 0 || a.Sign() != ra.Sign() || a.String() != ra.RatString() {
			t.Fatalf("%s: turned %s, sign %d; want %s, %s, %d", a, got, a.Sign(), ra, want, ra.Sign())
		}
		for _, b := range all {
			rb := b.rat()
			for op, c := range map[string]struct {
				got  Ratio
				want *big.Rat
			}{
				"+": {a.Add(b), new(big.Rat).Add(ra, rb)},
				"-": {a.Sub(b), new(big.Rat).Sub(ra, rb)},
				"×": {a.Mul(b), new(big.Rat).Mul(ra, rb)},
			} {
				if c.got.rat().Cmp(c.want) != 0 {
					t.Fatalf("%s %s %s = %s, want %s", a, op, b, c.got, c.want)
				}
			}
			if a.Cmp(b) != ra.Cmp(rb) {
				t.Fatalf("%s against %s: %d", a, b, a.Cmp(b))
			}
			x := MustExact("33.38").Times(a)
			if got, want := rational(x.Times(b)), new(big.Rat).Mul(rational(x), rb); got.Cmp(want) != 0 {
				t.Fatalf("%s times %s = %s, want %s", x, b, got, want)
			}
		}
	}
}

func randomExact(t *testing.T, rng *rand.Rand) (Exact, *big.Rat) {
	t.Helper()
	d := decimal.New(rng.Int64N(2_000_000)-1_000_000, int32(rng.IntN(7))-6)
	den := rng.Int64N(40) + 1
	k, err := RatioOf(1, den)
	if err != nil {
		t.Fatal(err)
	}
	return FromDecimal(d).Times(k), new(big.Rat).Mul(d.Rat(), big.NewRat(1, den))
}

func rational(a Exact) *big.Rat {
	return new(big.Rat).Mul(a.num.Rat(), new(big.Rat).SetFrac(big.NewInt(1), a.over()))
}

func TestTextRoundTrip(t *testing.T) {
	for _, s := range []string{"33.380 mm", "1.3142 in", "5", "38.0 N"} {
		var v Value
		if err := v.UnmarshalText([]byte(s)); err != nil {
			t.Fatal(err)
		}
		if b, _ := v.MarshalText(); string(b) != s {
			t.Errorf("%q came back as %q", s, b)
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"33.38", "-0.00", "1e9", "NaN", "", "+.", "999999999"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		v, err := Parse(s, MM)
		if err != nil {
			return
		}
		again, err := Parse(v.Digits(), MM)
		if err != nil || !again.Exact().Equal(v.Exact()) || again.Places() != v.Places() {
			t.Fatalf("%q read as %v, read again as %v (%v)", s, v, again, err)
		}
	})
}
