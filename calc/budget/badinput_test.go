package budget_test

import (
	"math"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/budget"
	"shimwright/calc/quantity"
	"shimwright/calc/stat/checktest"
)

// Every exported entry point with input that cannot be meant: an error that
// names the input, never a panic, never NaN.
func TestBadInput(t *testing.T) {
	far := quantity.FromDecimal(decimal.New(1, 2e9))
	tiny := quantity.FromDecimal(decimal.New(1, -2e9))
	tried := func(field string, change func(*budget.Source)) checktest.Bad {
		return checktest.Bad{Call: "Work", Field: field, Err: func() error { _, err := budget.Work(good(change)); return err }}
	}
	sure := func(confidence float64) checktest.Bad {
		return checktest.Bad{Call: "Budget.ExpandedAt", Field: "confidence", Err: func() error {
			_, err := work(t, good(nil)...).ExpandedAt(confidence)
			return err
		}}
	}
	guard := func(field string, g budget.Guard) []checktest.Bad {
		return []checktest.Bad{
			{Call: "Guard.Factor", Field: field, Err: func() error { _, err := g.Factor(work(t, good(nil)...)); return err }},
			{Call: "Guard.Band", Field: field, Err: func() error { _, err := g.Band(work(t, good(nil)...)); return err }},
		}
	}
	list := []checktest.Bad{
		{Call: "Work", Field: "sources", Err: func() error { _, err := budget.Work(nil); return err }},
		tried("size", func(s *budget.Source) { s.Size = ex("-0.02") }),
		tried("size", func(s *budget.Source) { s.Size = far }),
		tried("size", func(s *budget.Source) { s.Size = tiny }),
		tried("by", func(s *budget.Source) { s.By = &far }),
		tried("by", func(s *budget.Source) { s.Kind = budget.Temperature }),
		tried("by", func(s *budget.Source) { s.Kind = budget.Expansion }),
		tried("coverage factor", func(s *budget.Source) { s.Kind, s.K = budget.CertifiedPiece, far }),
		tried("coverage factor", func(s *budget.Source) { s.Kind = budget.CertifiedPiece }),
		tried("readings", func(s *budget.Source) { s.Kind, s.N = budget.Repeats, -1 }),
		tried("degrees of freedom", func(s *budget.Source) { s.DF = math.NaN() }),
		tried("coefficient", func(s *budget.Source) { s.Coef = quantity.Ratio{} }),
		tried("sources", func(s *budget.Source) { s.Size = ex("0") }),
		sure(0), sure(1), sure(math.NaN()), sure(math.Inf(1)),
	}
	list = append(list, guard("guard factor", budget.Guard{K: ex("-2")})...)
	list = append(list, guard("guard factor", budget.Guard{K: far})...)
	list = append(list, guard("guard way", budget.Guard{Way: 99})...)
	checktest.Refused(t, ".", list, map[string]func(){
		"Budget.Halve": func() { budget.Budget{}.Halve() },
		"Gain.Say":     func() { _ = budget.Gain{}.Say(quantity.Unit(99), -5) },
		"Kind.String":  func() { _ = budget.Kind(99).String() },
		"Way.String":   func() { _ = budget.Way(99).String() },
	})
}
