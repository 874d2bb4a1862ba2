package correct_test

import (
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/correct"
	"shimwright/calc/quantity"
	"shimwright/calc/stat/checktest"
)

// Every exported entry point with input that cannot be meant: an error that
// names the input, never a panic.
func TestBadInput(t *testing.T) {
	far := quantity.FromDecimal(decimal.New(1, 2e9))
	tiny := quantity.FromDecimal(decimal.New(1, -2e9))
	one := quantity.MustExact("1")
	steel := correct.Materials()[0]
	body := correct.Body{Material: steel, At: quantity.MustExact("20")}
	hot := correct.Body{Material: steel, At: quantity.MustExact("151")}
	table := func(points ...correct.Point) func() error {
		return func() error { _, err := correct.NewTable(points); return err }
	}
	settle := func(rule correct.SettleRule, readings ...quantity.Exact) func() error {
		return func() error { _, err := correct.Settle(readings, rule); return err }
	}
	watch := func(limit quantity.Exact, checks ...correct.Check) func() error {
		return func() error { _, err := correct.Watch(checks, limit); return err }
	}
	made, err := correct.NewTable([]correct.Point{{At: quantity.Exact{}, Add: quantity.Exact{}}, {At: one, Add: quantity.Exact{}}})
	if err != nil {
		t.Fatal(err)
	}
	list := []checktest.Bad{
		{Call: "NewTable", Field: "points", Err: table()},
		{Call: "NewTable", Field: "points", Err: table(correct.Point{At: one})},
		{Call: "NewTable", Field: "point 2: reading", Err: table(correct.Point{At: one}, correct.Point{At: one})},
		{Call: "NewTable", Field: "point 1: reading", Err: table(correct.Point{At: far}, correct.Point{At: one})},
		{Call: "NewTable", Field: "point 2: correction", Err: table(correct.Point{At: quantity.Exact{}}, correct.Point{At: one, Add: tiny})},
		{Call: "Table.Correction", Field: "points", Err: func() error { _, err := correct.Table{}.Correction(one); return err }},
		{Call: "Table.Correction", Field: "reading", Err: func() error { _, err := made.Correction(far); return err }},
		{Call: "Table.Correct", Field: "reading", Err: func() error { _, err := made.Correct(one.Neg()); return err }},
		{Call: "MaterialNamed", Field: "material", Err: func() error { _, err := correct.MaterialNamed("cheese"); return err }},
		{Call: "Material.Check", Field: "material: expansion", Err: func() error { return correct.Material{PerK: far}.Check() }},
		{Call: "Material.Check", Field: "doubt of the expansion", Err: func() error { return correct.Material{PerK: steel.PerK, Within: one}.Check() }},
		{Call: "Growth", Field: "length", Err: func() error { _, err := correct.Growth(far, body); return err }},
		{Call: "Growth", Field: "body: temperature", Err: func() error { _, err := correct.Growth(one, hot); return err }},
		{Call: "Growth", Field: "body", Err: func() error { _, err := correct.Growth(one, correct.Body{}); return err }},
		{Call: "PerKelvin", Field: "length", Err: func() error { _, err := correct.PerKelvin(tiny, steel); return err }},
		{Call: "PerKelvin", Field: "material", Err: func() error { _, err := correct.PerKelvin(one, correct.Material{Name: "x", PerK: far}); return err }},
		{Call: "At20", Field: "lengths", Err: func() error { _, err := correct.At20(body, nil); return err }},
		{Call: "At20", Field: "part: temperature", Err: func() error { _, err := correct.At20(hot, []correct.Length{{Value: one, Body: body}}); return err }},
		{Call: "At20", Field: "length 1", Err: func() error { _, err := correct.At20(body, []correct.Length{{Value: far, Body: body}}); return err }},
		{Call: "Brought.Matters", Field: "tolerance", Err: func() error { _, err := correct.Brought{}.Matters(quantity.Exact{}); return err }},
		{Call: "Brought.Matters", Field: "tolerance", Err: func() error { _, err := correct.Brought{}.Matters(one.Neg()); return err }},
		{Call: "Brought.Say", Field: "tolerance", Err: func() error { _, err := correct.Brought{}.Say(far, quantity.MM, 3); return err }},
		{Call: "Watch", Field: "checks", Err: watch(one)},
		{Call: "Watch", Field: "limit", Err: watch(one.Neg(), correct.Check{}, correct.Check{}, correct.Check{})},
		{Call: "Watch", Field: "limit", Err: watch(far, correct.Check{}, correct.Check{}, correct.Check{})},
		{Call: "Settle", Field: "readings", Err: settle(correct.SettleRule{})},
		{Call: "Watch", Field: "check 2: certified size", Err: watch(one, correct.Check{}, correct.Check{Certified: tiny})},
		{Call: "Settle", Field: "reading 1", Err: settle(correct.SettleRule{}, far, one, one)},
		{Call: "Settle", Field: "move", Err: settle(correct.SettleRule{Move: one.Neg()}, one, one, one)},
		{Call: "Settle", Field: "least run", Err: settle(correct.SettleRule{Least: -1}, one, one, one)},
	}
	checktest.Refused(t, ".", list, map[string]func(){
		"Materials":        func() { correct.Materials() },
		"Material.Doubt":   func() { correct.Material{PerK: far, Within: tiny}.Doubt() },
		"Material.String":  func() { _ = correct.Material{}.String() },
		"FromError":        func() { correct.FromError(far, tiny) },
		"Table.Range":      func() { correct.Table{}.Range() },
		"Drift.Say":        func() { _ = correct.Drift{}.Say(quantity.Unit(99), -3) },
		"Settling.Say":     func() { _ = correct.Settling{}.Say(quantity.Unit(99), -3) },
		"Settling.Settled": func() { correct.Settling{}.Settled() },
		"State.String":     func() { _ = correct.State(99).String() },
		"Trend.String":     func() { _ = correct.Trend(99).String() },
	})
}
