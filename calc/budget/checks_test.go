package budget_test

import (
	"encoding/csv"
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/budget"
	"shimwright/calc/quantity"
	"shimwright/calc/stat/checktest"
)

var update = flag.Bool("update", false, "write this part of calc/CHECKS.md instead of comparing with it")

// TestChecks holds package budget and package correct against what is published.
func TestChecks(t *testing.T) {
	part := checktest.Sections(t, []checktest.Section{
		{Title: "Uncertainty of a figure", Rows: append(endGaugeRows(t), probeRows(t)...)},
		{Title: "Student's t of a budget", Rows: studentRows(t)},
		{Title: "Kinds of source", Rows: kindRows(t)},
		{Title: "The bench's own figures", Rows: shopRows(t)},
		{Title: "Expansion with temperature", Rows: thermalRows(t)},
	})
	if runtime.GOARCH != "amd64" {
		t.Skip("the last digits of float64 differ between processors, so only one kind compares CHECKS.md")
	}
	checktest.Part(t, "../CHECKS.md", "Uncertainty and corrections (packages budget and correct)", part, *update)
}

func published(parts ...string) string {
	return filepath.Join(append([]string{"..", "..", "testdata", "published"}, parts...)...)
}

// endGauge is the calibration of an end gauge, in nm: GUM annex H.1.
type endGauge struct {
	Inputs struct {
		LS [3]float64   `json:"l_s_nm"`
		D  [][3]float64 `json:"d_components_nm"`
	} `json:"inputs"`
	SecondOrder []float64 `json:"second_order_terms_nm"`
	Computed    float64   `json:"u_first_order_nm"`
	ComputedDF  float64   `json:"veff"`
	Published   struct {
		U       float64 `json:"u_c_nm"`
		DF      float64 `json:"veff"`
		K99     float64 `json:"k99"`
		U99     float64 `json:"U99_nm"`
		USecond float64 `json:"u_second_order_nm"`
	} `json:"published"`
}

func readEndGauge(t testing.TB) endGauge {
	t.Helper()
	text, err := os.ReadFile(published("uncertainty", "gum_h1.json"))
	if err != nil {
		t.Fatal(err)
	}
	var e endGauge
	if err := json.Unmarshal(text, &e); err != nil {
		t.Fatal(err)
	}
	return e
}

func stated(name string, u, dof float64) budget.Source {
	return budget.Source{Name: name, Kind: budget.Stated, Size: quantity.FromDecimal(decimal.NewFromFloat(u)), DF: dof, Coef: quantity.Whole(1)}
}

// sources of the end gauge. The difference of expansion coefficients, ±1e-6/K,
// counts −l·θ (θ = −0.1 K, l = 50.000623 mm); the difference of temperatures,
// ±0.05 K, counts −l·α (α = 11.5e-6/K).
func (e endGauge) sources() []budget.Source {
	out := []budget.Source{stated("standard", e.Inputs.LS[1], e.Inputs.LS[2])}
	for i, d := range e.Inputs.D {
		out = append(out, stated(fmt.Sprintf("difference %d", i+1), d[1], d[2]))
	}
	return append(out,
		budget.Source{Name: "difference of coefficients", Kind: budget.LimitOfError, Size: ex("0.000001"), By: by("5000062.3"), Coef: quantity.Whole(1), DF: 50},
		budget.Source{Name: "difference of temperatures", Kind: budget.Temperature, Size: ex("0.05"), By: by("575.0071645"), Coef: quantity.Whole(-1), DF: 2})
}

func endGaugeRows(t *testing.T) []checktest.Row {
	e := readEndGauge(t)
	b := work(t, e.sources()...)
	u99, err := b.ExpandedAt(0.99)
	if err != nil {
		t.Fatal(err)
	}
	second := e.sources()
	for i, u := range e.SecondOrder {
		second = append(second, stated(fmt.Sprintf("second order %d", i+1), u, 0))
	}
	const source, name = "GUM H.1", "end gauge, "
	print := func(f float64) string { return number(t, f).String() }
	return []checktest.Row{
		checktest.Compare(name+"u in nm", source, checktest.Seen, print(e.Published.U), b.Standard.Decimal(), checktest.All),
		checktest.Compare(name+"u in nm", "another program", checktest.Computed, fmt.Sprintf("%.9f", e.Computed), b.Standard.Decimal(), checktest.All),
		checktest.Compare(name+"degrees of freedom, cut down", source, checktest.Seen, print(e.Published.DF), number(t, math.Floor(b.DF)), checktest.All),
		checktest.Compare(name+"degrees of freedom", "another program", checktest.Computed, fmt.Sprintf("%.9f", e.ComputedDF), number(t, b.DF), checktest.All),
		checktest.Compare(name+"U at 99 % in nm (source multiplies the rounded 2.92 and 32)", source, checktest.Recalled, print(e.Published.U99), u99.Decimal(), 2),
		checktest.Compare(name+"t at 99 %", source, checktest.Seen, print(e.Published.K99), number(t, float(u99)/float(b.Standard)), checktest.All),
		checktest.Compare(name+"u in nm with the second-order terms as sources", source, checktest.Seen, print(e.Published.USecond), work(t, second...).Standard.Decimal(), checktest.All),
	}
}

// probeRows is the calibrated value of a four-point probe: u² = 5/6·s2² + s3² +
// s_probe²/10.
func probeRows(t *testing.T) []checktest.Row {
	root := quantity.FromDecimal(number(t, math.Sqrt(5.0/6)))
	day := stated("days", 0.0362, 50)
	day.By = &root
	b := work(t, day, stated("runs", 0.0196, 5),
		budget.Source{Name: "probe", Kind: budget.Repeats, Size: ex("0.0162"), N: 10, Coef: quantity.Whole(1)})
	u95, err := b.ExpandedAt(0.95)
	if err != nil {
		t.Fatal(err)
	}
	const source, name = "NIST/SEMATECH e-Handbook 2.6.3", "calibrated value, "
	return []checktest.Row{
		checktest.Compare(name+"u (from deviations printed to 4 digits)", source, checktest.Seen, "0.03875842", b.Standard.Decimal(), 4),
		checktest.Compare(name+"degrees of freedom, cut down", source, checktest.Seen, "42", number(t, math.Floor(b.DF)), checktest.All),
		checktest.Compare(name+"U at 95 %", source, checktest.Seen, "0.0782", u95.Decimal(), checktest.All),
	}
}

// studentRows holds a budget's t at 95.45 % against the whole printed table, and
// shows some of it.
func studentRows(t *testing.T) []checktest.Row {
	f, err := os.Open(published("uncertainty", "student_t.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	table, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []checktest.Row
	for _, r := range table[1:] {
		dof := decimal.RequireFromString(r[0]).InexactFloat64()
		b := work(t, stated("repeats", 1, dof))
		places := int32(2)
		if r[0] == "100" {
			places = 3 // the table prints three places in its last row
		}
		want := decimal.RequireFromString(r[2]).StringFixed(places)
		row := checktest.Compare("t at 95.45 %, "+r[0]+" d.o.f.", "NIST TN 1297, table B.1", checktest.Seen, want, b.T.Decimal(), checktest.All)
		if row.Short || dof <= 3 || dof == 16 || dof == 100 {
			rows = append(rows, row)
		}
	}
	endless := work(t, stated("u", 1, 0))
	return append(rows, checktest.Compare("t at 95.45 %, endless d.o.f.", "NIST TN 1297, table B.1", checktest.Seen, "2.000", endless.T.Decimal(), checktest.All))
}

// kindRows are closed forms, to the digits kept.
func kindRows(t *testing.T) []checktest.Row {
	row := func(what string, s budget.Source, want float64) checktest.Row {
		s.Name, s.Coef = "it", quantity.Whole(1)
		return checktest.Compare(what, "closed form", checktest.Computed, fmt.Sprintf("%.10f", want), work(t, s).Standard.Decimal(), checktest.All)
	}
	return []checktest.Row{
		row("limit of error 0.02, a/√3", budget.Source{Kind: budget.LimitOfError, Size: ex("0.02")}, 0.02/math.Sqrt(3)),
		row("resolution 0.01, d/√12", budget.Source{Kind: budget.Resolution, Size: ex("0.01")}, 0.01/math.Sqrt(12)),
		row("mark in steps of 0.01, half a digit over √3", budget.Source{Kind: budget.MarkRounding, Size: ex("0.01")}, 0.005/math.Sqrt(3)),
		row("3 readings, s 0.005, s/√n", budget.Source{Kind: budget.Repeats, Size: ex("0.005"), N: 3}, 0.005/math.Sqrt(3)),
		row("piece, U 0.003 with k 2", budget.Source{Kind: budget.CertifiedPiece, Size: ex("0.003"), K: ex("2")}, 0.0015),
		row("scale ±0.0002 on 77.21", budget.Source{Kind: budget.GaugeScale, Size: ex("0.0002"), By: by("77.21")}, 77.21*0.0002/math.Sqrt(3)),
		row("steel of 200, ±2 K", budget.Source{Kind: budget.Temperature, Size: ex("2"), By: by("0.0023")}, 0.0046/math.Sqrt(3)),
	}
}

// shopRows are the trade's orders of size, by the plain rule and by the one whose
// guesses were chosen to meet them; the test of these figures says which.
func shopRows(t *testing.T) []checktest.Row {
	var rows []checktest.Row
	fitted, asStated := limitOf(inside).figures(), limitOf(plain).figures()
	for _, c := range []struct{ name, what, want string }{
		{"absolute", "one reading, absolute", "0.025"},
		{"comparator", "one reading, comparator", "0.012"},
		{"two", "two readings of one sign, one gauge", "0.047"},
		{"three", "closing sum, three readings, one gauge", "0.070"},
		{"separate", "closing sum, three gauges", "0.043"},
	} {
		row := func(how string, sources []budget.Source, atLeast int) checktest.Row {
			u := work(t, sources...).Expanded.Decimal()
			return checktest.Compare("U (k = 2), limit of error 0.02, "+c.what+" ("+how+")", "common practice, no source", checktest.Computed, c.want, u, atLeast)
		}
		rows = append(rows,
			row("plain rule; an order of size", asStated[c.name], 1),
			row("guesses chosen to fit", fitted[c.name], checktest.All))
	}
	return rows
}
