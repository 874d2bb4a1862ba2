package stat_test

import (
	"fmt"
	"math"
	"os"
	"slices"
	"sort"
	"strings"
	"testing"

	"github.com/shopspring/decimal"
	gonum "gonum.org/v1/gonum/stat"

	"shimwright/calc/stat"
	"shimwright/calc/stat/checktest"
)

type certifiedUnivariate struct {
	File string `json:"file"`
	N    int    `json:"n"`
	Mean string `json:"certified_mean"`
	SD   string `json:"certified_sd"`
	Lag1 string `json:"certified_lag1_autocorr"`
	Min  string `json:"min"`
	Max  string `json:"max"`
}

type certifiedOneWay struct {
	N       int    `json:"n"`
	DFb     int    `json:"df_between"`
	DFw     int    `json:"df_within"`
	Between string `json:"ss_between"`
	Within  string `json:"ss_within"`
	F       string `json:"F"`
	R2      string `json:"R2"`
	SD      string `json:"resid_sd"`
}

func names[T any](m map[string]T) []string {
	var out []string
	for k := range m {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}

// univariateRows holds every certified digit of the nine StRD sets. The
// constructed sets (NumAcc) are certified exactly, so ours must be exact too.
func univariateRows(t *testing.T) []checktest.Row {
	var certified map[string]certifiedUnivariate
	readJSON(t, &certified, "nist_strd", "certified_univariate.json")
	var rows []checktest.Row
	for _, name := range names(certified) {
		c := certified[name]
		inHeader(t, c.File, "Sample ", c.Mean, c.SD, c.Lag1)
		s := must[stat.Summary](t)(stat.Summarise(readUnivariate(t, c.File)))
		if s.N != c.N || !s.Min.Equal(dec(c.Min)) || !s.Max.Equal(dec(c.Max)) {
			t.Errorf("%s: n %d, min %s, max %s; certified %d, %s, %s", name, s.N, s.Min, s.Max, c.N, c.Min, c.Max)
		}
		three := []checktest.Row{
			checktest.Compare(name+" mean", "NIST StRD", checktest.Seen, c.Mean, s.Mean.Round(30), checktest.All),
			checktest.Compare(name+" standard deviation", "NIST StRD", checktest.Seen, c.SD, must[decimal.Decimal](t)(s.SD()), checktest.All),
			checktest.Compare(name+" lag-1 autocorrelation", "NIST StRD", checktest.Seen, c.Lag1, must[decimal.Decimal](t)(s.Lag1()), checktest.All),
		}
		for _, r := range three {
			if strings.HasPrefix(name, "NumAcc") && r.Agreed != "exact" {
				t.Errorf("%s: ours %s is not exactly %s", r.Check, r.Ours, r.Expected)
			}
		}
		rows = append(rows, three...)
	}
	return rows
}

func oneWayRows(t *testing.T) []checktest.Row {
	var certified map[string]certifiedOneWay
	readJSON(t, &certified, "nist_strd", "certified_anova.json")
	var rows []checktest.Row
	for _, name := range names(certified) {
		c := certified[name]
		between, within := meanSquares(t, name+".dat")
		inHeader(t, name+".dat", "", c.Between, c.Within, c.F, c.R2, c.SD)
		a := must[stat.OneWayTable](t)(stat.OneWay(readGroups(t, name+".dat")))
		if a.Total.DF != c.N-1 || a.Between.DF != c.DFb || a.Within.DF != c.DFw {
			t.Errorf("%s: degrees of freedom %d, %d, %d", name, a.Total.DF, a.Between.DF, a.Within.DF)
		}
		for _, f := range []struct {
			what, want string
			ours       decimal.Decimal
		}{
			{"sum of squares between", c.Between, a.Between.SumSquares},
			{"sum of squares within", c.Within, a.Within.SumSquares},
			{"mean square between", between, a.Between.MeanSquare},
			{"mean square within", within, a.Within.MeanSquare},
			{"F", c.F, a.F},
			{"R²", c.R2, a.R2},
			{"residual standard deviation", c.SD, a.ResidualSD},
		} {
			rows = append(rows, checktest.Compare(name+" "+f.what, "NIST StRD", checktest.Seen, f.want, f.ours, checktest.All))
		}
	}
	return rows
}

// inHeader holds figures copied out of a StRD file to the file itself: each
// stands there, digit for digit, on a line that begins so.
func inHeader(t *testing.T, file, begins string, figures ...string) {
	t.Helper()
	for _, want := range figures {
		if !slices.ContainsFunc(lines(t, file), func(line string) bool {
			return strings.HasPrefix(line, begins) && slices.Contains(strings.Fields(line), want)
		}) {
			t.Errorf("%s does not certify %s", file, want)
		}
	}
}

func lines(t *testing.T, file string) []string {
	t.Helper()
	text, err := os.ReadFile(published("nist_strd", file))
	if err != nil {
		t.Fatal(err)
	}
	return strings.Split(string(text), "\n")
}

// meanSquares are the certified ones of a StRD variance file.
func meanSquares(t *testing.T, file string) (between, within string) {
	t.Helper()
	for _, line := range lines(t, file) {
		switch f := strings.Fields(line); {
		case len(f) == 6 && f[0] == "Between":
			between = f[4]
		case len(f) == 5 && f[0] == "Within":
			within = f[4]
		}
	}
	if between == "" || within == "" {
		t.Fatalf("%s certifies no mean squares", file)
	}
	return between, within
}

// floatTable sets the digits that float64 reaches beside ours, on the same
// data: gonum's two-pass mean and standard deviation, and textbook two-pass
// sums of squares.
func floatTable(t *testing.T) string {
	var b strings.Builder
	b.WriteString("\n### What float64 reaches on the same data\n\n")
	b.WriteString("Digits of the certified 15 that agree (log relative error, cut down at 15): gonum's stat.MeanStdDev, and two-pass sums\n")
	b.WriteString("in float64 for the rest. Ours agree in all. This is why readings are decimals here.\n\n")
	b.WriteString("| set | mean | standard deviation | lag-1 autocorrelation |\n| --- | ---: | ---: | ---: |\n")
	var univariate map[string]certifiedUnivariate
	readJSON(t, &univariate, "nist_strd", "certified_univariate.json")
	for _, name := range names(univariate) {
		c := univariate[name]
		x := floats(readUnivariate(t, c.File))
		mean, sd := gonum.MeanStdDev(x, nil)
		fmt.Fprintf(&b, "| %s | %s | %s | %s |\n", name, reached(c.Mean, mean), reached(c.SD, sd), reached(c.Lag1, floatLag1(x)))
	}
	b.WriteString("\n| set | sum of squares within | F |\n| --- | ---: | ---: |\n")
	var oneWay map[string]certifiedOneWay
	readJSON(t, &oneWay, "nist_strd", "certified_anova.json")
	for _, name := range names(oneWay) {
		within, f := floatOneWay(readGroups(t, name+".dat"))
		fmt.Fprintf(&b, "| %s | %s | %s |\n", name, reached(oneWay[name].Within, within), reached(oneWay[name].F, f))
	}
	return b.String()
}

func reached(certified string, f float64) string {
	return fmt.Sprint(int(min(15, max(0, math.Floor(checktest.LogError(dec(certified), decimal.NewFromFloat(f)))))))
}

func floats(xs []decimal.Decimal) []float64 {
	out := make([]float64, len(xs))
	for i, x := range xs {
		out[i] = x.InexactFloat64()
	}
	return out
}

func floatLag1(x []float64) float64 {
	mean, above, below := gonum.Mean(x, nil), 0.0, 0.0
	for i := range x {
		below += (x[i] - mean) * (x[i] - mean)
		if i > 0 {
			above += (x[i] - mean) * (x[i-1] - mean)
		}
	}
	return above / below
}

func floatOneWay(groups [][]decimal.Decimal) (within, f float64) {
	all := floats(flatten(groups))
	mean, between := gonum.Mean(all, nil), 0.0
	for _, g := range groups {
		x := floats(g)
		m := gonum.Mean(x, nil)
		between += float64(len(x)) * (m - mean) * (m - mean)
		for _, v := range x {
			within += (v - m) * (v - m)
		}
	}
	k, n := float64(len(groups)), float64(len(all))
	return within, (between / (k - 1)) / (within / (n - k))
}
