package budget_test

import (
	"math"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/budget"
	"shimwright/calc/quantity"
)

func ex(s string) quantity.Exact   { return quantity.MustExact(s) }
func by(s string) *quantity.Exact  { e := ex(s); return &e }
func whole(n int64) quantity.Ratio { return quantity.Whole(n) }

func work(t testing.TB, sources ...budget.Source) budget.Budget {
	t.Helper()
	b, err := budget.Work(sources)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func float(e quantity.Exact) float64 { return e.Float() }

// near tells whether two figures agree to one in 10⁹: outputs keep 12 digits.
func near(a, b quantity.Exact) bool { return math.Abs(float(a)-float(b)) <= 1e-9*math.Abs(float(b)) }

func shown(e quantity.Exact, places int32) string { return e.Show(quantity.MM, places) }

func number(t testing.TB, f float64) decimal.Decimal {
	t.Helper()
	if math.IsNaN(f) || math.IsInf(f, 0) {
		t.Fatalf("%v is no number", f)
	}
	return decimal.NewFromFloat(f)
}
