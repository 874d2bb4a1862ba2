package stat_test

import (
	"math"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/stat"
	"shimwright/calc/stat/checktest"
)

// Every exported entry point with input that cannot be meant: an error that
// names the input, never a panic, never NaN.
func TestBadInput(t *testing.T) {
	far, tiny := decimal.New(1, 2e9), decimal.New(1, -2e9)
	band, flat := stat.Within(dec("1"), dec("2")), decs("2 2 2")
	one, _ := stat.Summarise(decs("5"))
	alike, _ := stat.Summarise(flat)
	good := stat.Spread{SD: dec("1"), DF: 3}
	list := []checktest.Bad{
		{Call: "Summarise", Field: "readings", Err: func() error { return only(stat.Summarise(nil)) }},
		{Call: "Summarise", Field: "readings", Err: func() error { return only(stat.Summarise([]decimal.Decimal{far, tiny})) }},
		{Call: "Summary.Variance", Field: "readings", Err: func() error { return only(one.Variance()) }},
		{Call: "Summary.SD", Field: "readings", Err: func() error { return only(stat.Summary{}.SD()) }},
		{Call: "Summary.SDOfMean", Field: "readings", Err: func() error { return only(one.SDOfMean()) }},
		{Call: "Summary.Lag1", Field: "readings", Err: func() error { return only(alike.Lag1()) }},
		{Call: "Summary.Lag1", Field: "readings", Err: func() error { return only(stat.Summary{N: 2}.Lag1()) }},
		{Call: "OneWay", Field: "groups", Err: func() error { return only(stat.OneWay(nil)) }},
		{Call: "OneWay", Field: "groups", Err: func() error { return only(stat.OneWay([][]decimal.Decimal{flat, flat})) }},
		{Call: "OneWay", Field: "group 2", Err: func() error { return only(stat.OneWay([][]decimal.Decimal{count(3), {far}})) }},
		{Call: "Individuals", Field: "readings", Err: func() error { return only(stat.Individuals(flat)) }},
		{Call: "Individuals", Field: "readings", Err: func() error { return only(stat.Individuals([]decimal.Decimal{far, tiny})) }},
		{Call: "MeanAndRange", Field: "groups", Err: func() error { return only(stat.MeanAndRange([][]decimal.Decimal{flat, flat})) }},
		{Call: "MeanAndRange", Field: "group 1", Err: func() error { return only(stat.MeanAndRange([][]decimal.Decimal{nil, nil})) }},
		{Call: "MeanAndSD", Field: "group 2", Err: func() error { return only(stat.MeanAndSD([][]decimal.Decimal{count(3), {far, far, tiny}})) }},
		{Call: "ConstantsFor", Field: "group size", Err: func() error { return only(stat.ConstantsFor(1)) }},
		{Call: "ConstantsFor", Field: "group size", Err: func() error { return only(stat.ConstantsFor(-3)) }},
		{Call: "IndicesOf", Field: "tolerance", Err: func() error { return only(stat.IndicesOf(dec("1"), dec("1"), stat.Within(dec("2"), dec("1")))) }},
		{Call: "IndicesOf", Field: "standard deviation", Err: func() error { return only(stat.IndicesOf(dec("1"), dec("0"), band)) }},
		{Call: "IndicesOf", Field: "mean", Err: func() error { return only(stat.IndicesOf(far, dec("1"), band)) }},
		{Call: "IndicesOf", Field: "upper limit", Err: func() error { return only(stat.IndicesOf(dec("1"), dec("1"), stat.AtMost(far))) }},
		{Call: "IndicesOf", Field: "lower limit", Err: func() error { return only(stat.IndicesOf(dec("1"), dec("1"), stat.AtLeast(tiny))) }},
		{Call: "CapabilityOf", Field: "readings", Err: func() error { return only(stat.CapabilityOf(count(24), band, 0.95)) }},
		{Call: "CapabilityOf", Field: "confidence", Err: func() error { return only(stat.CapabilityOf(count(25), band, math.Inf(1))) }},
		{Call: "CpLimits", Field: "Cp", Err: func() error { return only(stat.CpLimits(far, 30, 0.95)) }},
		{Call: "CpLimits", Field: "Cp", Err: func() error { return only(stat.CpLimits(dec("-1"), 30, 0.95)) }},
		{Call: "CpLimits", Field: "readings", Err: func() error { return only(stat.CpLimits(dec("1"), -1, 0.95)) }},
		{Call: "CpkLimits", Field: "Cpk", Err: func() error { return only(stat.CpkLimits(tiny, 30, 0.95)) }},
		{Call: "CpkLimits", Field: "confidence", Err: func() error { return only(stat.CpkLimits(dec("1"), 30, math.NaN())) }},
		{Call: "StudentT", Field: "confidence", Err: func() error { return only(stat.StudentT(math.NaN(), 3)) }},
		{Call: "StudentT", Field: "degrees of freedom", Err: func() error { return only(stat.StudentT(0.95, math.Inf(-1))) }},
		{Call: "Normal", Field: "confidence", Err: func() error { return only(stat.Normal(-1)) }},
		{Call: "ChiSquared", Field: "chance", Err: func() error { return only(stat.ChiSquared(math.NaN(), 3)) }},
		{Call: "ChiSquared", Field: "degrees of freedom", Err: func() error { return only(stat.ChiSquared(0.5, -1)) }},
		{Call: "SpreadOf", Field: "sum of squares", Err: func() error { return only(stat.SpreadOf(dec("1"), 0)) }},
		{Call: "SpreadOf", Field: "sum of squares", Err: func() error { return only(stat.SpreadOf(far, 3)) }},
		{Call: "Pool", Field: "standard deviation 2", Err: func() error { return only(stat.Pool([]stat.Spread{good, {SD: dec("-1"), DF: 3}})) }},
		{Call: "PoolReadings", Field: "group 1", Err: func() error { return only(stat.PoolReadings([][]decimal.Decimal{count(1)})) }},
		{Call: "PoolReadings", Field: "group 1", Err: func() error { return only(stat.PoolReadings([][]decimal.Decimal{{far, tiny}})) }},
		{Call: "NestedStudy", Field: "level 3", Err: func() error { return only(stat.NestedStudy(good, good, stat.Spread{SD: far, DF: 1}, 6, 6)) }},
		{Call: "NestedStudy", Field: "repeats", Err: func() error { return only(stat.NestedStudy(good, good, good, -1, 6)) }},
		{Call: "EffectiveDF", Field: "term 2", Err: func() error { return only(stat.EffectiveDF([]stat.Term{{1, 3}, {-1, 3}})) }},
		{Call: "EffectiveDF", Field: "term 1", Err: func() error { return only(stat.EffectiveDF([]stat.Term{{math.Inf(1), 3}})) }},
		{Call: "EffectiveDF", Field: "terms", Err: func() error { return only(stat.EffectiveDF([]stat.Term{{0, 3}})) }},
		{Call: "CrossedStudy", Field: "readings", Err: func() error { return only(stat.CrossedStudy(nil, stat.DefaultStudySettings())) }},
		{Call: "CrossedStudy", Field: "tolerance", Err: func() error {
			return study(smallStudy, func(s *stat.StudySettings) { s.Tolerance = decimal.NewNullDecimal(dec("-1")) })
		}},
		{Call: "CrossedStudy", Field: "width", Err: func() error { return study(smallStudy, func(s *stat.StudySettings) { s.Width = far }) }},
	}
	checktest.Refused(t, ".", list, map[string]func(){
		"Within": func() { stat.Within(far, tiny) }, "AtMost": func() { stat.AtMost(far) }, "AtLeast": func() { stat.AtLeast(far) },
		"Limits.Outside":       func() { stat.Limits{}.Outside([]decimal.Decimal{far, tiny}) },
		"Summary.SumSquares":   func() { stat.Summary{}.SumSquares() },
		"Float":                func() { stat.Float(dec("1")) },
		"Kind.String":          func() { _ = stat.Kind(99).String() },
		"Problem.Error":        func() { _ = (&stat.Problem{}).Error() },
		"DefaultStudySettings": func() { stat.DefaultStudySettings() },
	})
}
