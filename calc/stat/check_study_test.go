package stat_test

import (
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/stat"
	"shimwright/calc/stat/checktest"
)

type computedStudy struct {
	SS       map[string]decimal.Decimal `json:"SS"`
	DF       map[string]int             `json:"df"`
	MS       map[string]decimal.Decimal `json:"MS"`
	F        map[string]decimal.Decimal `json:"F"`
	P        decimal.Decimal            `json:"p_interaction"`
	Raw      map[string]decimal.Decimal `json:"raw_components_full"`
	Full     computedShares             `json:"with_interaction"`
	Pooled   computedShares             `json:"pooled_without_interaction"`
	AvgRange map[string]decimal.Decimal `json:"avg_range"`
}

type computedShares struct {
	Var          map[string]decimal.Decimal `json:"var"`
	Gauge        decimal.Decimal            `json:"sd_grr"`
	Part         decimal.Decimal            `json:"sd_part"`
	Total        decimal.Decimal            `json:"sd_total"`
	Contribution decimal.Decimal            `json:"pct_contribution_grr"`
	Study        decimal.Decimal            `json:"pct_study_grr"`
	Distinct     decimal.Decimal            `json:"ndc"`
	Categories   int                        `json:"ndc_int"`
}

func studyAt(t testing.TB, file string, poolAbove float64) stat.Study {
	t.Helper()
	settings := stat.DefaultStudySettings()
	settings.PoolAbove = poolAbove
	return must[stat.Study](t)(stat.CrossedStudy(readTrials(t, file), settings))
}

func studyRows(t *testing.T) []checktest.Row {
	rows := append(houfRows(t), manualRows(t)...)
	var computed map[string]computedStudy
	readJSON(t, &computed, "grr", "grr_results_computed.json")
	for _, name := range names(computed) {
		c := computed[name]
		full, pooled := studyAt(t, name+".csv", 1), studyAt(t, name+".csv", 0)
		if full.Pooled || !pooled.Pooled {
			t.Errorf("%s: pooled %v with 1, %v with 0", name, full.Pooled, pooled.Pooled)
		}
		many := append(tableRows(full, c), sharesRows("full", full.Shares, c.Full)...)
		many = append(many, sharesRows("pooled", pooled.Shares, c.Pooled)...)
		for what, got := range map[string][2]int{
			"part": {full.Part.DF, c.DF["part"]}, "operator": {full.Operator.DF, c.DF["operator"]},
			"interaction": {full.Interaction.DF, c.DF["interaction"]}, "error": {full.Repeatability.DF, c.DF["error"]},
			"categories": {full.Shares.Categories, c.Full.Categories}, "categories pooled": {pooled.Shares.Categories, c.Pooled.Categories},
		} {
			if got[0] != got[1] {
				t.Errorf("%s: %s is %d, want %d", name, what, got[0], got[1])
			}
		}
		rows = append(rows, checktest.Least(name+" by variance", many), checktest.Least(name+" by average and range", rangeRows(full.AverageRange, c.AvgRange)))
	}
	return rows
}

func tableRows(s stat.Study, c computedStudy) []checktest.Row {
	var rows []checktest.Row
	compare := func(what string, want, ours decimal.Decimal) {
		rows = append(rows, checktest.Compare(what, "another program, float64", checktest.Computed, want.String(), ours, 9))
	}
	for _, r := range []struct {
		name string
		row  stat.Row
	}{{"part", s.Part}, {"operator", s.Operator}, {"interaction", s.Interaction}, {"error", s.Repeatability}} {
		compare("sum of squares "+r.name, c.SS[r.name], r.row.SumSquares)
		compare("mean square "+r.name, c.MS[r.name], r.row.MeanSquare)
	}
	compare("sum of squares total", c.SS["total"], s.Total.SumSquares)
	compare("F part", c.F["part"], s.PartTest.F)
	compare("F operator", c.F["operator"], s.OperatorTest.F)
	compare("F interaction", c.F["interaction"], s.InteractionTest.F)
	compare("P interaction", c.P, decimal.NewFromFloat(s.InteractionTest.P))
	compare("raw repeatability", c.Raw["repeatability"], s.Shares.Repeatability.Raw)
	compare("raw interaction", c.Raw["interaction"], s.Shares.Interaction.Raw)
	compare("raw operator", c.Raw["operator"], s.Shares.Operator.Raw)
	compare("raw part", c.Raw["part"], s.Shares.Part.Raw)
	return rows
}

func sharesRows(way string, s stat.Shares, c computedShares) []checktest.Row {
	var rows []checktest.Row
	for _, f := range []struct {
		what       string
		want, ours decimal.Decimal
	}{
		{"repeatability", c.Var["repeatability"], s.Repeatability.Variance},
		{"operator", c.Var["operator"], s.Operator.Variance},
		{"interaction", c.Var["interaction"], s.Interaction.Variance},
		{"part", c.Var["part"], s.Part.Variance},
		{"GRR", c.Gauge, s.Gauge.SD}, {"PV", c.Part, s.Part.SD}, {"TV", c.Total, s.Total.SD},
		{"% contribution", c.Contribution, s.Gauge.Contribution},
		{"% study", c.Study, s.Gauge.Study},
		{"distinct categories", c.Distinct, s.Distinct},
	} {
		rows = append(rows, checktest.Compare(f.what+", "+way, "another program, float64", checktest.Computed, f.want.String(), f.ours, 9))
	}
	return rows
}

// rangeRows: that program takes K1, K2, K3 from the printed four-digit table.
func rangeRows(a stat.AverageRange, c map[string]decimal.Decimal) []checktest.Row {
	var rows []checktest.Row
	for _, f := range []struct {
		name    string
		ours    decimal.Decimal
		atLeast int
	}{
		{"Rbar", a.MeanRange, 12}, {"xdiff", a.OperatorRange, 12}, {"Rp", a.PartRange, 12},
		{"K1", a.K1, checktest.All}, {"K2", a.K2, checktest.All}, {"K3", a.K3, checktest.All},
		{"EV", a.Shares.Repeatability.SD, 4}, {"AV", a.Shares.Operator.SD, 3}, {"GRR", a.Shares.Gauge.SD, 3},
		{"PV", a.Shares.Part.SD, 3}, {"TV", a.Shares.Total.SD, 3},
		{"pctGRR", a.Shares.Gauge.Study, 3}, {"ndc", a.Shares.Distinct, 3},
	} {
		rows = append(rows, checktest.Compare(f.name, "another program, printed K1 to K3", checktest.Computed, c[f.name].String(), f.ours, f.atLeast))
	}
	return rows
}

// A printed figure and ours.
type printed struct {
	what, want string
	ours       decimal.Decimal
	atLeast    int
}

func compareAll(prefix, source string, status checktest.Status, list []printed) []checktest.Row {
	var rows []checktest.Row
	for _, p := range list {
		rows = append(rows, checktest.Compare(prefix+p.what, source, status, p.want, p.ours, p.atLeast))
	}
	return rows
}

func houfRows(t *testing.T) []checktest.Row {
	s := must[stat.Study](t)(stat.CrossedStudy(readTrials(t, "houf_berman.csv"), stat.DefaultStudySettings()))
	if s.Pooled {
		t.Error("thermal impedance: the interaction was pooled; P is 5e-7")
	}
	return compareAll("thermal impedance, ", "Montgomery, after Houf and Berman 1988", checktest.Recalled, []printed{
		{"SS part", "3935.96", s.Part.SumSquares, checktest.All},
		{"SS operator", "39.27", s.Operator.SumSquares, checktest.All},
		{"SS interaction", "48.51", s.Interaction.SumSquares, checktest.All},
		{"SS repeatability", "30.67", s.Repeatability.SumSquares, checktest.All},
		{"MS part", "437.33", s.Part.MeanSquare, checktest.All},
		{"MS operator", "19.63", s.Operator.MeanSquare, checktest.All},
		{"MS interaction", "2.70", s.Interaction.MeanSquare, checktest.All},
		{"MS repeatability", "0.51", s.Repeatability.MeanSquare, checktest.All},
		{"F part", "162.27", s.PartTest.F, checktest.All},
		{"F operator", "7.28", s.OperatorTest.F, checktest.All},
		{"F interaction", "5.27", s.InteractionTest.F, checktest.All},
		{"variance part", "48.29", s.Shares.Part.Variance, checktest.All},
		{"variance operator", "0.56", s.Shares.Operator.Variance, checktest.All},
		{"variance interaction", "0.73", s.Shares.Interaction.Variance, checktest.All},
		{"variance repeatability", "0.51", s.Shares.Repeatability.Variance, checktest.All},
	})
}

// manualRows is the 10 × 3 × 3 example of the AIAG manual, whose average and
// range part rounds the mean range to 0.3417 and its constants to four digits.
func manualRows(t *testing.T) []checktest.Row {
	s := must[stat.Study](t)(stat.CrossedStudy(readTrials(t, "aiag.csv"), stat.DefaultStudySettings()))
	if !s.Pooled || s.Shares.Categories != 4 || s.AverageRange.Shares.Categories != 5 {
		t.Errorf("10 × 3 × 3: pooled %v, categories %d and %d; want true, 4 and 5",
			s.Pooled, s.Shares.Categories, s.AverageRange.Shares.Categories)
	}
	x, r := s.Shares, s.AverageRange.Shares
	const manual = "AIAG manual, 4th ed."
	rows := compareAll("10 × 3 × 3, ", manual, checktest.Recalled, []printed{
		{"SS part", "88.3619", s.Part.SumSquares, checktest.All},
		{"SS operator", "3.1673", s.Operator.SumSquares, checktest.All},
		{"SS interaction", "0.3590", s.Interaction.SumSquares, checktest.All},
		{"SS repeatability", "2.7589", s.Repeatability.SumSquares, checktest.All},
		{"SS total", "94.6471", s.Total.SumSquares, checktest.All},
		{"F interaction", "0.434", s.InteractionTest.F, checktest.All},
		{"EV pooled", "0.199933", x.Repeatability.SD, checktest.All},
		{"AV pooled", "0.226838", x.Operator.SD, checktest.All},
		{"GRR pooled (made of rounded EV and AV)", "0.302373", x.Gauge.SD, 5},
		{"PV pooled", "1.042327", x.Part.SD, checktest.All},
		{"TV pooled", "1.0853", x.Total.SD, checktest.All},
		{"% contribution", "7.76", x.Gauge.Contribution, checktest.All},
		{"% study", "27.86", x.Gauge.Study, checktest.All},
	})
	rows = append(rows, checktest.Compare("10 × 3 × 3, P interaction", "a tutorial on the same data", checktest.Seen,
		"0.974", decimal.NewFromFloat(s.InteractionTest.P), checktest.All))
	return append(rows, compareAll("10 × 3 × 3 by average and range, ", manual+" (rounds on the way)", checktest.Recalled, []printed{
		{"EV", "0.20188", r.Repeatability.SD, 3}, {"AV", "0.22963", r.Operator.SD, 3},
		{"GRR", "0.30575", r.Gauge.SD, 3}, {"PV", "1.10456", r.Part.SD, 3}, {"TV", "1.14610", r.Total.SD, 3},
		{"% study", "26.68", r.Gauge.Study, 3}, {"distinct categories, cut down", "5", r.Distinct.Floor(), checktest.All},
	})...)
}

func nestedRows(t *testing.T) []checktest.Row {
	pool := must[stat.Spread](t)
	_, wafer := readCSV(t, "gauge_study", "nist_wafer140_probe2362.csv")
	var repeats []stat.Spread
	runs := map[string][]decimal.Decimal{}
	for _, r := range wafer {
		repeats = append(repeats, stat.Spread{SD: dec(r[8]), DF: 5})
		runs[r[0]] = append(runs[r[0]], dec(r[7]))
	}
	one := pool(stat.PoolReadings([][]decimal.Decimal{runs["1"]}))
	two := pool(stat.PoolReadings([][]decimal.Decimal{runs["2"]}))
	both := pool(stat.PoolReadings([][]decimal.Decimal{runs["1"], runs["2"]}))
	level1, level3, many := pool(stat.Pool(repeats)), pool(stat.Pool(spreads("0.0223 0.0027 0.0289 0.0133 0.0205", 1))), pool(stat.Pool(squares(t)))
	if level1.DF != 60 || both.DF != 10 || level3.DF != 5 || many.DF != 300 {
		t.Errorf("degrees of freedom %d, %d, %d, %d; want 60, 10, 5, 300", level1.DF, both.DF, level3.DF, many.DF)
	}
	const source = "NIST/SEMATECH e-Handbook "
	rows := compareAll("", source+"2.4.4", checktest.Seen, []printed{
		{"level 1, 12 standard deviations pooled", "0.07871", level1.SD, checktest.All},
		{"level 2, run 1 (from the printed averages)", "0.027280", one.SD, 3},
		{"level 2, run 2 (from the printed averages)", "0.027560", two.SD, 3},
		{"level 2, two runs pooled", "0.02742", both.SD, checktest.All},
		{"level 3, five wafers pooled", "0.0197", level3.SD, checktest.All},
		{"repeatability pooled over wafers", "0.10290", many.SD, checktest.All},
	})
	return append(rows, calibratedRows(t)...)
}

func spreads(sds string, df int) []stat.Spread {
	var out []stat.Spread
	for _, sd := range decs(sds) {
		out = append(out, stat.Spread{SD: sd, DF: df})
	}
	return out
}

func squares(t testing.TB) []stat.Spread {
	var out []stat.Spread
	for _, ss := range decs("0.48115 0.69209 0.48483 1.21752 0.30076") {
		out = append(out, must[stat.Spread](t)(stat.SpreadOf(ss, 60)))
	}
	return out
}

// calibratedRows is the handbook's uncertainty of a calibrated value. It works
// on from unrounded standard deviations; we have them to four places only.
func calibratedRows(t *testing.T) []checktest.Row {
	s1, s2, s3 := spreads("0.0729", 300)[0], spreads("0.0362", 50)[0], spreads("0.0196", 5)[0]
	n := must[stat.Nested](t)(stat.NestedStudy(s1, s2, s3, 6, 6))
	v2, v3 := s2.SD.Mul(s2.SD).InexactFloat64()*5/6, s3.SD.Mul(s3.SD).InexactFloat64()
	probe := 0.0162 * 0.0162 / 10
	dof, err := stat.EffectiveDF([]stat.Term{{Variance: v2, DF: 50}, {Variance: v3, DF: 5}, {Variance: probe, DF: 9}})
	whole := number(t, dof, err).Floor()
	factor, err := stat.StudentT(0.95, whole.InexactFloat64())
	u := decimal.NewFromFloat(v2 + v3 + probe).Pow(decimal.New(5, -1))
	const source = "NIST/SEMATECH e-Handbook 2.6.3"
	rows := compareAll("", source+" (from unrounded s1, s2, s3)", checktest.Seen, []printed{
		{"day to day", "0.02057092", n.Days.SD, 2},
		{"run to run", "0.01295841", n.Runs.SD, 2},
		{"effective degrees of freedom, cut down", "42", whole, checktest.All},
		{"uncertainty", "0.03875842", u, 4},
		{"expanded uncertainty", "0.0782", number(t, factor, err).Mul(u), checktest.All},
	})
	return append(rows, compareAll("", "the same formula, s1, s2, s3 as printed", checktest.Computed, []printed{
		{"day to day", "0.02061", n.Days.SD, checktest.All},
		{"run to run", "0.01287", n.Runs.SD, checktest.All},
		{"one reading, √(s3² + 5/6·s2² + 5/6·s1²)", "0.07684", n.All, checktest.All},
	})...)
}
