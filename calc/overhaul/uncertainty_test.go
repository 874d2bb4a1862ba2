package overhaul_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"shimwright/calc/budget"
	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
)

// sureReadings are rd3's pinion and wheel with what certificates and gauges say
// of themselves.
const sureReadings = `
readings for: rd3
pieces:
  S-31: {standard: tall post, size: 75.004 mm, uncertainty: 0.002 mm, k: 2}
  S-41: {standard: long post, size: 150.006 mm, uncertainty: 0.003 mm, k: 2}
  S-51: {standard: overall post, size: 200.011 mm, uncertainty: 0.004 mm, k: 2}
  E-02: {standard: straightedge, size: 12.006 mm, uncertainty: 0.002 mm, k: 2}
gauges:
  D07: {kind: depth gauge, limit of error: 0.02 mm}
  M01: {kind: micrometer, limit of error: 0.004 mm}
  I03: {kind: dial indicator, limit of error: 0.03 mm}
  F01: {kind: force gauge, limit of error: 0.5 N}
entries:
  - {step: pinion distance, digits: +8}
  - {step: casing distance, digits: -3}
  - {step: pinion head, gauge: M01, presses: [42.37 mm, 42.37 mm]}
  - {step: pinion face height, gauge: D07, pieces: [S-31, E-02], presses: [33.38 mm, 33.37 mm, 33.39 mm]}
  - {step: joint to pinion axis, digits: +2}
  - {step: wheel distance, digits: -5}
  - {step: casing depth, gauge: D07, pieces: [S-41, E-02], presses: [31.48 mm, 31.48 mm, 31.48 mm]}
  - {step: wheel height, gauge: D07, pieces: [S-31, E-02], presses: [25.93 mm, 25.93 mm, 25.93 mm]}
  - {step: wheel pack, fit: {measured: 1.430 mm}}
  - {step: trial closing pack, fit: {measured: 1.65 mm}}
  - step: float with the trial pack
    gauge: I03
    at: {pull: [1.00 mm, 1.00 mm, 1.00 mm], push: [1.11 mm, 1.10 mm, 1.12 mm]}
`

// part is one part of a budget worked by hand: standard uncertainty in mm.
type part struct {
	name string
	kind budget.Kind
	u    float64
}

// holdBudget holds a budget to parts worked by hand and to their root sum of
// squares.
func holdBudget(t *testing.T, what string, b *overhaul.Budget, parts ...part) {
	t.Helper()
	if b == nil {
		t.Fatalf("%s has no budget", what)
	}
	var sum float64
	for _, p := range parts {
		sum += p.u * p.u
		i := slices.IndexFunc(b.Lines, func(l budget.Line) bool { return l.Name == p.name && l.Kind == p.kind })
		if i < 0 {
			t.Errorf("%s: no line for the %s of %s", what, p.kind, p.name)
			continue
		}
		near(t, what+": the "+p.kind.String()+" of "+p.name, b.Lines[i].Part, p.u)
	}
	for _, l := range b.Lines {
		if !l.Part.IsZero() && !slices.ContainsFunc(parts, func(p part) bool { return p.name == l.Name && p.kind == l.Kind }) {
			t.Errorf("%s: %s of the %s of %s was not worked by hand", what, l.Part, l.Kind, l.Name)
		}
	}
	near(t, what+": U", b.Expanded, 2*math.Sqrt(sum))
}

var (
	root3  = math.Sqrt(3)
	root12 = math.Sqrt(12)
)

// H = S-31 + E-02 - mean of 33.38 33.37 33.39, s = 0.01.
func TestBudgetOfAHeight(t *testing.T) {
	b := of(t, work(t, readSheet(t, "rd3.yaml"), sureReadings), "pinion face height").Budget
	holdBudget(t, "height", b,
		part{"D07", budget.LimitOfError, 0.02 / root3},
		part{"pinion face height", budget.Resolution, 0.01 / root12},
		part{"pinion face height", budget.Repeats, 0.01 / root3},
		part{"S-31", budget.CertifiedPiece, 0.001},
		part{"E-02", budget.CertifiedPiece, 0.001},
	)
}

// Pack = 150.08 - head + H - casing: two marks, a micrometer, the height.
func TestBudgetOfAPack(t *testing.T) {
	b := of(t, work(t, readSheet(t, "rd3.yaml"), sureReadings), "pinion pack").Budget
	holdBudget(t, "pinion pack", b,
		part{"D07", budget.LimitOfError, 0.02 / root3},
		part{"M01", budget.LimitOfError, 0.004 / root3},
		part{"pinion face height", budget.Resolution, 0.01 / root12},
		part{"pinion head", budget.Resolution, 0.01 / root12},
		part{"pinion face height", budget.Repeats, 0.01 / root3},
		part{"S-31", budget.CertifiedPiece, 0.001},
		part{"E-02", budget.CertifiedPiece, 0.001},
		part{"pinion distance", budget.MarkRounding, 0.01 / root12},
		part{"casing distance", budget.MarkRounding, 0.01 / root12},
	)
}

// Pack = (S-41 + 31.48 - E-02) - 62.02 - 44.95 - (S-31 + E-02 - 25.93): the
// straightedge is taken off twice and counts 2; the gauge reads twice upward,
// and its error, common to both, counts 2 and not √2.
func TestWhatIsMetTwiceCountsTwice(t *testing.T) {
	b := of(t, work(t, readSheet(t, "rd3.yaml"), sureReadings), "wheel pack").Budget
	holdBudget(t, "wheel pack", b,
		part{"D07", budget.LimitOfError, 2 * 0.02 / root3},
		part{"E-02", budget.CertifiedPiece, 2 * 0.001},
		part{"S-41", budget.CertifiedPiece, 0.0015},
		part{"S-31", budget.CertifiedPiece, 0.001},
		part{"casing depth", budget.Resolution, 0.01 / root12},
		part{"wheel height", budget.Resolution, 0.01 / root12},
		part{"joint to pinion axis", budget.MarkRounding, 0.01 / root12},
		part{"wheel distance", budget.MarkRounding, 0.01 / root12},
	)
}

// Two gauges are two things: read on another, the errors add in squares.
func TestTwoGaugesAreTwoThings(t *testing.T) {
	body := swap(t, sureReadings, "D07: {", "D09: {kind: depth gauge, limit of error: 0.02 mm}\n  D07: {",
		"{step: wheel height, gauge: D07", "{step: wheel height, gauge: D09")
	b := of(t, work(t, readSheet(t, "rd3.yaml"), body), "wheel pack").Budget
	for _, g := range []string{"D07", "D09"} {
		l, ok := lineOf(b, g)
		if !ok {
			t.Fatalf("no line of %s", g)
		}
		near(t, g, l.Part, 0.02/root3)
	}
}

// Float = push - pull on one dial: its zero and the error of its scale are
// common and drop out. s of 1.11 1.10 1.12 is 0.01; the pulls do not scatter.
func TestCommonErrorOfADifferenceCancels(t *testing.T) {
	r := of(t, work(t, readSheet(t, "rd3.yaml"), sureReadings), "float with the trial pack")
	holdBudget(t, "float", r.Budget,
		part{"float with the trial pack push", budget.Resolution, 0.01 / root12},
		part{"float with the trial pack pull", budget.Resolution, 0.01 / root12},
		part{"float with the trial pack push", budget.Repeats, 0.01 / root3},
	)
}

// Torque = mean of 4 pulls × 0.0772 m: every part in N times the arm.
func TestBudgetOfATorque(t *testing.T) {
	body := sureReadings + `
  - {step: pinion bearings, answer: new}
  - {step: pinion spacer, fit: {measured: 9.46 mm}}
  - {step: pinion turning torque, gauge: F01, presses: [38.0 N, 38.0 N, 38.5 N, 37.5 N]}
`
	b := of(t, work(t, readSheet(t, "rd3.yaml"), body), "pinion turning torque").Budget
	s := math.Sqrt(0.5 / 3) // 0, 0, 0.5, -0.5 from the mean, 3 degrees of freedom
	holdBudget(t, "torque", b,
		part{"F01", budget.LimitOfError, 0.0772 * 0.5 / root3},
		part{"pinion turning torque", budget.Resolution, 0.0772 * 0.1 / root12},
		part{"pinion turning torque", budget.Repeats, 0.0772 * s / 2},
	)
}

// What nothing is known of is said and not guessed.
func TestWhatIsNotKnownIsSaid(t *testing.T) {
	body := swap(t, sureReadings, "size: 75.004 mm, uncertainty: 0.002 mm, k: 2}", "size: 75.004 mm}",
		"{kind: micrometer, limit of error: 0.004 mm}", "{kind: micrometer}")
	b := of(t, work(t, readSheet(t, "rd3.yaml"), body), "pinion pack").Budget
	want := []string{"the limit of error of M01", "the certificate of piece S-31"}
	slices.Sort(want)
	got := slices.Clone(b.Unknown)
	slices.Sort(got)
	if !slices.Equal(got, want) {
		t.Errorf("unknown %q, want %q", got, want)
	}
	// A job of which nothing is known has no budgets at all.
	if b := of(t, work(t, readSheet(t, "rd3.yaml"), pinionReadings), "pinion pack").Budget; b != nil {
		t.Errorf("a budget of %s from nothing", b.Expanded)
	}
}

// The sheet's unit is for showing: in inches or millimetres the figures, the
// budgets and the culprits are the same.
func TestSheetsUnitChangesNothing(t *testing.T) {
	metric := work(t, readSheet(t, "rd3.yaml"), sureReadings)
	imperial := work(t, readSheet(t, "rd3.yaml", "units: mm", "units: in"), sureReadings)
	alikeBudgets(t, metric, imperial)

	measured := text(t, "fs2-job.yaml")
	alikeBudgets(t, work(t, readSheet(t, "fs2.yaml"), measured), work(t, readSheet(t, "fs2.yaml", "units: mm", "units: in"), measured))

	slip := swap(t, loopReadings, "23.999 mm", "29.399 mm")
	mmLoop := of(t, work(t, parse(t, loopSheet), slip), "whole").Closure
	inLoop := of(t, work(t, parse(t, swap(t, loopSheet, "units: mm", "units: in")), slip), "whole").Closure
	alikeCulprits(t, mmLoop, inLoop)
}

// A reading written in another unit with the same last digit is the same
// reading: 33.38 mm is 3338 of 0.01 mm. So is a limit of 0.02 mm written as 20
// µm, and a certificate's 0.002 mm.
func TestUnitOfAReadingChangesNothing(t *testing.T) {
	var swaps []string
	for _, v := range []string{"33.38", "33.37", "33.39"} {
		swaps = append(swaps, v+" mm", strings.Replace(v, ".", "", 1)+" 0.01 mm")
	}
	swaps = append(swaps, "{kind: depth gauge, limit of error: 0.02 mm}", "{kind: depth gauge, limit of error: 20 µm}",
		"size: 75.004 mm, uncertainty: 0.002 mm", "size: 75004 µm, uncertainty: 2 µm")
	s := readSheet(t, "rd3.yaml")
	alikeBudgets(t, work(t, s, sureReadings), work(t, s, swap(t, sureReadings, swaps...)))

	// A table in µm, its temperatures in °F.
	s = readSheet(t, "fs2.yaml")
	alikeBudgets(t, work(t, s, text(t, "fs2-job.yaml")), work(t, s, text(t, "fs2-job.yaml",
		"{at: 25.00 mm, add: 0.010 mm}", "{at: 2500 0.01 mm, add: 10 µm}", "add: -0.005 mm", "add: -5 µm", "uncertainty: 0.004 mm", "uncertainty: 4 µm",
		"28.0 °C ± 1.0 °C", "82.4 °F ± 1.8 °F", "21.0 °C ± 0.5 °C", "69.8 °F ± 0.9 °F")))
}

func alikeBudgets(t *testing.T, a, b *overhaul.Results) {
	t.Helper()
	n := 0
	for i, r := range a.Steps {
		o := b.Steps[i]
		if (r.Figure == nil) != (o.Figure == nil) || (r.Budget == nil) != (o.Budget == nil) || r.Status != o.Status {
			t.Fatalf("%s: %s and %s", r.Step.Name, r.Status, o.Status)
		}
		if r.Figure != nil {
			same(t, r.Step.Name, o.Figure.Value, r.Figure.Value)
		}
		if r.Budget != nil {
			n++
			alikeBudget(t, r.Step.Name, r.Budget, o.Budget)
		}
	}
	if n < 4 {
		t.Errorf("only %d budgets were compared", n)
	}
}

func alikeBudget(t *testing.T, what string, a, b *overhaul.Budget) {
	t.Helper()
	same(t, what+": U", b.Expanded, a.Expanded)
	same(t, what+": guard", b.Guard, a.Guard)
	if len(a.Lines) != len(b.Lines) || !slices.Equal(a.Unknown, b.Unknown) {
		t.Fatalf("%s: %d and %d lines, unknown %q and %q", what, len(a.Lines), len(b.Lines), a.Unknown, b.Unknown)
	}
	for i, l := range a.Lines {
		if b.Lines[i].Name != l.Name || b.Lines[i].Kind != l.Kind {
			t.Errorf("%s: line %d is %s and %s", what, i, l.Name, b.Lines[i].Name)
		}
		same(t, what+": "+l.Name, b.Lines[i].Part, l.Part)
	}
}

func alikeCulprits(t *testing.T, a, b *overhaul.Closure) {
	t.Helper()
	same(t, "apart, without sign", b.Value.Abs(), a.Value.Abs())
	alikeBudget(t, "the closure", a.Budget, b.Budget)
	if len(a.Culprits) == 0 || len(a.Culprits) != len(b.Culprits) {
		t.Fatalf("%d and %d culprits", len(a.Culprits), len(b.Culprits))
	}
	for i, c := range a.Culprits {
		o := b.Culprits[i]
		if o.Term != c.Term || o.Slip != c.Slip || o.Closes != c.Closes || !o.Left.Abs().Equal(c.Left.Abs()) {
			t.Errorf("culprit %d is %+v and %+v", i, c, o)
		}
	}
}

// The order in which the faces of an axis are listed is a choice: turned round,
// with each length from its other end, the packs, budgets, closures and culprits
// are the same.
func TestLoopTurnedRoundIsTheSame(t *testing.T) {
	there := readSheet(t, "fs2.yaml")
	back := readSheet(t, "fs2.yaml",
		"plug: [cover face, plug top, plug foot, seat, rim]", "plug: [rim, seat, plug foot, plug top, cover face]",
		"between: [cover face, plug top]", "between: [plug top, cover face]",
		"found: [cover face, seat]", "found: [seat, cover face]",
		"found: [plug top, plug foot]", "found: [plug foot, plug top]",
		"found: [seat, rim]", "found: [rim, seat]",
		"between: [plug foot, seat]", "between: [seat, plug foot]")
	a, b := work(t, there, text(t, "fs2-job.yaml")), work(t, back, text(t, "fs2-job.yaml"))
	same(t, "the pack", worked(t, b, "plug pack"), worked(t, a, "plug pack"))
	same(t, "the gap", standing(t, b, "plug gap").Low.Value, standing(t, a, "plug gap").Low.Value)
	for _, step := range []string{"seat depth", "plug length", "rim depth", "plug pack"} {
		x, y := of(t, a, step), of(t, b, step)
		same(t, step, y.Figure.Value, x.Figure.Value)
		alikeBudget(t, step, x.Budget, y.Budget)
		if x.Expansion != nil && (x.Expansion.Words != y.Expansion.Words || !x.Expansion.Room.Equal(y.Expansion.Room)) {
			t.Errorf("%s: %q and %q", step, x.Expansion.Words, y.Expansion.Words)
		}
	}

	turned := parse(t, swap(t, loopSheet, "[a, b, c, d]", "[d, c, b, a]", "found: [a, b]", "found: [b, a]",
		"found: [b, c]", "found: [c, b]", "found: [c, d]", "found: [d, c]", "as check: [a, d]", "as check: [d, a]"))
	for _, slip := range [][]string{{"23.999 mm", "29.399 mm"}, {"digits: +8", "digits: -8"}, {"S-12, E-02], presses: [23.999", "S-12, E-02], presses: [36.005"}} {
		body := swap(t, loopReadings, slip...)
		alikeCulprits(t, of(t, work(t, parse(t, loopSheet), body), "whole").Closure, of(t, work(t, turned, body), "whole").Closure)
	}
}

// One more press that says the same leaves the figure, and a budget is never
// surer of a part that is common to all presses.
func TestMorePressesDoNotShrinkWhatIsCommon(t *testing.T) {
	three := of(t, work(t, readSheet(t, "rd3.yaml"), sureReadings), "wheel height").Budget
	nine := of(t, work(t, readSheet(t, "rd3.yaml"), swap(t, sureReadings, "25.93 mm, 25.93 mm, 25.93 mm",
		strings.TrimSuffix(strings.Repeat("25.93 mm, ", 9), ", "))), "wheel height").Budget
	same(t, "U", nine.Expanded, three.Expanded)
	if three.Expanded.Sign() <= 0 {
		t.Error("no uncertainty at all")
	}
	var none quantity.Exact
	if three.Guard.Equal(none) {
		t.Error("no guard band")
	}
}
