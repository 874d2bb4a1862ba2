package stat_test

import (
	"math"
	"testing"

	"github.com/shopspring/decimal"
	gonum "gonum.org/v1/gonum/stat"

	"shimwright/calc/stat"
	"shimwright/calc/stat/checktest"
)

// BenchmarkDigits tells how many of the 15 digits that NIST certifies for its
// statistical reference data sets are reached: by ours, by gonum in float64, and
// by the textbook's one pass over Σx and Σx² in float64. It is the log relative
// error, at most 15 and at least 0, of the set that comes out worst. It stands
// among the benchmarks so that what speed buys is seen beside it.
func BenchmarkDigits(b *testing.B) {
	for _, c := range []struct {
		name string
		of   func(testing.TB) []digits
	}{
		{"mean, worst of 9 sets", univariateDigits(func(u certifiedUnivariate) string { return u.Mean }, func(s stat.Summary) (decimal.Decimal, error) { return s.Mean.Round(30), nil },
			func(x []float64) float64 { return gonum.Mean(x, nil) }, naiveMean)},
		{"standard deviation, worst of 9 sets", univariateDigits(func(u certifiedUnivariate) string { return u.SD }, stat.Summary.SD,
			func(x []float64) float64 { _, sd := gonum.MeanStdDev(x, nil); return sd }, naiveSD)},
		{"lag-1 autocorrelation, worst of 9 sets", univariateDigits(func(u certifiedUnivariate) string { return u.Lag1 }, stat.Summary.Lag1, floatLag1, naiveLag1)},
		{"F of a one-way analysis, worst of 5 sets", oneWayDigits},
	} {
		b.Run(c.name, func(b *testing.B) {
			worst := digits{15, 15, 15}
			for b.Loop() {
				for _, d := range c.of(b) {
					worst = digits{min(worst.ours, d.ours), min(worst.gonum, d.gonum), min(worst.naive, d.naive)}
				}
			}
			b.ReportMetric(worst.ours, "digits@ours")
			b.ReportMetric(worst.gonum, "digits@peer=gonum")
			b.ReportMetric(worst.naive, "digits@peer=one-pass")
			b.ReportMetric(0, "ns/op") // three ways together mean nothing
		})
	}
}

type digits struct{ ours, gonum, naive float64 }

// digitsOf rounds all three to the 15 digits that are certified: what one knows
// beyond them is no error.
func digitsOf(certified string, ours decimal.Decimal, two, one float64) digits {
	want := dec(certified)
	places := 15 - int32(want.NumDigits()) - want.Exponent()
	reach := func(got decimal.Decimal) float64 {
		return min(15, max(0, checktest.LogError(want, got.Round(places))))
	}
	float := func(f float64) float64 {
		if math.IsNaN(f) || math.IsInf(f, 0) {
			return 0
		}
		return reach(decimal.NewFromFloat(f))
	}
	return digits{reach(ours), float(two), float(one)}
}

func univariateDigits(certified func(certifiedUnivariate) string, ours func(stat.Summary) (decimal.Decimal, error), two, one func([]float64) float64) func(testing.TB) []digits {
	return func(t testing.TB) (out []digits) {
		var sets map[string]certifiedUnivariate
		readJSON(t, &sets, "nist_strd", "certified_univariate.json")
		for _, name := range names(sets) {
			x := readUnivariate(t, sets[name].File)
			s := must[stat.Summary](t)(stat.Summarise(x))
			y := floats(x)
			out = append(out, digitsOf(certified(sets[name]), must[decimal.Decimal](t)(ours(s)), two(y), one(y)))
		}
		return out
	}
}

func oneWayDigits(t testing.TB) (out []digits) {
	var sets map[string]certifiedOneWay
	readJSON(t, &sets, "nist_strd", "certified_anova.json")
	for _, name := range names(sets) {
		groups := readGroups(t, name+".dat")
		a := must[stat.OneWayTable](t)(stat.OneWay(groups))
		_, two := floatOneWay(groups)
		out = append(out, digitsOf(sets[name].F, a.F, two, naiveF(groups)))
	}
	return out
}

func naiveMean(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

func naiveSquares(x []float64) float64 {
	sum, squares := 0.0, 0.0
	for _, v := range x {
		sum += v
		squares += v * v
	}
	return squares - sum*sum/float64(len(x))
}

func naiveSD(x []float64) float64 { return math.Sqrt(naiveSquares(x) / float64(len(x)-1)) }

func naiveLag1(x []float64) float64 {
	sum, products := 0.0, 0.0
	for i, v := range x {
		sum += v
		if i > 0 {
			products += v * x[i-1]
		}
	}
	n := float64(len(x))
	mean := sum / n
	return (products - mean*(2*sum-x[0]-x[len(x)-1]) + (n-1)*mean*mean) / naiveSquares(x)
}

func naiveF(groups [][]decimal.Decimal) float64 {
	all := floats(flatten(groups))
	within := 0.0
	for _, g := range groups {
		within += naiveSquares(floats(g))
	}
	k, n := float64(len(groups)), float64(len(all))
	return (naiveSquares(all) - within) / (k - 1) / (within / (n - k))
}
