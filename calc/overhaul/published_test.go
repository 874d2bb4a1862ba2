package overhaul_test

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/ring"
)

const gear = "../../testdata/published/gear"

// The manuals' two rules as sheets. A pack that moves the pinion OUT with marks
// whose plus is a longer distance, or IN with plus shorter, is worked as in TM
// 10-3930-660-34, task 9-5: new = old − old mark + new mark. The other two are
// worked as in TM 9-2320-280-34, table 9-1: new = old + old mark − new mark.
func oldNew(t testing.TB, place, plus string) func(old string, oldMark, newMark string) quantity.Exact {
	t.Helper()
	s := parse(t, strings.ReplaceAll(text(t, "oldnew-"+place+".yaml"), "plus: longer", "plus: "+plus))
	return func(old, oldMark, newMark string) quantity.Exact {
		t.Helper()
		res := work(t, s, fmt.Sprintf("readings for: oldnew\nentries:\n"+
			"  - {step: old pack, fit: {measured: %s in}}\n  - {step: old mark, digits: %s}\n  - {step: pinion distance, digits: %s}\n", old, oldMark, newMark))
		return worked(t, res, "pinion pack")
	}
}

// TM 10-3930-660-34, task 9-5, pp. 9-18 to 9-20: old pack 0.030 in with old
// mark −2 is a standard pack of 0.032 in; with new mark −5 it is 0.027 in.
func TestManualPackFromOldPackAddsTheNewMark(t *testing.T) {
	var published struct {
		A struct {
			Example struct {
				Old     string `json:"old_pack_in"`
				OldMark string `json:"old_mark"`
				Middle  string `json:"standard_pack_in"`
				NewMark string `json:"new_mark"`
				New     string `json:"new_pack_in"`
			} `json:"example"`
		} `json:"pinion_pack_old_to_new_convention_A"`
	}
	readJSON(t, &published)
	x := published.A.Example
	for _, sheet := range [][2]string{{"flange", "longer"}, {"behind", "shorter"}} {
		pack := oldNew(t, sheet[0], sheet[1])
		same(t, "new pack", pack(x.Old, x.OldMark, x.NewMark), inch(x.New))
		same(t, "standard pack", pack(x.Old, x.OldMark, "0"), inch(x.Middle))
	}
	if x.New != "0.027" {
		t.Errorf("the published pack is %s", x.New)
	}
}

// TM 9-2320-280-34, p. 19-12, table 9-1 (and TM 9-2320-387-24-2, p. 30-12,
// table 30-1): all 81 changes of the pack for marks from −4 to +4; −3 to +2
// takes 0.005 in off.
func TestManualPinionVarianceTable(t *testing.T) {
	f, err := os.Open(filepath.Join(gear, "pinion_variance_table_in.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, sheet := range [][2]string{{"flange", "shorter"}, {"behind", "longer"}} {
		pack := oldNew(t, sheet[0], sheet[1])
		cells := 0
		for _, row := range rows[1:] {
			for j, cell := range row[1:] {
				got := pack("0.0940", row[0], rows[0][j+1])
				same(t, fmt.Sprintf("%v: mark %s to %s", sheet, row[0], rows[0][j+1]), got.Sub(inch("0.0940")), inch(cell))
				cells++
			}
		}
		if cells != 81 {
			t.Errorf("%d cells, want 81", cells)
		}
		same(t, "-3 to +2", pack("0.0940", "-3", "+2").Sub(inch("0.0940")), inch("-0.005"))
	}
}

// TM 5-3895-359-14&P, p. 5-16: 5 lb on a 6 in cage is 15 lbf·in, in 5 to 15.
// TM 5-4210-233-14&P-1, p. 5-267: 7.5 lb on 6.62 in is printed 24.8 lbf·in (the
// manual's other figure of 7.75 lb does not give it), in 5 to 45.
func TestManualSpringScaleTorque(t *testing.T) {
	for _, c := range []struct{ cage, pull, band, torque string }{
		{"6.00", "5.0", "5 lbf.in .. 15 lbf.in", "15"},
		{"6.62", "7.5", "5 lbf.in .. 45 lbf.in", "24.825"},
	} {
		s := readSheet(t, "rd3.yaml",
			"window: 1.0 N .. 120.0 N", "window: 0.2 lbf .. 30.0 lbf",
			"cord runs on: 152.40 mm", "cord runs on: "+c.cage+" in", "cord: 2.00 mm", "cord: 0.00 in",
			"band: {by: pinion bearings, new: 2.00 N.m .. 3.50 N.m, used: 1.00 N.m .. 1.75 N.m}", "band: "+c.band)
		res := work(t, s, strings.ReplaceAll(torqueReadings, "66.0 N", c.pull+" lbf"))
		check := of(t, res, "pinion turning torque").Check
		same(t, "torque in lbf·in", check.Figure.Value.In(quantity.PoundForceInch), mm(c.torque))
		if check.Verdict != ring.Good {
			t.Errorf("%s lb on %s in: %s", c.pull, c.cage, check.Words)
		}
	}
}

// Which way one more goes is told beside each of the two places.
func TestOldNewPlacesSayWhichWay(t *testing.T) {
	for place, want := range map[string]string{"flange": "setting unchanged, pinion goes OUT", "behind": "setting unchanged, pinion goes IN"} {
		s := readSheet(t, "oldnew-"+place+".yaml")
		res := work(t, s, "readings for: oldnew\nentries: [{step: old pack, fit: {measured: 0.030 in}}]\n")
		if got := of(t, res, "pinion pack").Pack.OneMore; got != want {
			t.Errorf("%s: %q, want %q", place, got, want)
		}
		status(t, res, "pinion pack", overhaul.Waiting, "old mark")
	}
}

func readJSON(t testing.TB, into any) {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join(gear, "tm_worked_examples.json"))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(raw, into); err != nil {
		t.Fatal(err)
	}
}
