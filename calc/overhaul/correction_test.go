package overhaul_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"shimwright/calc/budget"
	"shimwright/calc/correct"
	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
)

const toldOnly = "temperature: corrected"

// fs2 works the job of measured things with some of its text changed. Its
// temperatures are only told, so that sums hold the gauge's table alone.
func fs2(t testing.TB, swaps ...string) *overhaul.Results {
	t.Helper()
	return work(t, readSheet(t, "fs2.yaml", toldOnly, "temperature: only told"), text(t, "fs2-job.yaml", swaps...))
}

// thirds is a figure over three.
func thirds(s string) quantity.Exact {
	share, err := quantity.RatioOf(1, 3)
	if err != nil {
		panic(err)
	}
	return mm(s).Times(share)
}

// The table adds 0.010 at 25.00 and -0.005 at 50.00, so by the straight line
//
//	at 33.38: 0.010 - 0.015 × 8.38/25 = 0.004972
//	at 33.37: 0.010 - 0.015 × 8.37/25 = 0.004978
//	at 50.00: -0.005, the point itself
//	at 49.99: -0.004994, at 49.97: -0.004982
//
// seat = 75.004 + 12.006 - (33.38 + 33.37 + 33.38 + 0.014922)/3
// plug = (50.00 + 49.99 + 49.97 - 0.014976)/3.
func TestEachPressIsCorrectedBeforeTheMean(t *testing.T) {
	res := fs2(t)
	same(t, "seat depth", found(t, res, "seat depth"), mm("87.010").Sub(thirds("100.144922")))
	same(t, "plug length", found(t, res, "plug length"), thirds("149.945024"))
	want := map[string]string{"33.38 mm": "0.004972", "33.37 mm": "0.004978"}
	for _, p := range of(t, res, "seat depth").Presses {
		if p.Correction == nil {
			t.Fatalf("%s was not corrected", p.Entry.Value)
		}
		same(t, "correction at "+p.Entry.Value.String(), p.Correction.Value, mm(want[p.Entry.Value.String()]))
		contains(t, p.Correction.Leaf.Source, "table of D07 (0.010 mm at 25.00 mm, -0.005 mm at 50.00 mm)")
	}
	one := of(t, res, "plug length").Presses[0].Correction
	same(t, "correction at a point of the table", one.Value, mm("-0.005"))
}

// A reading outside the table holds its step, whatever the kind of step, and
// nothing is worked from it.
func TestReadingOutsideTheTableIsHeld(t *testing.T) {
	res := fs2(t, "{at: 25.00 mm, add: 0.010 mm}\n        - {at: 50.00 mm, add: -0.005 mm}", "{at: 30.00 mm, add: 0.010 mm}")
	status(t, res, "seat depth", overhaul.Held, "D07 read 33.38 mm, its correction table covers 0.00 mm to 30.00 mm",
		"Take the step again with a gauge whose table reaches there, or have this one's made longer.")
	if r := of(t, res, "seat depth"); r.Figure != nil {
		t.Errorf("a length of %s was worked from it", r.Figure.Value)
	}
	status(t, res, "plug pack", overhaul.Held, "its correction table covers")

	short := "{kind: micrometer, limit of error: 0.002 mm, corrections: {points: [{at: 0.0 mm, add: 0 mm}, {at: 3.5 mm, add: 0 mm}]}}"
	res = fs2(t, "{kind: micrometer, limit of error: 0.002 mm}", short)
	status(t, res, "plug pack", overhaul.Held, "M02 read 3.51 mm, its correction table covers 0.0 mm to 3.5 mm")
	res = fs2(t, "{kind: micrometer, limit of error: 0.002 mm}", short, ", fit: as pressed", "")
	status(t, res, "plug pack", overhaul.Held, "M02 read 3.51 mm, its correction table covers 0.0 mm to 3.5 mm")

	const torque = `
readings for: rd3
gauges: {F01: {kind: force gauge, corrections: {points: [{at: 0 N, add: 0 N}, {at: 50 N, add: 1 N}]}}}
entries:
  - {step: pinion bearings, answer: new}
  - {step: pinion spacer, fit: {measured: 9.46 mm}}
  - {step: pinion turning torque, gauge: F01, presses: [40 N, 40 N, 40 N, 40 N]}
`
	s := readSheet(t, "rd3.yaml")
	// (40 + 0.8) × (0.1524 + 0.002)/2 = 3.14976 N·m.
	res = work(t, s, torque)
	same(t, "the torque", of(t, res, "pinion turning torque").Check.Figure.Value, mm("3.14976"))
	res = work(t, s, strings.Replace(torque, "40 N, 40 N]", "51 N, 40 N]", 1))
	status(t, res, "pinion turning torque", overhaul.Held, "F01 read 51 N, its correction table covers 0 N to 50 N")
	if of(t, res, "pinion turning torque").Check.Figure != nil {
		t.Error("a torque was worked from it")
	}
}

// A table of lengths says nothing of a pull.
func TestTableOfAnotherKindIsHeld(t *testing.T) {
	res := work(t, readSheet(t, "rd3.yaml"), `
readings for: rd3
gauges: {F01: {kind: force gauge, corrections: {points: [{at: 0 mm, add: 0 mm}, {at: 50 mm, add: 1 mm}]}}}
entries:
  - {step: pinion turning torque, gauge: F01, presses: [40 N, 40 N, 40 N, 40 N]}
`)
	status(t, res, "pinion turning torque", overhaul.Held, "F01 read 40 N, a force, and its correction table is of another kind")
}

// A table in inches corrects a gauge read in millimetres.
func TestTableInAnotherUnit(t *testing.T) {
	res := fs2(t, "{at: 25.00 mm, add: 0.010 mm}\n        - {at: 50.00 mm, add: -0.005 mm}", "{at: 2 in, add: 1 thou}")
	// 0.0254 × 33.38/50.8 = 0.01669, and 0.016685 at 33.37.
	same(t, "seat depth", found(t, res, "seat depth"), mm("87.010").Sub(thirds("100.180065")))
}

// A gauge that counts in shows less where the tip is farther out: the table
// speaks of what it shows, so it adds first and is turned after.
func TestTableOfAGaugeThatCountsIn(t *testing.T) {
	out := fs2(t)
	in := fs2(t, "kind: depth gauge\n    limit", "kind: depth gauge\n    counts: in\n    limit")
	both := found(t, out, "seat depth").Add(of(t, in, "seat depth").Figure.Value)
	same(t, "out and in together", both, mm("174.020"))
}

// A gauge zeroed on a piece does not show readings from its own nought.
func TestTableIsNotUsedOfAGaugeZeroedOnAPiece(t *testing.T) {
	r := of(t, fs2(t), "rim depth")
	same(t, "rim depth", r.Figure.Value, mm("31.252"))
	if len(r.Notes) != 1 || !strings.Contains(r.Notes[0], "D07 was zeroed on a piece: its correction table") {
		t.Errorf("notes %q", r.Notes)
	}
	if _, ok := lineOf(r.Budget, "D07's correction table"); ok {
		t.Error("the table's uncertainty counts, and it was not used")
	}
	if _, ok := lineOf(r.Budget, "D07 over a small range"); !ok {
		t.Error("the gauge's own error does not count")
	}
}

func lineOf(b *overhaul.Budget, name string) (budget.Line, bool) {
	if b != nil {
		for _, l := range b.Lines {
			if l.Name == name {
				return l, true
			}
		}
	}
	return budget.Line{}, false
}

// The table's uncertainty is common to all that it corrects: the seat counts
// its reading once down, the plug once up and the pack takes the plug off, so
// in the pack it counts twice, 2 × 0.004/2 = 0.004. It stands in the place of
// the limit of error; a table without one leaves that.
func TestTablesUncertaintyIsCommon(t *testing.T) {
	b := of(t, fs2(t), "plug pack").Budget
	l, ok := lineOf(b, "D07's correction table")
	if !ok {
		t.Fatalf("no line of the table in %+v", b)
	}
	same(t, "its part", l.Part, mm("0.004"))
	if l.Coef.String() != "-2" {
		t.Errorf("it counts %s", l.Coef)
	}
	if _, ok := lineOf(b, "D07"); ok {
		t.Error("the limit of error counts too")
	}
	b = of(t, fs2(t, "\n      uncertainty: 0.004 mm\n      k: 2", ""), "plug pack").Budget
	if _, ok := lineOf(b, "D07's correction table"); ok {
		t.Error("a table without an uncertainty has a line")
	}
	if l, ok := lineOf(b, "D07"); !ok || l.Coef.String() != "-2" || l.Kind != budget.LimitOfError {
		t.Errorf("the limit of error is %+v", l)
	}
}

// Repeats scatter by the lengths found. 33.38 on S-31 and 33.36 on S-30, which
// is 0.020 shorter, are one length: they do not scatter at all. Raw they would
// by 0.0115.
func TestRepeatsOnOtherPiecesScatterByTheLengths(t *testing.T) {
	const two = `
readings for: rd3
pieces:
  S-31: {standard: tall post, size: 75.004 mm, uncertainty: 0.001 mm, k: 2}
  S-30: {standard: tall post, size: 74.984 mm, uncertainty: 0.001 mm, k: 2}
  E-02: {standard: straightedge, size: 12.006 mm, uncertainty: 0.001 mm, k: 2}
gauges: {D07: {kind: depth gauge, limit of error: 0.02 mm}}
entries:
  - {step: pinion face height, gauge: D07, pieces: [S-31, E-02], presses: [33.38 mm, 33.38 mm]}
  - {step: pinion face height, gauge: D07, pieces: [S-30, E-02], presses: [33.36 mm]}
`
	s := readSheet(t, "rd3.yaml")
	r := of(t, work(t, s, two), "pinion face height")
	same(t, "the length", r.Figure.Value, mm("53.630"))
	for _, l := range r.Budget.Lines {
		if l.Kind == budget.Repeats {
			t.Errorf("they scatter by %s", l.Size)
		}
	}
	// 0.010 shorter in truth: lengths 53.63 53.63 53.64, s = 0.01/√3.
	r = of(t, work(t, s, strings.Replace(two, "33.36", "33.35", 1)), "pinion face height")
	near(t, "s of the lengths", repeatsOf(t, r.Budget).Size, 0.01/1.7320508)
}

// Repeats on two gauges scatter by what they show once corrected.
func TestRepeatsScatterCorrected(t *testing.T) {
	// At 33.38 the table adds 0.004972: with 33.370 it reads 33.384972 and
	// 33.374978, scatter as of the lengths.
	r := of(t, fs2(t, "33.38 mm, 33.37 mm, 33.38 mm", "33.38 mm, 33.36 mm, 33.34 mm"), "seat depth")
	// 33.384972, 33.364984, 33.344996: s = 0.019988.
	near(t, "s of the corrected presses", repeatsOf(t, r.Budget).Size, 0.019988)
}

func repeatsOf(t testing.TB, b *overhaul.Budget) budget.Line {
	t.Helper()
	if b != nil {
		for _, l := range b.Lines {
			if l.Kind == budget.Repeats {
				return l
			}
		}
	}
	t.Fatalf("no repeats in %+v", b)
	return budget.Line{}
}

// near wants two figures to agree to seven digits.
func near(t testing.TB, what string, got quantity.Exact, want float64) {
	t.Helper()
	if d := got.Float() - want; d > 1e-7*want || -d > 1e-7*want {
		t.Errorf("%s is %s, want %.9g", what, got, want)
	}
}

// A float pressed outside the dial's table is held, and nothing rests on it.
func TestFloatOutsideTheTableIsNotBelieved(t *testing.T) {
	const dial = `gauges: {I03: {kind: dial indicator, corrections: {points: [{at: 0.00 mm, add: 0 mm}, {at: 1.05 mm, add: 0.01 mm}]}}}
entries:`
	s := readSheet(t, "rd3.yaml")
	body := strings.NewReplacer("entries:", dial, "step: float with the trial pack\n", "step: float with the trial pack\n    gauge: I03\n").Replace(wheelReadings + trialReadings)
	res := work(t, s, body)
	status(t, res, "float with the trial pack", overhaul.Held, "I03 read 1.11 mm, its correction table covers 0.00 mm to 1.05 mm")
	status(t, res, "closing pack", overhaul.Held, "is not believed: see its step")
}

// Random tables and presses: the length is that of the presses put right one by
// one by calc/correct, exactly; its leaves sum to it; dropping the table gives
// the mean as it was; and a gauge that is off by the same everywhere is put
// right by that.
func TestAnyTableCorrectsPressByPress(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 11))
	s := readSheet(t, "fs2.yaml", toldOnly, "temperature: only told", "        agree: 0.05 mm\n      - measure: plug length", "        agree: 40 mm\n      - measure: plug length")
	for range 60 {
		at, rows := 19.0, ""
		var points []correct.Point
		for range 2 + rng.IntN(5) {
			x, add := fmt.Sprintf("%.2f", at), fmt.Sprintf("%.3f", rng.Float64()/10-0.05)
			rows += fmt.Sprintf("{at: %s mm, add: %s mm}, ", x, add)
			points = append(points, correct.Point{At: mm(x), Add: mm(add)})
			at += 1 + 5*rng.Float64()
		}
		top := fmt.Sprintf("%.2f", 41+rng.Float64())
		rows += fmt.Sprintf("{at: %s mm, add: 0.001 mm}", max(top, fmt.Sprintf("%.2f", at)))
		points = append(points, correct.Point{At: mm(max(top, fmt.Sprintf("%.2f", at))), Add: mm("0.001")})
		table, err := correct.NewTable(points)
		if err != nil {
			t.Fatal(err)
		}
		var presses []string
		var sum quantity.Exact
		for range 3 {
			p := fmt.Sprintf("%.2f", 20+20*rng.Float64())
			presses = append(presses, p+" mm")
			right, err := table.Correct(mm(p))
			if err != nil {
				t.Fatal(err)
			}
			sum = sum.Add(right)
		}
		share, _ := quantity.RatioOf(1, 3)
		body := fmt.Sprintf(`
readings for: fs2
pieces: {S-31: {standard: tall post, size: 75.004 mm}, E-02: {standard: straightedge, size: 12.006 mm}}
gauges: {D07: {kind: depth gauge, corrections: {points: [%s]}}}
entries: [{step: seat depth, gauge: D07, pieces: [S-31, E-02], presses: [%s]}]
`, rows, strings.Join(presses, ", "))
		f := of(t, work(t, s, body), "seat depth").Figure
		if f == nil {
			t.Fatalf("no figure from%s", body)
		}
		same(t, "the length of"+body, f.Value, mm("87.010").Sub(sum.Times(share)))
		var leaves quantity.Exact
		for _, l := range f.Leaves() {
			leaves = leaves.Add(l.Figure.Value.Times(l.Coef))
		}
		same(t, "its leaves", leaves, f.Value)
	}
}
