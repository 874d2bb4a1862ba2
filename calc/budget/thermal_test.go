package budget_test

import (
	"encoding/csv"
	"os"
	"testing"

	"shimwright/calc/correct"
	"shimwright/calc/quantity"
	"shimwright/calc/stat/checktest"
)

// thermalRows holds the table of materials against the published one, the
// light-alloy casing of 200 mm 8 K off against what the trade says, and a
// budget of temperature against GUM H.1.
func thermalRows(t *testing.T) []checktest.Row {
	f, err := os.Open(published("thermal", "cte.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	table, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	perMillion := func(name string) quantity.Exact { return material(t, name).PerK.Mul(ex("1000000")) }
	var rows []checktest.Row
	for _, r := range table[1:] {
		source := "Callister 3rd ed., table B.6"
		if r[0] == steel {
			source = "GUM H.1"
		}
		rows = append(rows, checktest.Compare("expansion of "+r[0]+", 10⁻⁶/K", source, checktest.Seen, r[1], perMillion(r[0]).Decimal(), checktest.All))
	}
	for _, c := range []struct{ alloy, want string }{{"aluminium 356.0 (cast)", "0.016"}, {"aluminium 6061, 1100", "0.019"}} {
		rows = append(rows, checktest.Compare("200 mm of "+c.alloy+" against gauge-block steel, 8 K off", "common practice, no source",
			checktest.Computed, c.want, offBy(t, c.alloy).Decimal(), checktest.All))
	}
	length, err := correct.PerKelvin(ex("50.000623"), material(t, steel))
	if err != nil {
		t.Fatal(err)
	}
	return append(rows, checktest.Compare("end gauge, mm per kelvin, l·α", "GUM H.1 inputs", checktest.Computed, "0.0005750071645", length.Decimal(), checktest.All))
}

const steel = "gauge-block steel (nominal, GUM H.1)"

func material(t *testing.T, name string) correct.Material {
	t.Helper()
	m, err := correct.MaterialNamed(name)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func offBy(t *testing.T, alloy string) quantity.Exact {
	t.Helper()
	part := correct.Body{Material: material(t, alloy), At: ex("28")}
	b, err := correct.At20(part, []correct.Length{{Name: "gauge", Value: ex("200"), Body: correct.Body{Material: material(t, steel), At: ex("28")}}})
	if err != nil {
		t.Fatal(err)
	}
	return b.Correction.Neg()
}
