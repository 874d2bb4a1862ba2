package checks

import (
	"strconv"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/calc/stat/checktest"
)

const gearsPart = "Gears and backlash (package ring)"

func TestGears(t *testing.T) {
	hold(t, gearsPart,
		checktest.Section{Title: "Pitch cones and what a move adds to backlash", Rows: factorRows(t)},
		checktest.Section{Title: "The curve through a ring", Rows: ringRows(t)},
		checktest.Section{Title: "Recommended backlash", Rows: backlashRows(t)})
}

// factorRows: no published worked example was found, so the formulas were worked
// by another program for ten pairs.
func factorRows(t *testing.T) []checktest.Row {
	const source = "another program, formulas of gear handbooks"
	var cones, moves []checktest.Row
	for _, r := range readRows(t, "../ring/testdata/backlash_axial_factors_computed.csv") {
		pinion, err1 := strconv.Atoi(r[0])
		wheel, err2 := strconv.Atoi(r[1])
		if err1 != nil || err2 != nil {
			t.Fatalf("teeth %q and %q", r[0], r[1])
		}
		k, err := ring.Gears{Pinion: pinion, Wheel: wheel, Shafts: ex(r[2]), Pressure: ex(r[3]), Spiral: ex(r[4])}.Factors()
		if err != nil {
			t.Fatal(err)
		}
		cone, across, normal := k.PinionCone, k.PinionTransverse, k.PinionNormal
		if r[5] == "wheel" {
			cone, across, normal = k.WheelCone, k.WheelTransverse, k.WheelNormal
		}
		name := r[5] + " of " + r[0] + "/" + r[1]
		cones = append(cones, checktest.Compare(name, source, checktest.Computed, r[6], cone.Decimal(), checktest.All))
		moves = append(moves,
			checktest.Compare(name+" in the plane of turning", source, checktest.Computed, r[7], across.Round(12), checktest.All),
			checktest.Compare(name+" square to the flank", source, checktest.Computed, r[8], normal.Round(12), checktest.All))
	}
	k, err := ring.Gears{Pinion: 11, Wheel: 41, Shafts: ex("90"), Pressure: ex("20"), Spiral: ex("35")}.Factors()
	if err != nil {
		t.Fatal(err)
	}
	even, err := ring.Gears{Pinion: 20, Wheel: 40, Shafts: ex("90"), Pressure: ex("20"), Spiral: ex("0")}.Factors()
	if err != nil {
		t.Fatal(err)
	}
	return []checktest.Row{
		checktest.Least("pitch cone angles of ten pairs", cones),
		checktest.Compare("pinion cone of 20/40, shafts at 90 deg", "gear handbooks; atan(20/40)", checktest.Recalled, "26.56505", even.PinionCone.Decimal(), checktest.All),
		checktest.Compare("wheel cone of the same", "gear handbooks; 90 deg less that", checktest.Recalled, "63.43495", even.WheelCone.Decimal(), checktest.All),
		checktest.Least("move factors of ten pairs", moves),
		checktest.Compare("0.003 in moved over takes 0.002 in of backlash: factor of an 11/41 wheel, square to the flank (the rule rounds)",
			"vehicle service literature", checktest.Seen, "0.667", k.WheelNormal.Round(12), 2),
	}
}

// backlashRows: the table is for the author of a sheet to look into, not for the
// program, whose limits come from the drive's manual. It shows that the trade's
// band is no odd one.
func backlashRows(t *testing.T) []checktest.Row {
	const source = "AGMA table, as reproduced (three rows mended)"
	inches := readRows(t, top("published", "gear", "recommended_backlash_bevel_dp.csv"))
	metric := readRows(t, top("compared", "units", "backlash_mm.csv"))
	if len(inches) != 17 || len(metric) != len(inches) {
		t.Fatalf("%d and %d rows of the table", len(inches), len(metric))
	}
	var all []checktest.Row
	at := ""
	for i, r := range inches {
		for j, cell := range r[2:] {
			mm := ex("0" + cell).Mul(quantity.FromDecimal(quantity.Inch.Factor()))
			all = append(all, checktest.Compare("0"+cell+" in, pitch "+r[0]+" to "+r[1], "GNU units 2.22", checktest.Computed, metric[i][2+j], mm.Decimal(), checktest.All))
		}
		if r[2] == ".010" && r[3] == ".013" {
			at += strings.TrimRight(r[0], "0") + " to " + strings.TrimSuffix(r[1], ".00")
		}
	}
	finerNeedsNoMore(t, inches)
	band := ring.Band{Low: value(t, "0.010 in").Exact(), High: value(t, "0.013 in").Exact()}
	verdict := func(mm string) string { return band.Judge(ex(mm), quantity.Exact{}, ring.Simple).String() }
	module := func(pitch string) decimal.Decimal { return quantity.Inch.Factor().Div(dec(pitch)) }
	return []checktest.Row{
		checktest.Least("the table in mm", all),
		checktest.Words("diametral pitch that the trade's band of 0.010 to 0.013 in stands at, finer quality (read off the table; nothing of ours is in it)", source, checktest.Seen, "2.5 to 3", at),
		checktest.Compare("that is module, from", "25.4 over the pitch", checktest.Computed, "8.47", module("3"), checktest.All),
		checktest.Compare("that is module, to", "25.4 over the pitch", checktest.Computed, "10.16", module("2.5"), checktest.All),
		checktest.Words("0.254 mm against that band: on its lower limit", "an inch is 25.4 mm; limits belong to their band", checktest.Computed, ring.Good.String(), verdict("0.254")),
		checktest.Words("0.3302 mm against that band: on its upper limit", "an inch is 25.4 mm; limits belong to their band", checktest.Computed, ring.Good.String(), verdict("0.3302")),
		checktest.Words("0.3303 mm against that band", "an inch is 25.4 mm; limits belong to their band", checktest.Computed, ring.OutHigh.String(), verdict("0.3303")),
	}
}

// finerNeedsNoMore holds the mended table to what it says all through: a finer
// pitch takes no more backlash than a coarser one, finer quality no more than
// coarser quality.
func finerNeedsNoMore(t *testing.T, rows [][]string) {
	t.Helper()
	for i, r := range rows {
		for j := 2; j < 6; j++ {
			if i > 0 && dec("0"+r[j]).GreaterThan(dec("0"+rows[i-1][j])) {
				t.Errorf("pitch %s: %s is more than at pitch %s", r[0], r[j], rows[i-1][0])
			}
			if j < 4 && dec("0"+r[j]).GreaterThan(dec("0"+r[j+2])) {
				t.Errorf("pitch %s: finer quality %s, coarser %s", r[0], r[j], r[j+2])
			}
		}
		if i > 0 && r[0] != rows[i-1][1] && !dec(r[0]).Equal(dec(rows[i-1][1])) {
			t.Errorf("pitch %s follows on %s", r[0], rows[i-1][1])
		}
	}
}
