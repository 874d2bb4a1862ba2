package overhaul_test

import (
	"strings"
	"testing"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/ring"
)

// The readings of the pinion's position, without their head.
const pinionReadings = `
readings for: rd3
pieces:
  S-31: {standard: tall post, size: 75.004 mm}
  S-12: {standard: tall post, size: 50.003 mm}
  S-32: {standard: tall post, size: 75.021 mm}
  E-02: {standard: straightedge, size: 12.006 mm}
stock:
  shims: [{leaf: 1.00 mm, count: 2}, {leaf: 0.30 mm, count: 4}, {leaf: 0.10 mm, count: 4}, {leaf: 0.05 mm, count: 4}]
entries:
  - {step: pinion distance, digits: +8}
  - {step: casing distance, digits: -3}
  - {step: pinion head, presses: [42.37 mm, 42.37 mm]}
  - {step: pinion face height, pieces: [S-31, E-02], presses: [33.38 mm, 33.38 mm, 33.38 mm]}
`

// H = 75.004 + 12.006 − 33.38, P = 150.08 − 42.37 + H, C = 160.00 − 0.03,
// pack P − C.
func TestPinionPackIsPLessC(t *testing.T) {
	s := readSheet(t, "rd3.yaml")
	res := work(t, s, pinionReadings)
	same(t, "H", found(t, res, "pinion face height"), mm("53.630"))
	same(t, "C", found(t, res, "casing distance"), mm("159.970"))
	same(t, "mounting distance", found(t, res, "pinion distance"), mm("150.08"))
	same(t, "the pack", worked(t, res, "pinion pack"), mm("1.370"))
	contains(t, of(t, res, "pinion distance").Text, "0.080 mm FARTHER from wheel axis")
	contains(t, of(t, res, "casing distance").Text, "0.030 mm SHORTER")

	p := of(t, res, "pinion pack").Pack
	if p.OneMore != "setting unchanged, pinion goes OUT" {
		t.Errorf("one more says %q", p.OneMore)
	}
	if got := p.Makeup.Packs[0].String(); got != "1.00 mm + 0.30 mm + 0.05 mm" {
		t.Errorf("made up as %s", got)
	}
	status(t, res, "pinion pack", overhaul.Waiting, "make up the pack")
}

// A pack of 1.35 where 1.370 is wanted leaves the pinion 0.02 IN.
func TestPinionPackFittedThin(t *testing.T) {
	s := readSheet(t, "rd3.yaml")
	res := work(t, s, pinionReadings+"  - {step: pinion pack, fit: {measured: 1.35 mm}}\n")
	p := of(t, res, "pinion pack").Pack
	same(t, "the error", p.Error, mm("-0.020"))
	if p.ErrorDoes != "pinion sits 0.020 mm IN" {
		t.Errorf("the error does %q", p.ErrorDoes)
	}
	status(t, res, "pinion pack", overhaul.Done)
	same(t, "where the pinion stands", standing(t, res, "pinion distance").Low.Value, mm("150.06"))

	res = work(t, s, pinionReadings+"  - {step: pinion pack, fit: {measured: 1.33 mm}}\n")
	status(t, res, "pinion pack", overhaul.Held, "off by -0.040 mm", "ADD 0.040 mm")
	res = work(t, s, pinionReadings+"  - {step: pinion pack, fit: {leaves: [1.00 mm, 0.30 mm, 0.10 mm]}}\n")
	status(t, res, "pinion pack", overhaul.Held, "TAKE 0.030 mm")
}

func standing(t testing.TB, res *overhaul.Results, wanted string) overhaul.Standing {
	t.Helper()
	for _, s := range res.Places {
		if s.Wanted == wanted {
			return s
		}
	}
	t.Fatalf("%s does not stand anywhere", wanted)
	return overhaul.Standing{}
}

// The standard of 50 mm named where the one of 75 mm stood: the reading is in
// its window, the height is not what it can be, and no pack follows from it.
func TestWrongPostIsHeld(t *testing.T) {
	s := readSheet(t, "rd3.yaml")
	res := work(t, s, strings.ReplaceAll(pinionReadings, "[S-31, E-02]", "[S-12, E-02]"))
	status(t, res, "pinion face height", overhaul.Held, "28.629 mm", "52.90 mm .. 54.30 mm", "which piece stands in the setup")
	same(t, "H", found(t, res, "pinion face height"), mm("28.629"))
	status(t, res, "pinion pack", overhaul.Held, "not believed: see the step pinion face height")
	if of(t, res, "pinion pack").Pack.Worked != nil {
		t.Error("a pack was worked from a height that is not believed")
	}

	// Its twin of 75.021 mm passes: a value cannot tell twins apart.
	res = work(t, s, strings.ReplaceAll(pinionReadings, "[S-31, E-02]", "[S-32, E-02]"))
	status(t, res, "pinion face height", overhaul.Done)
	same(t, "H", found(t, res, "pinion face height"), mm("53.647"))
}

// A gauge knocked to inches: 1.3142 in is 33.38068 mm, exactly so in the sum.
func TestReadingInInchesAmongMillimetres(t *testing.T) {
	s := readSheet(t, "rd3.yaml")
	res := work(t, s, strings.ReplaceAll(pinionReadings, "33.38 mm, 33.38 mm, 33.38 mm", "1.3142 in, 1.3142 in, 1.3142 in"))
	same(t, "H", found(t, res, "pinion face height"), mm("75.004").Add(mm("12.006")).Sub(mm("33.38068")))
	same(t, "the pack", worked(t, res, "pinion pack"), mm("1.36932"))
	status(t, res, "pinion face height", overhaul.Done)
}

// The mark "+3" read as thousandths of an inch or as hundredths of a
// millimetre: 0.0462 mm apart.
func TestMarkDigitsInTwoUnits(t *testing.T) {
	digits := "nominal: 150.00 mm\n        digits: 0.01 mm"
	entries := strings.Replace(pinionReadings, "digits: +8", "digits: +3", 1)
	metric := work(t, readSheet(t, "rd3.yaml"), entries)
	thou := work(t, readSheet(t, "rd3.yaml", digits, strings.Replace(digits, "0.01 mm", "thou", 1)), entries)
	same(t, "in hundredths", found(t, metric, "pinion distance"), mm("150.03"))
	same(t, "in thousandths", found(t, thou, "pinion distance"), mm("150.0762"))
	same(t, "apart", worked(t, thou, "pinion pack").Sub(worked(t, metric, "pinion pack")), mm("0.0462"))
}

const torqueReadings = `
readings for: rd3
entries:
  - {step: pinion bearings, answer: new}
  - {step: pinion spacer, fit: {measured: 9.46 mm}}
  - {step: pinion turning torque, presses: [66.0 N, 66.0 N, 66.0 N, 66.0 N]}
`

// Torque = pull × (152.40 + 2.00)/2. New bearings take 2.00 to 3.50 N·m, used
// ones 1.00 to 1.75; too tight wants a thicker spacer.
func TestPinionTurningTorque(t *testing.T) {
	for _, c := range []struct {
		pull, bearings, torque string
		verdict                ring.Verdict
		status                 overhaul.Status
		advice                 string
	}{
		{"66.0", "new", "5.0952", ring.OutHigh, overhaul.Held, "fit a THICKER pinion spacer. One trial gives the way and not the amount."},
		{"38.0", "new", "2.9336", ring.Good, overhaul.Done, ""},
		{"38.0", "used", "2.9336", ring.OutHigh, overhaul.Held, "fit a THICKER pinion spacer. One trial gives the way and not the amount."},
		{"12.0", "new", "0.9264", ring.OutLow, overhaul.Held, "fit a THINNER pinion spacer. One trial gives the way and not the amount."},
	} {
		r := strings.ReplaceAll(torqueReadings, "66.0", c.pull)
		r = strings.Replace(r, "answer: new", "answer: "+c.bearings, 1)
		res := work(t, readSheet(t, "rd3.yaml"), r)
		check := of(t, res, "pinion turning torque").Check
		same(t, "the torque", check.Figure.Value, mm(c.torque))
		if check.Verdict != c.verdict || !strings.HasSuffix(check.Advice, c.advice) || (c.advice == "" && check.Advice != "") {
			t.Errorf("%s N on %s: %s, %q; want %s, %q", c.pull, c.bearings, check.Verdict, check.Advice, c.verdict, c.advice)
		}
		status(t, res, "pinion turning torque", c.status)
	}
}

// A new spacer makes the old torque stale, and the torque after it counts.
func TestSpacerChangedMakesTorqueStale(t *testing.T) {
	s := readSheet(t, "rd3.yaml")
	body := torqueReadings + "  - {step: pinion spacer, fit: {measured: 9.50 mm}}\n"
	res := work(t, s, body)
	status(t, res, "pinion turning torque", overhaul.Stale, "now build 3", "is from build 2")
	res = work(t, s, body+"  - {step: pinion turning torque, presses: [38.0 N, 38.0 N, 38.0 N, 38.0 N]}\n")
	status(t, res, "pinion turning torque", overhaul.Done)
	same(t, "the torque", of(t, res, "pinion turning torque").Check.Figure.Value, mm("2.9336"))
}

// 8.5 lbf × 3.125 in = 26.5625 lbf·in = 3.0012 N·m.
func TestTurningTorqueInPounds(t *testing.T) {
	s := readSheet(t, "rd3.yaml",
		"window: 1.0 N .. 120.0 N", "window: 0.2 lbf .. 30.0 lbf",
		"cord runs on: 152.40 mm", "cord runs on: 6.170 in", "cord: 2.00 mm", "cord: 0.080 in")
	res := work(t, s, strings.ReplaceAll(torqueReadings, "66.0 N", "8.5 lbf"))
	check := of(t, res, "pinion turning torque").Check
	same(t, "the torque in lbf·in", check.Figure.Value.In(quantity.PoundForceInch), mm("26.5625"))
	if got := check.Figure.Value.Round(4).StringFixed(4); got != "3.0012" {
		t.Errorf("the torque is %s N·m", got)
	}
	if check.Verdict != ring.Good {
		t.Errorf("the verdict is %s", check.Verdict)
	}
}

// Rough used bearings: the mean lies in the band, the roughness does not, and
// no spacer is advised.
func TestRoughBearingGetsNoSpacerAdvice(t *testing.T) {
	r := strings.Replace(torqueReadings, "66.0 N, 66.0 N, 66.0 N, 66.0 N", "11.0 N, 24.5 N, 13.0 N, 22.0 N", 1)
	r = strings.Replace(r, "answer: new", "answer: used", 1)
	res := work(t, readSheet(t, "rd3.yaml"), r)
	check := of(t, res, "pinion turning torque").Check
	same(t, "the mean torque", check.Figure.Value, mm("1.36065"))
	same(t, "the mean of the pulls, four times", check.Points[0].Figure.Value.Times(quantity.Whole(4)), mm("70.5"))
	contains(t, check.Rough.Rule, "0.766")
	status(t, res, "pinion turning torque", overhaul.Held, "is rough", "NOT GOOD")
	contains(t, check.Advice, "Replace the bearing")
	if strings.Contains(check.Advice, "THICKER") || strings.Contains(check.Advice, "THINNER") {
		t.Errorf("a spacer is advised: %q", check.Advice)
	}
}

// A pack that tightens is advised the other way: shims behind the tail
// bearing's outer race, too tight a torque, fewer of them.
func TestTorqueSetByAPackThatTightens(t *testing.T) {
	s := readSheet(t, "rd3.yaml",
		"spacer front, spacer back,\n    tail track", "spacer front, spacer back,\n    tail shoulder, tail track",
		"housing between the shoulders: [head track, tail track]", "housing between the shoulders: [head track, tail shoulder]\n  solid spacer: [spacer front, spacer back]",
		"between: [spacer front, spacer back]", "between: [tail shoulder, tail track]",
		"place: between the pinion's inner races", "place: behind the tail bearing's outer race")
	res := work(t, s, torqueReadings)
	if got := of(t, res, "pinion turning torque").Check.Advice; !strings.Contains(got, "fit a THINNER pinion spacer.") {
		t.Errorf("too tight, and the advice is %q", got)
	}
	res = work(t, s, strings.ReplaceAll(torqueReadings, "66.0", "12.0"))
	if got := of(t, res, "pinion turning torque").Check.Advice; !strings.Contains(got, "fit a THICKER pinion spacer.") {
		t.Errorf("too loose, and the advice is %q", got)
	}
}
