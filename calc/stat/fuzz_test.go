package stat_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/stat"
)

// parseLoose takes what decimals it finds, the strange ones included.
func parseLoose(text string) []decimal.Decimal {
	var out []decimal.Decimal
	for _, f := range strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == ',' || r == '\n' || r == ';' }) {
		if d, err := decimal.NewFromString(f); err == nil {
			out = append(out, d)
		}
	}
	return out
}

// fair fails the test unless an error is none or a Problem that says where.
func fair(t *testing.T, what string, err error) bool {
	t.Helper()
	if err == nil {
		return true
	}
	var p *stat.Problem
	if !errors.As(err, &p) || p.Field == "" || p.Found == "" || p.Wanted == "" || p.Kind == 0 {
		t.Errorf("%s: %#v is no good refusal", what, err)
	}
	return false
}

func chunks(x []decimal.Decimal, n int) [][]decimal.Decimal {
	var out [][]decimal.Decimal
	for len(x) > 0 {
		k := min(n, len(x))
		out, x = append(out, x[:k]), x[k:]
	}
	return out
}

func FuzzReadings(f *testing.F) {
	f.Add("33.38 33.38 33.39", uint8(3))
	f.Add("", uint8(0))
	f.Add("1e100 -1e-100 0 0.000", uint8(1))
	f.Add("1e10000 5", uint8(2))
	f.Add("10000000.2 10000000.1 10000000.3 10000000.1;7,8,9,10", uint8(4))
	f.Fuzz(func(t *testing.T, text string, size uint8) {
		if len(text) > 2000 {
			return
		}
		x := parseLoose(text)
		groups := chunks(x, int(size%12)+1)
		checkSummary(t, x)
		_, err := stat.OneWay(groups)
		fair(t, "one way", err)
		for _, make := range []func() (stat.Chart, error){
			func() (stat.Chart, error) { return stat.Individuals(x) },
			func() (stat.Chart, error) { return stat.MeanAndRange(groups) },
			func() (stat.Chart, error) { return stat.MeanAndSD(groups) },
		} {
			if c, err := make(); fair(t, "chart", err) {
				checkLimits(t, c.Middle)
				checkLimits(t, c.Spread)
				c.Middle.Outside(c.MiddlePoints)
			}
		}
		_, err = stat.PoolReadings(groups)
		fair(t, "pool", err)
	})
}

func checkSummary(t *testing.T, x []decimal.Decimal) {
	s, err := stat.Summarise(x)
	if !fair(t, "summary", err) {
		return
	}
	if s.Min.GreaterThan(s.Median) || s.Median.GreaterThan(s.Max) || s.Range.Sign() < 0 {
		t.Errorf("%v: min %s, median %s, max %s", x, s.Min, s.Median, s.Max)
	}
	sd, err := s.SD()
	if fair(t, "sd", err) && (sd.Sign() < 0 || (sd.Sign() == 0) != (s.Range.Sign() == 0)) {
		t.Errorf("%v: standard deviation %s, range %s", x, sd, s.Range)
	}
	if r, err := s.Lag1(); fair(t, "lag", err) && r.Abs().GreaterThan(decimal.NewFromInt(1)) {
		t.Errorf("%v: autocorrelation %s", x, r)
	}
}

func checkLimits(t *testing.T, l stat.Limits) {
	t.Helper()
	if l.Lower.GreaterThan(l.Centre) || l.Upper.LessThan(l.Centre) {
		t.Errorf("limits %s, %s, %s", l.Lower, l.Centre, l.Upper)
	}
}

func FuzzCapability(f *testing.F) {
	f.Add(strings.Repeat("1.01 0.99 1.00 ", 9), "0.9", "1.1", 0.95)
	f.Add(strings.Repeat("1 ", 25), "1", "1", 0.95)
	f.Add(strings.Repeat("1e50 2e-50 ", 15), "-1e90", "", 0.5)
	f.Fuzz(func(t *testing.T, text, lower, upper string, confidence float64) {
		if len(text)+len(lower)+len(upper) > 2000 {
			return
		}
		var band stat.Tolerance
		if d, err := decimal.NewFromString(lower); err == nil {
			band.Lower = decimal.NewNullDecimal(d)
		}
		if d, err := decimal.NewFromString(upper); err == nil {
			band.Upper = decimal.NewNullDecimal(d)
		}
		c, err := stat.CapabilityOf(parseLoose(text), band, confidence)
		if !fair(t, "capability", err) {
			return
		}
		if !c.Cpk.Low.LessThan(c.Indices.Cpk) || !c.Cpk.High.GreaterThan(c.Indices.Cpk) {
			t.Errorf("Cpk %s outside %v", c.Indices.Cpk, c.Cpk)
		}
		if c.Indices.Cp.Valid && c.Indices.Cpk.GreaterThan(c.Indices.Cp.Decimal) {
			t.Errorf("Cpk %s above Cp %s", c.Indices.Cpk, c.Indices.Cp.Decimal)
		}
	})
}

func FuzzStudy(f *testing.F) {
	f.Add("1 2 1 3 5 5 6 7", uint8(2), uint8(2), 0.25, "")
	f.Add("1 1 1 1 5 5 6 7.000001 1 2 3 4", uint8(3), uint8(2), 0.0, "8")
	f.Add("1e99 1 1 1 5e-99 5 6 7", uint8(2), uint8(2), 1.0, "1e-90")
	f.Fuzz(func(t *testing.T, text string, parts, operators uint8, poolAbove float64, tolerance string) {
		if len(text)+len(tolerance) > 1000 {
			return
		}
		settings := stat.DefaultStudySettings()
		settings.PoolAbove = poolAbove
		if d, err := decimal.NewFromString(tolerance); err == nil {
			settings.Tolerance = decimal.NewNullDecimal(d)
		}
		p, o := int(parts%6)+1, int(operators%4)+1
		var rows []stat.Trial
		for i, x := range parseLoose(text) {
			rows = append(rows, stat.Trial{Part: string(rune('a' + i%p)), Operator: string(rune('a' + i/p%o)), Reading: x})
		}
		s, err := stat.CrossedStudy(rows, settings)
		if !fair(t, "study", err) {
			return
		}
		for _, x := range []stat.Shares{s.Shares, s.AverageRange.Shares} {
			if x.Gauge.SD.Sign() <= 0 || x.Gauge.SD.GreaterThan(x.Total.SD) || x.Categories < 0 || x.Interaction.Variance.Sign() < 0 {
				t.Errorf("shares %+v", x)
			}
		}
		for _, test := range []stat.Test{s.PartTest, s.OperatorTest, s.InteractionTest, s.PooledPartTest, s.PooledOperatorTest} {
			if !(test.P >= 0 && test.P <= 1) || test.F.Sign() < 0 {
				t.Errorf("test %+v", test)
			}
		}
	})
}

func FuzzQuantiles(f *testing.F) {
	f.Add(0.95, 16.5, 3)
	f.Add(0.9999, 1.0, 1)
	f.Add(math.NaN(), math.Inf(1), -1)
	f.Fuzz(func(t *testing.T, chance, dof float64, n int) {
		for what, call := range map[string]func() (float64, error){
			"t":           func() (float64, error) { return stat.StudentT(chance, dof) },
			"normal":      func() (float64, error) { return stat.Normal(chance) },
			"chi-squared": func() (float64, error) { return stat.ChiSquared(chance, n) },
			"effective":   func() (float64, error) { return stat.EffectiveDF([]stat.Term{{chance, dof}, {dof, chance}}) },
		} {
			got, err := call()
			if fair(t, what, err) && (math.IsNaN(got) || got < 0) {
				t.Errorf("%s of %v, %v, %d is %v", what, chance, dof, n, got)
			}
		}
	})
}
