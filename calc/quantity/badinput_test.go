package quantity_test

import (
	"math"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/quantity"
	"shimwright/calc/stat/checktest"
)

// Every exported entry point with input that cannot be meant: an error that
// says what was found, never a panic. Arithmetic has no error; it is held to
// zero values and to units that do not exist.
func TestBadInput(t *testing.T) {
	parse := func(text, field string) checktest.Bad {
		return checktest.Bad{Call: "Parse", Field: field, Err: func() error { _, err := quantity.Parse(text, quantity.MM); return err }}
	}
	with := func(text, field string) []checktest.Bad {
		return []checktest.Bad{
			{Call: "ParseWithUnit", Field: field, Err: func() error { _, err := quantity.ParseWithUnit(text); return err }},
			{Call: "Value.UnmarshalText", Field: field, Err: func() error { var v quantity.Value; return v.UnmarshalText([]byte(text)) }},
		}
	}
	var list []checktest.Bad
	for _, text := range []string{"", "-", ".", "1.", ".5", "1e9", "NaN", "Inf", "1,5", "0x10", "--1", "1 2", "1.2.3", "٣", strings.Repeat("9", 10),
		"0." + strings.Repeat("0", 10), strings.Repeat("0", 99)} {
		list = append(list, parse(text, "is not a figure"))
		if !strings.Contains(text, " ") && text != "" {
			list = append(list, with(text+" mm", "is not a figure")...)
		}
	}
	for _, text := range []string{"1.0 furlong", "1.0 MM", "1.0 mm mm", "1.0 kg"} {
		list = append(list, with(text, "is not a unit")...)
	}
	list = append(list, with("abc def", "is not a unit")...)
	list = append(list,
		checktest.Bad{Call: "ParseUnit", Field: "is not a unit", Err: func() error { _, err := quantity.ParseUnit(""); return err }},
		checktest.Bad{Call: "RatioOf", Field: "ratio 1 to 0", Err: func() error { _, err := quantity.RatioOf(1, 0); return err }},
		checktest.Bad{Call: "Ratio.Inverse", Field: "nought", Err: func() error { _, err := quantity.Ratio{}.Inverse(); return err }},
	)
	checktest.Refused(t, ".", list, quiet(t))
}

// quiet calls all that has no error.
func quiet(t *testing.T) map[string]func() {
	var e, none quantity.Exact
	var r quantity.Ratio
	var v quantity.Value
	strange := quantity.Unit(200)
	least, err := quantity.RatioOf(math.MinInt64, -1)
	if err != nil || least.Sign() != 1 {
		t.Errorf("least over -1 is %s, %v", least, err)
	}
	out := map[string]func(){
		"FromDecimal": func() { quantity.FromDecimal(decimal.Decimal{}) }, "MustExact": func() { quantity.MustExact("1") },
		"Whole":            func() { quantity.Whole(math.MinInt64) },
		"Dimension.String": func() { _ = quantity.Dimension(99).String() },
		"Unit.String":      func() { _ = strange.String() }, "Unit.Dimension": func() { strange.Dimension() }, "Unit.Factor": func() { strange.Factor() },
	}
	for name, do := range map[string]func(){
		"Add": func() { e.Add(none) }, "Sub": func() { e.Sub(none) }, "Neg": func() { e.Neg() }, "Abs": func() { e.Abs() },
		"Mul": func() { e.Mul(none) }, "Times": func() { e.Times(r) }, "Sign": func() { e.Sign() }, "IsZero": func() { e.IsZero() },
		"Cmp": func() { e.Cmp(none) }, "Equal": func() { e.Equal(none) }, "Less": func() { e.Less(none) }, "IsDecimal": func() { e.IsDecimal() },
		"Round": func() { e.Round(-1000) }, "Decimal": func() { e.Decimal() }, "Float": func() { e.Float() }, "In": func() { e.In(strange) },
		"Show": func() { _ = e.Show(strange, -9) }, "ShowUnit": func() { _ = e.ShowUnit(strange, -9) }, "String": func() { _ = e.String() },
		"MarshalText": func() { _, _ = e.MarshalText() },
	} {
		out["Exact."+name] = do
	}
	for name, do := range map[string]func(){
		"Add": func() { r.Add(least) }, "Sub": func() { r.Sub(least) }, "Mul": func() { least.Mul(least) }, "Neg": func() { r.Neg() },
		"Sign": func() { r.Sign() }, "IsZero": func() { r.IsZero() }, "Cmp": func() { r.Cmp(least) }, "Equal": func() { r.Equal(least) },
		"Float": func() { least.Mul(least).Mul(least).Float() }, "String": func() { _ = r.String() }, "Signed": func() { _ = r.Signed() },
	} {
		out["Ratio."+name] = do
	}
	for name, do := range map[string]func(){
		"Unit": func() { v.Unit() }, "Places": func() { v.Places() }, "In": func() { v.In(strange) }, "Exact": func() { v.In(strange).Exact() },
		"Resolution": func() { v.Resolution() }, "Digits": func() { v.Digits() }, "String": func() { _ = v.In(strange).String() },
		"MarshalText": func() { _, _ = v.MarshalText() }, "Neg": func() { v.Neg() },
	} {
		out["Value."+name] = do
	}
	return out
}
