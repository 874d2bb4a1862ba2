package remedy

import (
	"errors"
	"strings"
	"testing"

	"shimwright/calc/network"
	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/calc/stock"
)

func TestTwoAnswers(t *testing.T) {
	a := advise(t, storyFive(t))
	is(t, "window from", a.Window.From, "-0.17")
	is(t, "window to", a.Window.To, "-0.11")
	is(t, "move to", a.Move.From, "-0.2125")
	is(t, "move from", a.Move.To, "-0.1375")
	is(t, "ideal move", a.Move.Aim, "-0.175")
	if a.Cause != HasPlan || len(a.Plans) != 2 || a.CutShort {
		t.Fatalf("cause %s, %d plans: %+v", a.Cause, len(a.Plans), a)
	}
	first, second := a.Plans[0], a.Plans[1]
	is(t, "first move", first.Move, "-0.15")
	is(t, "second move", second.Move, "-0.20")
	is(t, "wheel-back pack", first.Changes[0].After, "1.58")
	is(t, "closing pack", first.Changes[1].After, "1.70")
	is(t, "sum of the packs", first.Changes[0].After.Add(first.Changes[1].After), "3.28")
	is(t, "setting", first.Setting, "0")
	for i, want := range []string{"0.22", "0.21", "0.23", "0.22"} {
		is(t, "point after", first.Points[i].After, want)
		if first.Points[i].Verdict != ring.Good {
			t.Errorf("point %d is %s", i, first.Points[i].Verdict)
		}
	}
	for i, want := range []string{"0.18", "0.17", "0.19", "0.18"} {
		is(t, "point after the second", second.Points[i].After, want)
	}
	says(t, first.Words, "wheel goes TOWARD the pinion by 0.15 mm: add 0.15 mm under the track at the wheel-back side, take 0.15 mm from under the track at the tooth side; setting unchanged.",
		"about 0.22 mm, 0.21 mm, 0.23 mm, 0.22 mm, all good")
	says(t, first.Changes[0].Words, "1.43 mm to 1.58 mm, put in 0.15")
}

// The four states of a wheel shaft, with like and unlike places: the packs'
// words differ, the move and the setting do not.
func TestStatesAndPlaces(t *testing.T) {
	half, minusHalf := ratio(1, 2), ratio(-1, 2)
	places := map[string]map[string]network.Row{
		"W1": {"back": row(-1, -1), "tooth": row(-1, 0), "closed": {Float: quantity.Whole(-1), Gear: minusHalf}, "closed by thirds": {Float: quantity.Whole(-1), Gear: ratio(-2, 3)}},
		"W2": {"back": row(-1, 0), "tooth": row(-1, 1), "closed": {Float: quantity.Whole(-1), Gear: half}, "closed by thirds": {Float: quantity.Whole(-1), Gear: ratio(1, 3)}},
		"W3": {"back": row(1, 1), "tooth": row(1, 0), "closed": {Float: quantity.Whole(1), Gear: half}, "closed by thirds": {Float: quantity.Whole(1), Gear: ratio(2, 3)}},
		"W4": {"back": row(1, 0), "tooth": row(1, -1), "closed": {Float: quantity.Whole(1), Gear: minusHalf}, "closed by thirds": {Float: quantity.Whole(1), Gear: ratio(-1, 3)}},
	}
	for _, c := range []struct{ one, two, first, second string }{
		{"W1", "W2", "1.58", "1.70"}, {"W3", "W4", "1.28", "2.00"},
		{"W1", "W4", "1.58", "2.00"}, {"W3", "W2", "1.28", "1.70"},
	} {
		for _, state := range []string{"back", "tooth", "closed", "closed by thirds"} {
			t.Run(c.one+c.two+" "+state, func(t *testing.T) {
				in := storyFive(t)
				in.Packs[0].Row, in.Packs[1].Row = places[c.one][state], places[c.two][state]
				a := advise(t, in)
				if len(a.Plans) == 0 {
					t.Fatalf("no plan: %s %v", a.Words, a.LookFor)
				}
				p := a.Plans[0]
				is(t, "move", p.Move, "-0.15")
				is(t, "setting", p.Setting, "0")
				is(t, c.one, p.Changes[0].After, c.first)
				is(t, c.two, p.Changes[1].After, c.second)
			})
		}
	}
}

func TestOnePackThatLeavesTheSettingAlone(t *testing.T) {
	in := storyFive(t)
	in.Gear = "pinion"
	in.Factor = Factor{ex("0.21"), "from the sheet"}
	in.Packs = []Pack{{Name: "pinion flange pack", Place: "under the pinion housing flange", Row: row(0, 1), Figure: ex("1.37"), Tray: steps05(t),
		Leaves: []stock.Leaf{mm("0.50", 2), mm("0.37", 1)}}}
	in.Ring = ringOf(t, in.Band, "0.01", "", "0.26", "0.26", "0.26", "0.26")
	p := advise(t, in).Plans[0]
	is(t, "move", p.Move, "-0.27")
	says(t, p.Words, "pinion goes IN by 0.27 mm: take 0.27 mm from under the pinion housing flange; setting unchanged")
	in.Packs[0].Row = row(-1, -1)
	if _, err := Advise(in); err == nil || !strings.Contains(err.Error(), "alone changes the setting") {
		t.Errorf("got %v", err)
	}
}

func TestGoodRingAsksNothing(t *testing.T) {
	in := storyFive(t)
	in.Ring = ringOf(t, in.Band, "0.01", "0.08", "0.20", "0.21", "0.20", "0.19")
	if a := advise(t, in); a.Cause != NothingWrong || len(a.Plans) != 0 {
		t.Errorf("%+v", a)
	}
}

// Story 10 of the job: run-out spread, a bent wheel, a hidden tooth.
func TestSpreadFirst(t *testing.T) {
	in := storyFive(t)
	in.Band = band("0.15", "0.30")
	in.Ring = ringOf(t, in.Band, "0.01", "0.08", "0.16", "0.22", "0.30", "0.24")
	a := advise(t, in)
	is(t, "window from", a.Window.From, "0")
	is(t, "window to", a.Window.To, "-0.01")
	all := strings.Join(a.LookFor, "\n")
	if a.Cause != SpreadFirst || len(a.Plans) != 0 {
		t.Fatalf("%+v", a)
	}
	says(t, a.Words, "No shim can pass: fix the spread first")
	says(t, all, "low at 8 deg", "0.18 mm of run-out", "back-face run-out", "burr", "bolts")

	runOut, err := ring.FitPoints([]ring.Point{
		{Angle: ex("0"), Repeats: []quantity.Exact{ex("0.00")}}, {Angle: ex("90"), Repeats: []quantity.Exact{ex("0.025")}},
		{Angle: ex("180"), Repeats: []quantity.Exact{ex("0.05")}}, {Angle: ex("270"), Repeats: []quantity.Exact{ex("0.025")}}}, ring.Clockwise)
	if err != nil {
		t.Fatal(err)
	}
	in.RunOut = &RunOut{Fit: runOut}
	says(t, strings.Join(advise(t, in).LookFor, "\n"), "0.05 mm; the ring stands for 0.18 mm, in the same direction")
	in.RunOut.ToothSide = true
	says(t, strings.Join(advise(t, in).LookFor, "\n"), "172 deg away")

	in.RunOut = nil
	in.Ring = ringOf(t, in.Band, "0.01", "0.05", "0.18", "0.24", "0.18", "0.24")
	says(t, strings.Join(advise(t, in).LookFor, "\n"), "Twice per turn is the larger part: a bent or oval wheel, or two bolts")
}

func TestHiddenTooth(t *testing.T) {
	in := storyFive(t)
	in.Band = band("0.15", "0.30")
	in.Ring = ringOf(t, in.Band, "0.01", "", "0.17", "0.17", "0.27", "0.27")
	low, ask := LowToRead(in.Ring, Display{Places: 4})
	if !ask || low.At != 45 {
		t.Fatalf("%+v", low)
	}
	says(t, low.Words, "0.1493 mm at 45 deg")
	// Raised by 0.0107 to 0.02 the low would pass as well: that is what is planned.
	in.Packs[0].Leaves = []stock.Leaf{mm("1.00", 1), mm("0.25", 1), mm("0.16", 1), mm("0.02", 1)}
	in.Packs[1].Tray = tray(t, mm("0.02", 1))
	p := advise(t, in).Plans[0]
	is(t, "move", p.Move, "0.02")
	if p.Low == nil || p.Low.Verdict != ring.Good {
		t.Errorf("fitted low %+v", p.Low)
	}
	in.Band = band("0.15", "0.28")
	in.Ring = ringOf(t, in.Band, "0.01", "", "0.17", "0.17", "0.27", "0.27")
	a := advise(t, in)
	if a.Cause != LowFirst || a.Window.Empty() {
		t.Fatalf("%+v", a)
	}
	says(t, a.Words, "one more reading at 45 deg")
}

func TestLoopsAndSetting(t *testing.T) {
	in := storyFive(t)
	in.Loops = 3
	a := advise(t, in)
	if a.Cause != LoopsSpent || len(a.Plans) != 0 || len(a.LookFor) != 6 {
		t.Errorf("%+v", a)
	}
	for i, want := range []string{"packs", "dirt", "bolts", "mark", "pair", "casing"} {
		says(t, a.LookFor[i], want)
	}
	in.Loops, in.LoopLimit = 3, 5
	if a := advise(t, in); a.Cause != HasPlan {
		t.Errorf("%+v", a)
	}
	in.Setting = Setting{Figure: exp("-0.15"), Band: &ring.Band{Low: ex("-0.10"), High: ex("-0.05")}}
	if a := advise(t, in); a.Cause != SettingFirst {
		t.Errorf("%+v", a)
	}
}

// A setting with room lets stock pass that cannot keep it exactly, and never
// changes from preload to float.
func TestSettingWithinItsTolerance(t *testing.T) {
	in := storyFive(t)
	in.Packs[0].Tray = tray(t, mm("0.16", 5))
	in.Packs[1].Tray, in.Packs[1].TrayName = tray(t, mm("0.05", 5)), "tooth-side shims"
	in.Packs[1].Leaves = []stock.Leaf{mm("1.65", 1), mm("0.20", 1)}
	if a := advise(t, in); a.Cause != StockShort {
		t.Fatalf("%+v", a)
	}
	in.Setting = Setting{Figure: exp("-0.08"), Band: &ring.Band{Low: ex("-0.10"), High: ex("-0.05")}, Within: ex("0.02")}
	p := advise(t, in).Plans[0]
	is(t, "setting", p.Setting, "-0.01")
	is(t, "after", *p.After, "-0.09")
	is(t, "exact closing pack", p.Changes[1].Exact, "1.69")
	says(t, p.Words, "setting from 0.08 mm preload to 0.09 mm preload")
	in.Packs[1].Within = exp("0.005")
	if a := advise(t, in); a.Cause != StockShort {
		t.Errorf("a pack strayed beyond its own tolerance: %+v", a)
	}
	in.Packs[1].Within = nil
	in.Setting = Setting{Figure: exp("0.005"), Within: ex("0.02")}
	for _, p := range advise(t, in).Plans {
		if p.After.Sign() < 0 {
			t.Errorf("float became preload: %s", p.Words)
		}
	}
}

func TestStockShortAndAtItsLimit(t *testing.T) {
	in := storyFive(t)
	for i := range in.Packs {
		in.Packs[i].Tray = stock.Tray{}
	}
	in.Packs[1].Leaves, in.Packs[1].Figure = nil, ex("1.85") // one solid spacer
	in.Packs[1].Rules.AtLeast = 1
	a := advise(t, in)
	if a.Cause != StockLimit || len(a.Plans) != 0 {
		t.Fatalf("%s %v", a.Words, a.LookFor)
	}
	says(t, a.Words, "make no further move")
	says(t, strings.Join(a.LookFor, "\n"), "wheel-back pack: 1.60 mm wanted", "the thickest it can be is", "closing pack", "the thinnest it can be is 1.85", "casing")

	in = storyFive(t)
	in.Packs[0].Tray, in.Packs[1].Tray = tray(t, mm("0.30", 9)), tray(t, mm("0.30", 9))
	in.Packs[0].Leaves, in.Packs[1].Leaves = nil, nil
	a = advise(t, in)
	if a.Cause != StockShort {
		t.Fatalf("%s %v", a.Words, a.LookFor)
	}
	says(t, strings.Join(a.LookFor, "\n"), "wanted; nearest", "order one leaf of")
}

// Two packs never share a leaf, and a leaf out of one may go into the other.
func TestLeavesAreNotShared(t *testing.T) {
	in := storyFive(t)
	one := tray(t, mm("0.16", 1))
	in.Packs[0].TrayName, in.Packs[1].TrayName = "wheel shims", "wheel shims"
	for i := range in.Packs {
		in.Packs[i].Tray = one
	}
	in.Packs[0].Leaves, in.Packs[0].Figure = []stock.Leaf{mm("1.43", 1)}, ex("1.43")
	in.Packs[1].Leaves = []stock.Leaf{mm("1.69", 1), mm("0.16", 1)}
	in.Packs[1].Figure = ex("1.85")
	p := advise(t, in).Plans[0]
	if p.Leaves != 2 || len(p.Changes[0].FromOther) != 0 {
		t.Errorf("%+v", p)
	}
	for i := range in.Packs {
		in.Packs[i].Tray = stock.Tray{}
	}
	p = advise(t, in).Plans[0]
	if len(p.Changes[0].FromOther) != 1 || p.Changes[0].Stack == nil {
		t.Fatalf("%+v", p.Changes[0])
	}
	says(t, p.Changes[0].Words, "Out of the other pack: 0.16, only if flat and unmarked, measured again")
	in.Packs[1].TrayName = "other shims"
	if a := advise(t, in); a.Cause != StockLimit && a.Cause != StockShort {
		t.Errorf("a leaf went from one tray's pack to another's: %+v", a)
	}
}

func TestRefusals(t *testing.T) {
	for name, c := range map[string]struct {
		field string
		spoil func(*Reshim)
	}{
		"no ring":          {"ring", func(r *Reshim) { r.Ring = ring.Result{} }},
		"gear":             {"gear", func(r *Reshim) { r.Gear = "crown" }},
		"factor nought":    {"factor", func(r *Reshim) { r.Factor.K = ex("0") }},
		"factor negative":  {"factor", func(r *Reshim) { r.Factor.K = ex("-0.8") }},
		"factor no source": {"factor", func(r *Reshim) { r.Factor.Source = "" }},
		"factor too long":  {"factor", func(r *Reshim) { r.Factor.K = ex("0.12345678901234567890") }},
		"U":                {"U", func(r *Reshim) { r.U = ex("-0.01") }},
		"band":             {"band", func(r *Reshim) { r.Band = band("0.25", "0.15") }},
		"no packs":         {"packs", func(r *Reshim) { r.Packs = nil }},
		"like rows":        {"rows", func(r *Reshim) { r.Packs[1].Row = r.Packs[0].Row }},
		"place":            {"pack 2", func(r *Reshim) { r.Packs[1].Place = "" }},
		"leaves":           {"pack 1, leaves", func(r *Reshim) { r.Packs[0].Leaves = []stock.Leaf{mm("0.10", -1)} }},
		"figure":           {"pack 1, figure", func(r *Reshim) { r.Packs[0].Figure = ex("-1") }},
		"trays":            {"packs", func(r *Reshim) { r.Packs[0].Tray, r.Packs[1].TrayName = stock.Tray{}, r.Packs[0].TrayName }},
		"loops":            {"loops", func(r *Reshim) { r.Loops = -1 }},
		"unit":             {"show", func(r *Reshim) { r.Show.Unit = quantity.Newton }},
		"point":            {"ring, point 1", func(r *Reshim) { r.Ring.Lowest = r.Ring.Highest }},
	} {
		t.Run(name, func(t *testing.T) {
			in := storyFive(t)
			c.spoil(&in)
			_, err := Advise(in)
			var p *Problem
			if !errors.As(err, &p) || p.Field != c.field {
				t.Errorf("got %v, want a problem at %q", err, c.field)
			}
		})
	}
}
