package correct_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/correct"
	"shimwright/calc/quantity"
	"shimwright/calc/stat"
)

// figures takes what decimals it finds in text, the strange ones included.
func figures(text string) []quantity.Exact {
	var out []quantity.Exact
	for _, f := range strings.Fields(text) {
		if d, err := decimal.NewFromString(f); err == nil {
			out = append(out, quantity.FromDecimal(d))
		}
	}
	return out
}

// fair fails the test unless an error is none or a Problem that says where.
func fair(t *testing.T, err error) bool {
	t.Helper()
	if err == nil {
		return true
	}
	var p *stat.Problem
	if !errors.As(err, &p) || p.Field == "" || p.Found == "" || p.Wanted == "" || p.Kind == 0 || len(p.Error()) > 900 {
		t.Errorf("%v is no good refusal", err)
	}
	return false
}

func FuzzRules(f *testing.F) {
	f.Add("0 0 25 0.004 50 -0.002", "33.38")
	f.Add("0.06 0.04 0.03", "0.01")
	f.Add("200 28 0.0000215 0.0000115", "0.05")
	f.Add("1e60 1e-60 -1e5000 0.0000", "1e10000")
	f.Add("", "0")
	f.Fuzz(func(t *testing.T, text, more string) {
		x, y := figures(text), figures(more)
		if len(text) > 1000 || len(more) > 1000 || len(y) == 0 {
			return
		}
		fuzzTable(t, x, y[0])
		fuzzBody(t, x, y[0])
		var c []correct.Check
		for _, e := range x {
			c = append(c, correct.Check{Read: e, Certified: y[0]})
		}
		if d, err := correct.Watch(c, y[len(y)-1]); fair(t, err) && d.Say(quantity.MM, 3) == "" {
			t.Error("a drift without words")
		}
		if s, err := correct.Settle(x, correct.SettleRule{Least: len(y) - 1, Move: y[0]}); fair(t, err) && (s.Say(quantity.Inch, 4) == "") != s.Settled() {
			t.Error("words and settling disagree")
		}
	})
}

func fuzzTable(t *testing.T, x []quantity.Exact, at quantity.Exact) {
	var points []correct.Point
	for i := 0; i+1 < len(x); i += 2 {
		points = append(points, correct.Point{At: x[i], Add: x[i+1]})
	}
	tab, err := correct.NewTable(points)
	if !fair(t, err) {
		return
	}
	c, err := tab.Correction(at)
	if !fair(t, err) {
		return
	}
	low, high := points[0].Add, points[0].Add
	for _, p := range points {
		if p.Add.Less(low) {
			low = p.Add
		}
		if high.Less(p.Add) {
			high = p.Add
		}
	}
	if c.Less(low) || high.Less(c) {
		t.Errorf("correction %s lies outside all points", c)
	}
}

func fuzzBody(t *testing.T, x []quantity.Exact, tolerance quantity.Exact) {
	if len(x) < 4 {
		return
	}
	part := correct.Body{Material: correct.Material{PerK: x[2]}, At: x[1]}
	sum := []correct.Length{{Name: "gauge", Value: x[0], Body: correct.Body{Material: correct.Material{PerK: x[3]}, At: x[1]}}}
	b, err := correct.At20(part, sum)
	if !fair(t, err) {
		return
	}
	if said, err := b.Say(tolerance, quantity.MM, 3); fair(t, err) && said == "" {
		t.Error("a correction without words")
	}
}
