package ring

import (
	"math"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/quantity"
)

func ex(s string) quantity.Exact { return quantity.MustExact(s) }

func limit(s string) *quantity.Exact {
	x := ex(s)
	return &x
}

// evenly is one reading at each of equally spaced points from 0.
func evenly(readings ...string) []Point {
	var out []Point
	for i, r := range readings {
		angle := over(whole(360), int64(len(readings))).Times(quantity.Whole(int64(i)))
		out = append(out, Point{Angle: angle, Repeats: []quantity.Exact{ex(r)}})
	}
	return out
}

func judge(t testing.TB, in Input) Result {
	t.Helper()
	r, err := Judge(in)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func near(t testing.TB, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s = %.9f, want %.9f", what, got, want)
	}
}

func same(t testing.TB, what string, got quantity.Exact, want string) {
	t.Helper()
	if !got.Equal(ex(want)) {
		t.Errorf("%s = %s, want %s", what, got, want)
	}
}

func verdicts(r Result) string {
	var out []string
	for _, p := range r.Points {
		out = append(out, p.Verdict.String())
	}
	return strings.Join(out, ", ")
}

// Workshop story "two answers": invented drive, computed with exact decimals.
func TestTwoAnswers(t *testing.T) {
	in := Input{Points: evenly("0.34", "0.33", "0.35", "0.34"), Band: Band{ex("0.15"), ex("0.25")}, U: ex("0.01"), SpreadLimit: limit("0.08")}
	r := judge(t, in)
	same(t, "mean", r.Mean.Value(), "0.34")
	same(t, "spread", r.Spread, "0.02")
	same(t, "window from", r.Window.From, "-0.17")
	same(t, "window to", r.Window.To, "-0.11")
	if r.Window.Empty() || r.Good() || verdicts(r) != "out high, out high, out high, out high" || r.SpreadVerdict != Good {
		t.Errorf("window %s, points %s, spread %s", r.Window, verdicts(r), r.SpreadVerdict)
	}
	m, err := r.Window.Move(ex("0.80"))
	if err != nil {
		t.Fatal(err)
	}
	// Negative is TOWARD the pinion.
	same(t, "move from", m.From, "-0.2125")
	same(t, "move to", m.To, "-0.1375")
	same(t, "move aim", m.Aim, "-0.175")
	for _, after := range [][]string{{"0.22", "0.21", "0.23", "0.22"}, {"0.18", "0.17", "0.19", "0.18"}} {
		in.Points = evenly(after...)
		if r := judge(t, in); !r.Good() {
			t.Errorf("after the move %v: %s, low %s", after, verdicts(r), r.LowVerdict)
		}
	}
}

// Workshop story "run-out spread".
func TestRunOutSpread(t *testing.T) {
	in := Input{Points: evenly("0.16", "0.22", "0.30", "0.24"), Band: Band{ex("0.15"), ex("0.30")}, U: ex("0.01"), SpreadLimit: limit("0.08")}
	r := judge(t, in)
	same(t, "mean", r.Mean.Value(), "0.23")
	same(t, "spread", r.Spread, "0.14")
	near(t, "A", r.Fit.Once.Amplitude, 0.0707, 5e-5)
	near(t, "c", r.Fit.Twice.Cos, 0, 1e-12)
	near(t, "low at", r.Fit.Once.Low.Degrees, 8, 0.5)
	near(t, "high at", r.Fit.Once.High.Degrees, 188, 0.5)
	if verdicts(r) != "good, good, too close to call, good" || r.SpreadVerdict != OutHigh || r.Good() {
		t.Errorf("points %s, spread %s", verdicts(r), r.SpreadVerdict)
	}
	same(t, "window from", r.Window.From, "0.00")
	same(t, "window to", r.Window.To, "-0.01")
	if !r.Window.Empty() || r.Window.String() != "no shim can pass: fix the spread first" {
		t.Errorf("window %s", r.Window)
	}
	if _, err := r.Window.Move(ex("0.80")); err == nil || !strings.Contains(err.Error(), "fix the spread first") {
		t.Errorf("move in an empty window: %v", err)
	}
	tir, err := r.Fit.RunOut(ex("0.80"))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "implied run-out", tir.Float(), 0.177, 5e-4)

	in.Points = evenly("0.21", "0.23", "0.25", "0.23")
	if r := judge(t, in); !r.Good() || !r.Spread.Equal(ex("0.04")) {
		t.Errorf("cleaned: %s, spread %s %s", verdicts(r), r.Spread, r.SpreadVerdict)
	}
	in.Rule, in.Points = Simple, evenly("0.16", "0.22", "0.30", "0.24")
	if r := judge(t, in); verdicts(r) != "good, good, good, good" {
		t.Errorf("simple acceptance: %s", verdicts(r))
	}
}

func TestHiddenToothAndBentWheel(t *testing.T) {
	in := Input{Points: evenly("0.17", "0.17", "0.27", "0.27"), Band: Band{ex("0.15"), ex("0.30")}, U: ex("0.01")}
	r := judge(t, in)
	near(t, "fitted low", r.Fit.Low.Value.Float(), 0.1493, 5e-5)
	near(t, "fitted low at", r.Fit.Low.At.Degrees, 45, 1e-6)
	near(t, "fitted high at", r.Fit.High.At.Degrees, 225, 1e-6)
	if verdicts(r) != "good, good, good, good" || r.LowVerdict != TooClose || r.Good() {
		t.Errorf("points %s, fitted low %s", verdicts(r), r.LowVerdict)
	}

	in.Points = evenly("0.18", "0.24", "0.18", "0.24")
	r = judge(t, in)
	if r.Fit.Once.Amplitude != 0 || r.Fit.Once.High.Known {
		t.Errorf("bent wheel: once per turn %+v, want none", r.Fit.Once)
	}
	near(t, "c", r.Fit.Twice.Cos, -0.03, 1e-12)
	near(t, "low at", r.Fit.Twice.Low.Degrees, 0, 0)
	near(t, "high at", r.Fit.Twice.High.Degrees, 90, 0)
	same(t, "fitted low", r.Fit.Low.Value, "0.18")
	if !r.Fit.Low.At.Known || r.Fit.Low.At.Degrees != 0 || r.SpreadVerdict != NotJudged {
		t.Errorf("bent wheel: low at %+v, spread %s", r.Fit.Low.At, r.SpreadVerdict)
	}
}

// What three, four and five points see, in words.
func TestSight(t *testing.T) {
	at := func(degrees ...string) []Point {
		var out []Point
		for i, d := range degrees {
			out = append(out, Point{ex(d), []quantity.Exact{ex("0.2").Add(ex("0.01").Times(quantity.Whole(int64(i * i % 5))))}})
		}
		return out
	}
	for _, c := range []struct {
		name        string
		points      []Point
		once, twice Sight
		freedom     int
		note        string
	}{
		{"three", at("0", "120", "240"), Whole, Unseen, 0, "Three points cannot see a twice-per-turn part"},
		{"four", at("0", "90", "180", "270"), Whole, Half, 0, "its sine part, counted from 0 deg and highest or lowest at 45 deg and every 90 deg on, is invisible"},
		{"four from 30", at("30", "120", "210", "300"), Whole, Half, 0, "counted from 30 deg and highest or lowest at 75 deg"},
		{"four and the one asked for", at("0", "90", "180", "270", "45"), Whole, Whole, 0, "passes through every point"},
		{"four and a neighbour", at("0", "90", "180", "270", "10"), Whole, Half, 1, "sine part"},
		{"six", at("0", "60", "120", "180", "240", "300"), Whole, Whole, 1, ""},
		{"three and a twin", at("0", "120", "240", "0.5"), Whole, Unseen, 1, "spread them evenly"},
		{"all together", at("0", "1", "2", "3"), Unseen, Unseen, 3, "too close together"},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, err := FitPoints(c.points, Clockwise)
			if err != nil {
				t.Fatal(err)
			}
			if f.Once.Sight != c.once || f.Twice.Sight != c.twice || f.Freedom != c.freedom {
				t.Errorf("once %d, twice %d, freedom %d; want %d, %d, %d", f.Once.Sight, f.Twice.Sight, f.Freedom, c.once, c.twice, c.freedom)
			}
			if !strings.Contains(strings.Join(f.Notes, "\n"), c.note) || c.note == "" && len(f.Notes) > 0 {
				t.Errorf("notes %q, want %q", f.Notes, c.note)
			}
		})
	}
	r := judge(t, Input{Points: at("0", "1", "2"), Band: Band{ex("0.1"), ex("0.3")}})
	if r.LowVerdict != NotJudged {
		t.Errorf("no fit, but the fitted low is %s", r.LowVerdict)
	}
	if _, err := r.Fit.RunOut(ex("0.8")); err == nil {
		t.Error("run-out from points that do not show it")
	}
}

// US trade figure, common practice, no source: backlash 0.010 to 0.013 in at
// four points equally spaced. Also two lifts at each, an exact mean of thirds,
// and the same ring in millimetres.
func TestInchRing(t *testing.T) {
	thou := func(digits string) quantity.Exact {
		v, err := quantity.Parse(digits, quantity.Thou)
		if err != nil {
			t.Fatal(err)
		}
		return v.Exact()
	}
	var points []Point
	for i, lifts := range [][]string{{"11", "11.5"}, {"12"}, {"12", "12.5", "12.5"}, {"11"}} {
		p := Point{Angle: whole(int64(90 * i))}
		for _, l := range lifts {
			p.Repeats = append(p.Repeats, thou(l))
		}
		points = append(points, p)
	}
	r := judge(t, Input{Points: points, Band: Band{thou("10"), thou("13")}, U: thou("0.5")})
	if !r.Good() {
		t.Errorf("points %s, low %s", verdicts(r), r.LowVerdict)
	}
	same(t, "sum at 180", r.Points[2].Mean.Sum, "0.9398") // 37 thou
	if p := r.Points[2]; p.Mean.Count != 3 || !p.Mean.Value().Times(quantity.Whole(3)).Equal(p.Mean.Sum) {
		t.Errorf("mean at 180 is %s, want a third of 0.9398", p.Mean.Value())
	}
	same(t, "range at 180", r.Points[2].Range, "0.0127")
	same(t, "range at 90", r.Points[1].Range, "0")
}

// Good is inside by at least U and out is outside by at least U, unrounded.
func TestVerdictEdges(t *testing.T) {
	b := Band{ex("0.15"), ex("0.25")}
	for _, c := range []struct {
		x, guard string
		want     Verdict
	}{
		{"0.16", "0.01", Good}, {"0.24", "0.01", Good},
		{"0.159999999", "0.01", TooClose}, {"0.240000001", "0.01", TooClose},
		{"0.140000001", "0.01", TooClose}, {"0.14", "0.01", OutLow}, {"0.26", "0.01", OutHigh},
		{"0.15", "0", Good}, {"0.25", "0", Good}, {"0.1499", "0", OutLow}, {"0.2501", "0", OutHigh},
		{"0.20", "0.06", TooClose}, // the band is too narrow for anything to be good
	} {
		if got := b.judge(ex(c.x), ex(c.guard)); got != c.want {
			t.Errorf("%s with guard %s: %s, want %s", c.x, c.guard, got, c.want)
		}
	}
	for _, c := range []struct {
		x, guard string
		want     Verdict
	}{
		{"0.25", "0", Good}, {"0.2501", "0", OutHigh}, {"0.24", "0.01", Good}, {"0.25", "0.01", TooClose}, {"0.26", "0.01", OutHigh},
	} {
		if got := judgeMost(ex(c.x), ex("0.25"), ex(c.guard)); got != c.want {
			t.Errorf("%s at most 0.25 with guard %s: %s, want %s", c.x, c.guard, got, c.want)
		}
	}
}

func TestRefusals(t *testing.T) {
	four := func() []Point { return evenly("0.20", "0.21", "0.22", "0.21") }
	twice := four()
	twice[3].Angle = ex("90.0")
	silent := four()
	silent[1].Repeats = nil
	turn := four()
	turn[2].Angle = ex("360")
	far := four()
	far[0].Repeats[0] = ex("330")
	long := four()
	long[0].Repeats[0] = quantity.FromDecimal(decimal.New(1, 1000000000))
	band := Band{ex("0.15"), ex("0.25")}
	for _, c := range []struct {
		name string
		in   Input
		want string
	}{
		{"two points", Input{Points: evenly("0.2", "0.3"), Band: band}, "points: 2 of them; a ring takes 3 to 360"},
		{"one angle twice", Input{Points: twice, Band: band}, "points 2 and 4, angle: both at 90 deg"},
		{"no reading", Input{Points: silent, Band: band}, "point 2, repeats: 0 readings"},
		{"a whole turn", Input{Points: turn, Band: band}, "point 3, angle: 360 deg; give 0 to under 360"},
		{"unit", Input{Points: far, Band: band}, "point 1, repeat 1: 330 mm: at most 100 mm"},
		{"long figure", Input{Points: long, Band: band}, "at most 24"},
		{"band upside down", Input{Points: four(), Band: Band{ex("0.25"), ex("0.15")}}, "band: low 0.25 mm is above high 0.15 mm; swap them"},
		{"band below nought", Input{Points: four(), Band: Band{ex("-0.1"), ex("0.15")}}, "band, low: -0.1 mm: give 0 or more"},
		{"negative U", Input{Points: four(), Band: band, U: ex("-0.01")}, "U: -0.01 mm: give 0 or more"},
		{"negative U of spread", Input{Points: four(), Band: band, SpreadU: ex("-0.01")}, "U of the spread"},
		{"negative spread limit", Input{Points: four(), Band: band, SpreadLimit: limit("-0.01")}, "spread limit"},
		{"rule", Input{Points: four(), Band: band, Rule: 9}, "rule 9 is not known"},
		{"sense", Input{Points: four(), Band: band, Sense: 9}, "sense: 9"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if _, err := Judge(c.in); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("error %v, want one with %q", err, c.want)
			}
		})
	}
	for _, k := range []quantity.Exact{ex("0"), ex("-0.8"), over(ex("1"), 3)} {
		if _, err := (Window{From: ex("-0.1")}).Move(k); err == nil {
			t.Errorf("move factor %s was taken", k)
		}
	}
}
