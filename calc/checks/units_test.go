package checks

import (
	"strings"
	"testing"

	"shimwright/calc/quantity"
	"shimwright/calc/stat/checktest"
)

const unitsPart = "Units (package quantity)"

func TestUnits(t *testing.T) {
	hold(t, unitsPart, checktest.Section{Title: "Conversions", Rows: append(conversionRows(t), roundedRows()...)})
}

// conversionRows are the published factors between units that we know; the rest
// of the file is of units that no gauge here sends.
func conversionRows(t *testing.T) []checktest.Row {
	names := map[string]string{"inch": "in", "um": "µm"}
	var rows []checktest.Row
	for _, r := range readRows(t, top("published", "units", "conversions.csv")) {
		var pair [2]quantity.Unit
		known := true
		for i, name := range r[:2] {
			if ours, ok := names[name]; ok {
				name = ours
			}
			u, err := quantity.ParseUnit(name)
			pair[i], known = u, known && err == nil
		}
		if !known {
			continue
		}
		note, _, _ := strings.Cut(r[3], ";")
		status := checktest.Seen
		if note != "exact" {
			status = checktest.Computed // a product, quotient or reciprocal of seen ones
		}
		const enough = 45 // places: the file prints at most 40 digits
		rows = append(rows, checktest.Compare("1 "+r[0]+" in "+r[1], "GNU units data file, citing NIST SP 811; "+note, status,
			r[2], factor(t, pair[0], pair[1]).Round(enough), checktest.All))
	}
	if len(rows) != 10 {
		t.Errorf("%d conversions compared, want 10", len(rows))
	}
	return rows
}

// factor is how many of one unit another is.
func factor(t testing.TB, from, to quantity.Unit) quantity.Exact {
	t.Helper()
	one, err := quantity.Parse("1", from)
	if err != nil {
		t.Fatal(err)
	}
	return one.Exact().In(to)
}

// roundedRows are torque factors as SP 811 rounds them.
func roundedRows() []checktest.Row {
	const source = "NIST SP 811, appendix B"
	return []checktest.Row{
		checktest.Compare("1 lbf.in in N.m", source, checktest.Seen, "0.1129848", quantity.PoundForceInch.Factor(), checktest.All),
		checktest.Compare("1 lbf.ft in N.m", source, checktest.Seen, "1.355818", quantity.PoundForceFoot.Factor(), checktest.All),
	}
}
