package stat_test

import (
	"flag"
	"fmt"
	"math"
	"runtime"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/stat"
	"shimwright/calc/stat/checktest"
)

var update = flag.Bool("update", false, "write this package's part of calc/CHECKS.md instead of comparing with it")

func TestChecks(t *testing.T) {
	part := checktest.Sections(t, []checktest.Section{
		{Title: "Summary statistics", Rows: univariateRows(t)},
		{Title: "One-way analysis of variance", Rows: oneWayRows(t)},
		{Title: "Chart constants", Rows: constantRows(t)},
		{Title: "Control charts", Rows: chartRows(t)},
		{Title: "Capability", Rows: capabilityRows(t)},
		{Title: "Gauge study, crossed", Rows: studyRows(t)},
		{Title: "Gauge study, pooled and nested", Rows: nestedRows(t)},
		{Title: "Distributions", Rows: distributionRows(t)},
	}) + floatTable(t)
	if runtime.GOARCH != "amd64" {
		t.Skip("the last digits of float64 differ between processors, so only one kind compares CHECKS.md")
	}
	checktest.Part(t, "../CHECKS.md", "Statistics on readings (package stat)", part, *update)
}

// number is a float64 result as a decimal, for the table.
func number(t testing.TB, f float64, err error) decimal.Decimal {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	if math.IsNaN(f) || math.IsInf(f, 0) {
		t.Fatalf("%v is no number", f)
	}
	return decimal.NewFromFloat(f)
}

func must[T any](t testing.TB) func(T, error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func distributionRows(t *testing.T) []checktest.Row {
	_, table := readCSV(t, "uncertainty", "student_t.csv")
	const source = "NIST TN 1297, table B.1"
	var rows []checktest.Row
	// 95.45 % stands for the normal chance within two standard deviations.
	for i, confidence := range []float64{0.95, math.Erf(math.Sqrt2), 0.99} {
		var printed, six []checktest.Row
		for _, r := range table {
			dof := dec(r[0]).InexactFloat64()
			f, err := stat.StudentT(confidence, dof)
			ours, name := number(t, f, err), "t with "+r[0]+" degrees of freedom"
			places := int32(2)
			if r[0] == "100" {
				places = 3 // the table prints three places in its last row
			}
			printed = append(printed, checktest.Compare(name, source, checktest.Seen, dec(r[1+i]).StringFixed(places), ours, checktest.All))
			six = append(six, checktest.Compare(name, "another program", checktest.Computed, r[4+i], ours, checktest.All))
		}
		what := fmt.Sprintf("Student's t, %.4g %%", 100*confidence)
		rows = append(rows, checktest.Least(what, printed), checktest.Least(what, six))
	}
	f, err := stat.StudentT(0.99, 16)
	rows = append(rows, checktest.Compare("Student's t, 99 %, 16 degrees of freedom", "GUM H.1.6", checktest.Seen, "2.92", number(t, f, err), checktest.All))
	rows = append(rows, closedForms(t)...)
	return rows
}

// closedForms checks quantiles that have one.
func closedForms(t *testing.T) []checktest.Row {
	compare := func(check, source string, status checktest.Status, want string, f float64, err error) checktest.Row {
		return checktest.Compare(check, source, status, want, number(t, f, err), checktest.All)
	}
	twelve := func(f float64) string { return fmt.Sprintf("%.12g", f) }
	t1, err1 := stat.StudentT(0.95, 1)
	t2, err2 := stat.StudentT(0.95, 2)
	z, err3 := stat.Normal(0.95)
	c2, err4 := stat.ChiSquared(0.025, 2)
	low, err5 := stat.ChiSquared(0.025, 24)
	high, err6 := stat.ChiSquared(0.975, 24)
	return []checktest.Row{
		compare("t, 95 %, 1 degree of freedom", "closed form tan(π·0.95/2)", checktest.Computed, twelve(math.Tan(math.Pi*0.95/2)), t1, err1),
		compare("t, 95 %, 2 degrees of freedom", "closed form 0.95·√(2/(1−0.95²))", checktest.Computed, twelve(0.95*math.Sqrt(2/(1-0.95*0.95))), t2, err2),
		compare("normal, 95 %", "any table", checktest.Recalled, "1.959964", z, err3),
		compare("chi-squared, 0.025, 2 degrees of freedom", "closed form −2·ln(1−p)", checktest.Computed, twelve(-2*math.Log1p(-0.025)), c2, err4),
		compare("chi-squared, 0.025, 24 degrees of freedom", "any table", checktest.Recalled, "12.401", low, err5),
		compare("chi-squared, 0.975, 24 degrees of freedom", "any table", checktest.Recalled, "39.364", high, err6),
	}
}
