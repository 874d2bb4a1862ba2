package ring

import (
	"math"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/quantity"
	"shimwright/calc/stat/checktest"
)

// Every exported entry point with input that cannot be meant: an error that
// names the input (or, of a bare verdict, NotJudged), never a panic, never NaN.
func TestBadInput(t *testing.T) {
	far, tiny := quantity.FromDecimal(decimal.New(1, 2e9)), quantity.FromDecimal(decimal.New(1, -2e9))
	lowest := quantity.FromDecimal(decimal.New(1, math.MinInt32))
	good := Input{Points: evenly("0.20", "0.21", "0.22"), Band: Band{ex("0.15"), ex("0.25")}}
	tried := func(field string, change func(*Input)) checktest.Bad {
		return checktest.Bad{Call: "Judge", Field: field, Err: func() error {
			in := good
			in.Points = evenly("0.20", "0.21", "0.22")
			change(&in)
			_, err := Judge(in)
			return err
		}}
	}
	fit := func(field string, points ...Point) checktest.Bad {
		return checktest.Bad{Call: "FitPoints", Field: field, Err: func() error { _, err := FitPoints(points, Clockwise); return err }}
	}
	gears := func(g Gears, field string) []checktest.Bad {
		return []checktest.Bad{
			{Call: "Gears.Factors", Field: field, Err: func() error { _, err := g.Factors(); return err }},
			{Call: "Gears.NormalPerTransverse", Field: field, Err: func() error { _, err := g.NormalPerTransverse(); return err }},
			{Call: "Gears.Normal", Field: field, Err: func() error { _, err := g.Normal(ex("0.2")); return err }},
			{Call: "Gears.Transverse", Field: field, Err: func() error { _, err := g.Transverse(ex("0.2")); return err }},
		}
	}
	pair := Gears{Pinion: 9, Wheel: 37, Shafts: ex("90"), Pressure: ex("20"), Spiral: ex("35")}
	steep := pair
	steep.Pressure = ex("90")
	whole := Fit{Once: Harmonic{Sight: Whole, Amplitude: 0.1}}
	list := []checktest.Bad{
		tried("points", func(in *Input) { in.Points = nil }),
		tried("points", func(in *Input) { in.Points = in.Points[:2] }),
		tried("points 1 and 3, angle", func(in *Input) { in.Points[2].Angle = in.Points[0].Angle }),
		tried("point 2, angle", func(in *Input) { in.Points[1].Angle = ex("-1") }),
		tried("point 2, angle", func(in *Input) { in.Points[1].Angle = far }),
		tried("point 1, repeats", func(in *Input) { in.Points[0].Repeats = nil }),
		tried("point 1, repeat 1", func(in *Input) { in.Points[0].Repeats[0] = tiny }),
		tried("point 1, repeat 1", func(in *Input) { in.Points[0].Repeats[0] = ex("210") }),
		tried("band", func(in *Input) { in.Band = Band{ex("0.25"), ex("0.15")} }),
		tried("band, low", func(in *Input) { in.Band.Low = ex("-0.1") }),
		tried("band, high", func(in *Input) { in.Band.High = far }),
		tried("U", func(in *Input) { in.U = ex("-0.01") }),
		tried("U of the spread", func(in *Input) { in.SpreadU = ex("-0.01") }),
		tried("spread limit", func(in *Input) { in.SpreadLimit = limit("-0.05") }),
		tried("rule", func(in *Input) { in.Rule = 9 }),
		tried("sense", func(in *Input) { in.Sense = 9 }),
		fit("points"),
		fit("points 1 and 2, angle", append(evenly("0.1", "0.2"), evenly("0.3")...)[0], evenly("0.3")[0], evenly("0.1", "0.2")[1]),
		{Call: "Gears.Normal", Field: "transverse backlash", Err: func() error { _, err := pair.Normal(far); return err }},
		{Call: "Gears.Normal", Field: "transverse backlash", Err: func() error { _, err := pair.Normal(lowest); return err }},
		{Call: "Gears.Transverse", Field: "normal backlash", Err: func() error { _, err := pair.Transverse(lowest); return err }},
		{Call: "Fit.RunOut", Field: "run-out", Err: func() error { _, err := Fit{}.RunOut(ex("0.8")); return err }},
		{Call: "Fit.RunOut", Field: "move factor", Err: func() error { _, err := whole.RunOut(ex("0")); return err }},
		{Call: "Fit.RunOut", Field: "move factor", Err: func() error { _, err := whole.RunOut(tiny); return err }},
		{Call: "Fit.RunOut", Field: "run-out", Err: func() error {
			_, err := Fit{Once: Harmonic{Sight: Whole, Amplitude: math.NaN()}}.RunOut(ex("0.8"))
			return err
		}},
		{Call: "Window.Move", Field: "move factor", Err: func() error { _, err := Window{To: ex("0.1")}.Move(ex("-0.8")); return err }},
		{Call: "Window.Move", Field: "window", Err: func() error { _, err := Window{From: ex("0.1")}.Move(ex("0.8")); return err }},
	}
	list = append(list, gears(Gears{}, "pinion")[0], checktest.Bad{Call: "Window.Move", Field: "window", Err: func() error {
		_, err := Window{From: lowest, To: far}.Move(ex("0.8"))
		return err
	}})
	list = append(list, gears(steep, "pressure angle")...)
	checktest.Refused(t, ".", list, map[string]func(){
		"Band.Judge":     func() { badBands(t, far, lowest) },
		"JudgeMost":      func() { badMost(t, far, lowest) },
		"Apart":          func() { Apart(Direction{}, Direction{Known: true, Clockwise: math.Inf(1)}) },
		"Mean.Value":     func() { Mean{}.Value() },
		"Result.Good":    func() { Result{}.Good() },
		"Window.Empty":   func() { Window{}.Empty() },
		"Window.String":  func() { _ = Window{}.String() },
		"Window.Middle":  func() { Window{}.Middle() },
		"Sense.String":   func() { _ = Sense(99).String() },
		"Verdict.String": func() { _ = Verdict(99).String() },
		"Rule.String":    func() { _ = Rule(99).String() },
	})
}

// badBands: a verdict gives no error, so what cannot be meant is not judged.
func badBands(t *testing.T, far, lowest quantity.Exact) {
	one, two := ex("1"), ex("2")
	for name, got := range map[string]Verdict{
		"upside down":      Band{two, one}.Judge(ex("1.5"), quantity.Exact{}, Guarded),
		"U below nought":   Band{one, two}.Judge(ex("2.5"), one.Neg(), Guarded),
		"U below, simple":  Band{one, two}.Judge(ex("1.5"), one.Neg(), Simple),
		"unknown rule":     Band{one, two}.Judge(ex("1.5"), one, 9),
		"far off figure":   Band{one, two}.Judge(far, one, Guarded),
		"a figure of dust": Band{one, two}.Judge(lowest, one, Guarded),
		"far off limit":    Band{one, far}.Judge(one, one, Guarded),
	} {
		if got != NotJudged {
			t.Errorf("%s: %s", name, got)
		}
	}
}

func badMost(t *testing.T, far, lowest quantity.Exact) {
	one := ex("1")
	for name, got := range map[string]Verdict{
		"U below nought": JudgeMost(ex("1.5"), one, one.Neg(), Guarded),
		"unknown rule":   JudgeMost(one, one, one, 9),
		"far off figure": JudgeMost(far, one, one, Guarded),
		"far off limit":  JudgeMost(one, lowest, one, Guarded),
	} {
		if got != NotJudged {
			t.Errorf("%s: %s", name, got)
		}
	}
}
