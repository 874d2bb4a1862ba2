package overhaul_test

import (
	"strings"
	"testing"

	"shimwright/calc/budget"
	"shimwright/calc/correct"
	"shimwright/calc/overhaul"
	"shimwright/calc/sheet"
)

// warm is a job whose gauge has no table, so that sums are short: a seat of
// cast aluminium at 28 °C against steel standards at 21 °C.
const warm = `
readings for: fs2
pieces:
  S-31: {standard: tall post, size: 75.004 mm, uncertainty: 0.001 mm, k: 2}
  E-02: {standard: straightedge, size: 12.006 mm, uncertainty: 0.001 mm, k: 2}
gauges: {D07: {kind: depth gauge, limit of error: 0.02 mm}}
temperatures: {part: 28.0 °C ± 1.0 °C, standards: 21.0 °C ± 0.5 °C}
entries:
  - {step: seat depth, gauge: D07, pieces: [S-31, E-02], presses: [33.38 mm, 33.38 mm, 33.38 mm]}
  - {step: plug length, gauge: D07, presses: [50.00 mm, 50.00 mm, 50.00 mm]}
`

// By hand, with 0.0000115 for steel and 0.0000215 for cast aluminium (Callister
// and GUM H.1, as calc/correct has them):
//
//	standards  87.010 × 0.0000115 × 1 = +0.001000615
//	gauge     -33.380 × 0.0000115 × 1 = -0.00038387
//	part       53.630 × 0.0000215 × 8 =  0.00922436
//	to 20 °C   0.001000615 - 0.00038387 - 0.00922436 = -0.008607615
//
// The plug is steel 4140, 0.0000123: 50 × 0.0000115 - 50 × 0.0000123 × 8.
func TestLengthsAreBroughtToTwenty(t *testing.T) {
	res := work(t, readSheet(t, "fs2.yaml"), warm)
	same(t, "seat depth", found(t, res, "seat depth"), mm("53.630").Sub(mm("0.008607615")))
	same(t, "plug length", found(t, res, "plug length"), mm("50").Add(mm("0.000575")).Sub(mm("0.00492")))
	e := of(t, res, "seat depth").Expansion
	same(t, "the correction", e.Correction, mm("-0.008607615"))
	if !e.Corrected || e.Part.Word != "cast aluminium 356" || of(t, res, "plug length").Expansion.Part.Word != "steel 4140" {
		t.Errorf("the expansion is %+v", e)
	}
	// The same figure by calc/correct alone.
	m := func(name, at string) correct.Body {
		mat, err := correct.MaterialNamed(name)
		if err != nil {
			t.Fatal(err)
		}
		return correct.Body{Material: mat, At: mm(at)}
	}
	b, err := correct.At20(m("cast aluminium 356", "28"), []correct.Length{
		{Name: "S-31", Value: mm("75.004"), Body: m("gauge-block steel", "21")},
		{Name: "E-02", Value: mm("12.006"), Body: m("gauge-block steel", "21")},
		{Name: "D07", Value: mm("-33.38"), Body: m("gauge-block steel", "21")},
	})
	if err != nil {
		t.Fatal(err)
	}
	same(t, "by calc/correct", found(t, res, "seat depth"), b.Value)
}

// Told only, nothing in the figure changes, and the words say whether it
// matters: the gap of 0.10 .. 0.20 leaves the pack 0.100 in all, and the
// pack's own 0.025 leaves 0.050, of which 0.0086 is more than a tenth.
func TestExpansionIsOnlyTold(t *testing.T) {
	res := work(t, readSheet(t, "fs2.yaml", "temperature: corrected", "temperature: only told"), warm)
	same(t, "seat depth", found(t, res, "seat depth"), mm("53.630"))
	r := of(t, res, "seat depth")
	if r.Expansion.Matters || r.Expansion.Corrected {
		t.Errorf("expansion %+v", r.Expansion)
	}
	contains(t, r.Expansion.Words, "At 28 °C it measures 0.0086 mm longer than it is at 20 °C, less than a tenth of the 0.100 mm that the plug pack leaves it")

	// Nothing said of temperature at all is only told too.
	res = work(t, readSheet(t, "fs2.yaml", "temperature: corrected\n", "", "makes: plug gap", "makes: plug gap\n        within: 0.025 mm"), warm)
	r = of(t, res, "seat depth")
	same(t, "the room", r.Expansion.Room, mm("0.050"))
	if !r.Expansion.Matters {
		t.Error("0.0086 of 0.050 does not matter")
	}
	contains(t, r.Expansion.Words, "IT MATTERS, and this sheet only tells it")
	unknown := strings.Join(of(t, res, "plug pack").Budget.Unknown, "; ")
	contains(t, unknown, "what temperature does to the seat depth, 0.009 mm, which is not corrected")
	if strings.Contains(unknown, "plug length") {
		t.Errorf("the plug's 0.004 is under a tenth of 0.050, and %q", unknown)
	}
}

// A length found as check is held against the limit of its own loop.
func TestExpansionOfALengthFoundAsCheck(t *testing.T) {
	s := readSheet(t, "fs2.yaml",
		"found: [seat, rim]", "as check: [cover face, plug top]\n        closes within: 0.05 mm\n        plus: below the face",
		"axes:", "not measured:\n  rim depth as drawn: [seat, rim]\naxes:",
		"setup: {height against: ring}", "setup: direct", "window: -5.00 mm .. 5.00 mm", "window: 0.00 mm .. 5.00 mm")
	res := work(t, s, warm+"  - {step: rim depth, gauge: D07, presses: [0.15 mm]}\n")
	e := of(t, res, "rim depth").Expansion
	if e.Feeds != "the limit of its loop" {
		t.Errorf("it feeds %q", e.Feeds)
	}
	same(t, "its room", e.Room, mm("0.10"))
}

// A sheet that asks for the correction and entries that do not say how warm it
// is give no length: it waits.
func TestCorrectionWaitsForTheTemperatures(t *testing.T) {
	body := strings.Replace(warm, "temperatures: {part: 28.0 °C ± 1.0 °C, standards: 21.0 °C ± 0.5 °C}\n", "", 1)
	res := work(t, readSheet(t, "fs2.yaml"), body)
	status(t, res, "seat depth", overhaul.Waiting, "the temperatures of part and standards")
	if of(t, res, "seat depth").Figure != nil {
		t.Error("a length was worked without them")
	}
	// A sheet that only tells goes on.
	res = work(t, readSheet(t, "fs2.yaml", "temperature: corrected\n", ""), body)
	status(t, res, "seat depth", overhaul.Done)
	if of(t, res, "seat depth").Expansion != nil {
		t.Error("it tells of temperatures that nobody said")
	}
	// Temperatures that no sheet can use are told.
	res = work(t, readSheet(t, "fs2.yaml", "temperature: corrected\n", "", "materials: {part: cast aluminium 356, standards: gauge-block steel}\n", "", "        material: steel 4140\n", ""), warm)
	contains(t, strings.Join(res.Notes, "\n"), "the sheet does not say what parts and standards are made of")
}

// At 20 °C all of it is nought, and the sum is as it was.
func TestNothingGrowsAtTwenty(t *testing.T) {
	body := strings.Replace(warm, "{part: 28.0 °C ± 1.0 °C, standards: 21.0 °C ± 0.5 °C}", "{part: 68 °F, standards: 20 °C}", 1)
	res := work(t, readSheet(t, "fs2.yaml"), body)
	same(t, "seat depth", found(t, res, "seat depth"), mm("53.630"))
	contains(t, of(t, res, "seat depth").Expansion.Words, "Temperature changes nothing here")
}

// °F and °C of the same warmth give the same figures and budgets: 82.4 °F is
// 28 °C, 1.8 °F of doubt is 1 K.
func TestFahrenheit(t *testing.T) {
	s := readSheet(t, "fs2.yaml")
	c := work(t, s, warm)
	f := work(t, s, strings.Replace(warm, "{part: 28.0 °C ± 1.0 °C, standards: 21.0 °C ± 0.5 °C}", "{part: 82.4 °F +/- 1.8 °F, standards: 69.8 °F ± 0.9 °F}", 1))
	same(t, "seat depth", found(t, f, "seat depth"), found(t, c, "seat depth"))
	same(t, "its U", of(t, f, "seat depth").Budget.Expanded, of(t, c, "seat depth").Budget.Expanded)
}

// The budget of the seat, by hand:
//
//	part's temperature    1.0/√3 × 53.630 × 0.0000215 = 0.000665700
//	part's expansion      a tenth, 0.00000215/√3 × 53.630 × 8 = 0.000532560
//	standards' temperature 0.5/√3 × (87.010 - 33.380) × 0.0000115 = 0.000178042
//
// for standards and gauge lie at one temperature, and the gauge goes down.
func TestBudgetOfExpansion(t *testing.T) {
	b := of(t, work(t, readSheet(t, "fs2.yaml"), warm), "seat depth").Budget
	for _, want := range []struct {
		name string
		kind budget.Kind
		part float64
	}{
		{"the part", budget.Temperature, 53.630 * 0.0000215 / 1.7320508075688772},
		{"the part, cast aluminium 356", budget.Expansion, 0.00000215 * 53.630 * 8 / 1.7320508075688772},
		{"the standards", budget.Temperature, 0.5 * 53.630 * 0.0000115 / 1.7320508075688772},
	} {
		l, ok := lineOf(b, want.name)
		if !ok || l.Kind != want.kind {
			t.Errorf("%s: %+v", want.name, l)
			continue
		}
		near(t, want.name, l.Part, want.part)
	}
	// How near the temperature is known must be said, or is told as unknown.
	body := strings.Replace(warm, "28.0 °C ± 1.0 °C", "28.0 °C", 1)
	b = of(t, work(t, readSheet(t, "fs2.yaml"), body), "seat depth").Budget
	contains(t, strings.Join(b.Unknown, "; "), "how near the temperature of the part is known")
}

// The temperature of the parts is one thing: what it does to seat and plug has
// opposite signs in the pack and nearly cancels, where the sum of squares would
// not. 1.0/√3 × (53.630 × 0.0000215 - 50 × 0.0000123).
func TestOneTemperatureIsCommonToAllLengths(t *testing.T) {
	b := of(t, work(t, readSheet(t, "fs2.yaml"), warm), "plug pack").Budget
	l, ok := lineOf(b, "the part")
	if !ok {
		t.Fatal("no line of the part's temperature")
	}
	near(t, "its part", l.Part, (53.630*0.0000215-50*0.0000123)/1.7320508075688772)
}

// A sheet's own coefficient with its own doubt.
func TestMaterialOfASheetsOwn(t *testing.T) {
	s := readSheet(t, "fs2.yaml", "part: cast aluminium 356", "part: {name: special iron, per K: 0.0000100, within: 0.0000005}")
	if m := s.Materials.Part; !m.Doubt().Equal(mm("0.0000005")) || m.String() != "special iron" {
		t.Errorf("material %+v", m)
	}
	res := work(t, s, warm)
	same(t, "seat depth", found(t, res, "seat depth"), mm("53.630").Add(mm("0.000616745")).Sub(mm("0.0042904")))
}

// The gauge may be warmer than the standards.
func TestGaugeOfItsOwnTemperature(t *testing.T) {
	body := strings.Replace(warm, "standards: 21.0 °C ± 0.5 °C}", "standards: 21.0 °C ± 0.5 °C, gauge: 30 °C}", 1)
	res := work(t, readSheet(t, "fs2.yaml"), body)
	// -33.380 × 0.0000115 × 10 in place of × 1.
	same(t, "seat depth", found(t, res, "seat depth"), mm("53.630").Sub(mm("0.008607615")).Sub(mm("33.380").Mul(mm("0.0000115")).Mul(mm("9"))))
}

// The example of a sheet that corrects is worked like a job, and is not called
// blind to a growth of nought.
func TestExampleOfACorrectingSheet(t *testing.T) {
	example := `example:
  pieces: {S-31: {standard: tall post, size: 75.004 mm}, E-02: {standard: straightedge, size: 12.006 mm}, R-30: {standard: ring, size: 30.002 mm}}
  gauges: {D07: {kind: depth gauge, corrections: {points: [{at: 0 mm, add: 0 mm}, {at: 60 mm, add: 0 mm}]}}}
  temperatures: {part: 20 °C, standards: 20 °C}
  entries:
    - {step: seat depth, gauge: D07, pieces: [S-31, E-02], presses: [33.38 mm, 33.38 mm, 33.38 mm]}
    - {step: plug length, gauge: D07, presses: [50.00 mm, 50.00 mm, 50.00 mm]}
  gives: {plug pack: 3.480 mm}
`
	s, err := sheet.Read("fs2.yaml", []byte(text(t, "fs2.yaml")+example))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := overhaul.CheckExample(s); err != nil {
		t.Error(err)
	}
}
