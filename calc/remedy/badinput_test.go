package remedy

import (
	"math"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/calc/stat/checktest"
	"shimwright/calc/stock"
)

// Every exported entry point with input that cannot be meant: an error that
// names the input, never a panic, never NaN.
func TestBadInput(t *testing.T) {
	list := badReshims(t)
	list = append(list, badSettings(t)...)
	list = append(list, badMoves()...)
	list = append(list, badTorques(t)...)
	list = append(list, badMarks()...)
	checktest.Refused(t, ".", list, map[string]func(){
		"LowToRead":      func() { LowToRead(ring.Result{}, Display{Places: -1}) },
		"CommonTable":    func() { CommonTable() },
		"CrosswiseTable": func() { CrosswiseTable() },
		"DefaultStep":    func() { DefaultStep() }, "DefaultCap": func() { DefaultCap() }, "Doubts": func() { Doubts() },
		"Change.By":     func() { Change{}.By() },
		"Problem.Error": func() { _ = (&Problem{}).Error() },
		"Radii.Empty":   func() { Radii{}.Empty() }, "Radii.And": func() { Radii{}.And(Radii{Low: ex("1")}) },
		"Cause.String": func() { _ = Cause(99).String() },
	})
}

func far() quantity.Exact  { return quantity.FromDecimal(decimal.New(1, 2e9)) }
func dust() quantity.Exact { return quantity.FromDecimal(decimal.New(1, math.MinInt32)) }

func badReshims(t *testing.T) []checktest.Bad {
	tried := func(field string, spoil func(*Reshim)) checktest.Bad {
		return checktest.Bad{Call: "Advise", Field: field, Err: func() error {
			in := storyFive(t)
			spoil(&in)
			_, err := Advise(in)
			return err
		}}
	}
	spread := func(field string, spoil func(*ring.Result, *Factor)) checktest.Bad {
		return checktest.Bad{Call: "LookForSpread", Field: field, Err: func() error {
			in := storyFive(t)
			spoil(&in.Ring, &in.Factor)
			_, err := LookForSpread(in.Ring, in.Factor, nil, in.Show)
			return err
		}}
	}
	return []checktest.Bad{
		tried("ring", func(r *Reshim) { r.Ring = ring.Result{} }),
		tried("ring, lowest", func(r *Reshim) { r.Ring.Lowest = far() }),
		tried("ring, highest", func(r *Reshim) { r.Ring.Highest = dust() }),
		tried("ring, fit", func(r *Reshim) { r.Ring.Fit.Once.Amplitude = math.NaN() }),
		tried("run-out, fit", func(r *Reshim) { r.RunOut = &RunOut{Fit: ring.Fit{Twice: ring.Harmonic{Amplitude: math.Inf(1)}}} }),
		tried("band", func(r *Reshim) { r.Band = band("0.25", "0.15") }),
		tried("band, high", func(r *Reshim) { r.Band.High = far() }),
		tried("U", func(r *Reshim) { r.U = ex("-0.01") }),
		tried("rule", func(r *Reshim) { r.Rule = 9 }),
		tried("gear", func(r *Reshim) { r.Gear = "" }),
		tried("factor", func(r *Reshim) { r.Factor = Factor{} }),
		tried("factor", func(r *Reshim) { r.Factor.K = dust() }),
		tried("packs", func(r *Reshim) { r.Packs = nil }),
		tried("pack 1, figure", func(r *Reshim) { r.Packs[0].Figure = far() }),
		tried("pack 1, leaves", func(r *Reshim) { r.Packs[0].Leaves = []stock.Leaf{{Size: dust(), Count: 1}} }),
		tried("pack 2, range", func(r *Reshim) { b := band("2", "1"); r.Packs[1].Range = &b }),
		tried("pack 2, within", func(r *Reshim) { r.Packs[1].Within = exp("-0.1") }),
		tried("pack 1, rules", func(r *Reshim) { r.Packs[0].Rules = stock.Rules{AtLeast: 5, AtMost: 2} }),
		tried("pack 1, float of the row", func(r *Reshim) { r.Packs[0].Row.Float = ratio(1000, 1) }),
		tried("setting", func(r *Reshim) { f := far(); r.Setting.Figure = &f }),
		tried("setting, band", func(r *Reshim) { b := band("1", "0"); r.Setting.Band = &b }),
		tried("setting, within", func(r *Reshim) { r.Setting.Within = ex("-1") }),
		tried("loops", func(r *Reshim) { r.LoopLimit = -1 }),
		tried("answers", func(r *Reshim) { r.Answers = math.MaxInt }),
		tried("show", func(r *Reshim) { r.Show.Places = -3 }),
		tried("show", func(r *Reshim) { r.Show.Unit = quantity.Degree }),
		spread("ring, fit", func(r *ring.Result, _ *Factor) { r.Fit.Once.Amplitude = -1 }),
		spread("factor", func(_ *ring.Result, f *Factor) { f.K = ex("11") }),
	}
}

func badSettings(t *testing.T) []checktest.Bad {
	tried := func(field string, spoil func(*SettingChange)) checktest.Bad {
		return checktest.Bad{Call: "KeepBacklash", Field: field, Err: func() error {
			in := settingOf(t, wheelRows("back"), wheelRows("closed"), "0.10", "-0.08")
			spoil(&in)
			_, err := KeepBacklash(in)
			return err
		}}
	}
	return []checktest.Bad{
		{Call: "KeepBacklash", Field: "gear", Err: func() error { _, err := KeepBacklash(SettingChange{}); return err }},
		tried("packs", func(s *SettingChange) { s.Packs = nil }),
		tried("rows", func(s *SettingChange) { s.Was = nil }),
		tried("setting now", func(s *SettingChange) { s.Now = far() }),
		tried("setting wanted", func(s *SettingChange) { s.Then = dust() }),
		tried("within", func(s *SettingChange) { s.Within = ex("-1") }),
		tried("stay", func(s *SettingChange) { s.Stay = ex("-1") }),
		tried("answers", func(s *SettingChange) { s.Answers = -1 }),
		tried("show", func(s *SettingChange) { s.Show.Unit = quantity.Newton }),
	}
}

func badMoves() []checktest.Bad {
	sheet := Factor{ex("0.8"), "from the sheet"}
	follow := func(field string, in PinionMove) checktest.Bad {
		return checktest.Bad{Call: "Follow", Field: field, Err: func() error { _, err := Follow(in); return err }}
	}
	fit := func(field string, in Fit) checktest.Bad {
		return checktest.Bad{Call: "Compare", Field: field, Err: func() error { _, err := Compare(in); return err }}
	}
	learn := func(field string, f Factor, e ...Earlier) checktest.Bad {
		return checktest.Bad{Call: "Learn", Field: field, Err: func() error { _, err := Learn(e, f); return err }}
	}
	angles := func(field string, pinion, wheel int, points ...quantity.Exact) checktest.Bad {
		return checktest.Bad{Call: "PinionAngles", Field: field, Err: func() error { _, err := PinionAngles(pinion, wheel, points); return err }}
	}
	return []checktest.Bad{
		follow("pinion teeth", PinionMove{Move: ex("0.1")}), follow("wheel teeth", PinionMove{Move: ex("0.1"), Pinion: 9, Wheel: -37}),
		follow("pinion move", PinionMove{Move: far(), Pinion: 9, Wheel: 37}), follow("pinion move", PinionMove{Move: dust(), Pinion: 9, Wheel: 37}),
		follow("ratio", PinionMove{Move: ex("0.1"), Ratio: exp("-1")}), follow("step", PinionMove{Move: ex("0.1"), Pinion: 9, Wheel: 37, Step: ex("-0.1")}),
		follow("step", PinionMove{Move: ex("500"), Pinion: 9, Wheel: 37}),
		follow("wheel factor", PinionMove{Move: ex("0.1"), Pinion: 9, Wheel: 37, WheelFactor: &Factor{}}),
		fit("gear", Fit{}), fit("U", Fit{Gear: "wheel", U: ex("-1"), Factor: sheet}), fit("factor", Fit{Gear: "wheel"}),
		fit("mean before", Fit{Gear: "wheel", Before: far(), Factor: sheet}), fit("predicted move", Fit{Gear: "wheel", Predicted: dust(), Factor: sheet}),
		learn("factor", Factor{}), learn("earlier re-shim 1, U", sheet, Earlier{U: ex("-1")}), learn("earlier re-shim 2, move", sheet, Earlier{}, Earlier{Move: far()}),
		learn("earlier re-shims", sheet, make([]Earlier, mostEarlier+1)...),
		{Call: "SamePinionTooth", Field: "pinion teeth", Err: func() error { _, err := SamePinionTooth(0, 37); return err }},
		{Call: "SamePinionTooth", Field: "wheel teeth", Err: func() error { _, err := SamePinionTooth(9, math.MaxInt); return err }},
		angles("pinion teeth", -1, 37), angles("point 1, angle", 9, 37, far()), angles("point 1, angle", 9, 37, ex("-361")),
	}
}

func badTorques(t *testing.T) []checktest.Bad {
	v := func(text string) quantity.Value { return value(t, text) }
	pull := func(field, force, housing, cord string) checktest.Bad {
		return checktest.Bad{Call: "TorqueOfPull", Field: field, Err: func() error { _, err := TorqueOfPull(v(force), v(housing), v(cord)); return err }}
	}
	radius := func(field, force, torque string) checktest.Bad {
		return checktest.Bad{Call: "RadiusOf", Field: field, Err: func() error { _, err := RadiusOf(v(force), v(torque)); return err }}
	}
	spacer := func(field string, change func(*Spacer)) checktest.Bad {
		return checktest.Bad{Call: "NextSpacer", Field: field, Err: func() error {
			in := spacer(trial("10.05", "5.1"))
			change(&in)
			_, err := NextSpacer(in)
			return err
		}}
	}
	drag := func(field string, with, without quantity.Exact) []checktest.Bad {
		return []checktest.Bad{
			{Call: "SealDrag", Field: field, Err: func() error { _, err := SealDrag(with, without); return err }},
			{Call: "LessSealDrag", Field: "", Err: func() error { _, err := LessSealDrag(with, without); return err }},
		}
	}
	list := []checktest.Bad{
		pull("pull", "10 mm", "100 mm", "2 mm"), pull("pull", "-10 N", "100 mm", "2 mm"), pull("pull", "999999 kgf", "100 mm", "2 mm"),
		pull("housing diameter", "10 N", "0 mm", "2 mm"), pull("housing diameter", "10 N", "-100 mm", "2 mm"), pull("housing diameter", "10 N", "99999 in", "2 mm"),
		pull("cord diameter", "10 N", "100 mm", "-2 mm"), pull("cord diameter", "10 N", "100 mm", "2 N"),
		radius("pull", "0 N", "1 N.m"), radius("pull", "1 mm", "1 N.m"), radius("pull", "-1 N", "1 N.m"), radius("torque", "1 N", "1 N"), radius("torque", "1 N", "-1 N.m"),
		{Call: "LessSealDrag", Field: "seal drag", Err: func() error { _, err := LessSealDrag(ex("1"), ex("2")); return err }},
		spacer("name", func(s *Spacer) { s.Name = "" }), spacer("trials", func(s *Spacer) { s.Trials = nil }),
		spacer("trial 1, torque", func(s *Spacer) { s.Trials[0].Torque = far() }), spacer("trial 1, thickness", func(s *Spacer) { s.Trials[0].Thickness = ex("-1") }),
		spacer("float of the row", func(s *Spacer) { s.Float = quantity.Ratio{} }), spacer("band", func(s *Spacer) { s.Band = band("3", "2") }),
		spacer("U", func(s *Spacer) { s.U = ex("-1") }), spacer("step", func(s *Spacer) { s.Step = dust() }), spacer("cap", func(s *Spacer) { s.Cap = ex("-1") }),
		spacer("rule", func(s *Spacer) { s.Rule = 9 }), spacer("show", func(s *Spacer) { s.Show.Places = 99 }),
	}
	list = append(list, drag("torque with the seal", ex("-1"), ex("0"))...)
	return append(list, drag("torque with the seal", far(), ex("0"))...)
}

func badMarks() []checktest.Bad {
	look := func(field string, table MarkTable, seen ...Seen) checktest.Bad {
		return checktest.Bad{Call: "MarkTable.Lookup", Field: field, Err: func() error { _, err := table.Lookup(seen, ring.Good, false); return err }}
	}
	check := func(field string, rules ...MarkRule) checktest.Bad {
		return checktest.Bad{Call: "MarkTable.Check", Field: field, Err: func() error { return MarkTable{Name: "x", Rules: rules}.Check() }}
	}
	high := []Seen{{AnyFlank, "high"}}
	return []checktest.Bad{
		look("marking table", MarkTable{}, Seen{"drive", "high"}), look("seen", CommonTable()),
		look("seen", CommonTable(), Seen{}), look("seen", CommonTable(), Seen{"drive", "high"}, Seen{"drive", "low"}),
		check("marking table"), check("rule 1", MarkRule{}), check("rule 1", MarkRule{When: high, Gear: "crown", Way: 1, From: "x"}),
		check("rule 1", MarkRule{When: high, Gear: "pinion", Way: 5, From: "x"}), check("rule 1", MarkRule{When: high, Gear: "pinion", Way: 1}),
		check("rule 2", MarkRule{When: high, Gear: "pinion", Way: 1, From: "x"}, MarkRule{When: high, Gear: "wheel", Way: 1, From: "x"}),
	}
}
