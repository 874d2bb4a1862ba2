package overhaul_test

import (
	"slices"
	"strings"
	"testing"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
)

// The readings of the wheel's side: the wheel pack is fitted as worked.
const wheelReadings = `
readings for: rd3
pieces:
  S-31: {standard: tall post, size: 75.004 mm}
  S-41: {standard: long post, size: 150.006 mm}
  S-51: {standard: overall post, size: 200.011 mm}
  E-02: {standard: straightedge, size: 12.006 mm}
entries:
  - {step: joint to pinion axis, digits: +2}
  - {step: wheel distance, digits: -5}
  - {step: casing depth, pieces: [S-41, E-02], presses: [31.48 mm, 31.48 mm, 31.48 mm]}
  - {step: wheel height, pieces: [S-31, E-02], presses: [25.93 mm, 25.93 mm, 25.93 mm]}
  - {step: wheel pack, fit: {measured: 1.430 mm}}
  - {step: cover recess, presses: [18.74 mm, 18.74 mm, 18.74 mm]}
  - step: overall height
    pieces: [S-51, E-02]
    in: {wheel pack: no}
    presses: [26.99 mm, 26.99 mm, 26.99 mm]
`

// The trial build: 1.65 mm gave 0.11 mm of float.
const trialReadings = `
  - {step: trial closing pack, fit: {measured: 1.65 mm}}
  - step: float with the trial pack
    at: {pull: [1.00 mm, 1.00 mm, 1.00 mm], push: [1.11 mm, 1.11 mm, 1.11 mm]}
`

const (
	heldState   = "state: {wheel shaft: held against wheel-back side}"
	closedState = "state: {wheel shaft: closed}\n        nominal: 45.00 mm"
	preload     = "preload: 0.08 mm"
)

// D = 150.006 + 31.48 − 12.006, K = D − 62.02, A = 75.004 + 12.006 − 25.93,
// W = 45.00 − 0.05, pack K − W − A with the wheel held against the pack's side.
func TestWheelPackIsKLessWLessA(t *testing.T) {
	res := work(t, readSheet(t, "rd3.yaml"), wheelReadings)
	same(t, "D", found(t, res, "casing depth"), mm("169.480"))
	same(t, "joint to axis", found(t, res, "joint to pinion axis"), mm("62.02"))
	same(t, "A", found(t, res, "wheel height"), mm("61.080"))
	same(t, "W", found(t, res, "wheel distance"), mm("44.95"))
	same(t, "the pack", worked(t, res, "wheel pack"), mm("1.430"))
	status(t, res, "wheel pack", overhaul.Done)
	if got := of(t, res, "wheel pack").Pack.OneMore; got != "tighter, wheel goes TOWARD the pinion" {
		t.Errorf("one more says %q", got)
	}
}

// Both ways to the closing pack. By the loop: R + D − O − inner pack + squeeze
// = 18.74 + 169.480 − 185.027 − 1.430 + 0.08 = 1.843. By the trial build:
// 1.65 + 0.11 + 0.08 = 1.84, which decides.
func TestClosingPackBothWays(t *testing.T) {
	res := work(t, readSheet(t, "rd3.yaml"), wheelReadings+trialReadings)
	same(t, "O", found(t, res, "overall height"), mm("185.027"))
	same(t, "by the trial build", worked(t, res, "closing pack"), mm("1.84"))
	p := of(t, res, "closing pack").Pack
	same(t, "by the loop", p.Other.Value, mm("1.843"))
	same(t, "the closure", p.Closure.Value, mm("-0.003"))
	if !p.Closure.Good {
		t.Error("a closure of 0.003 is not good within 0.07")
	}
	if p.OneMore != "tighter, wheel goes AWAY" {
		t.Errorf("one more says %q", p.OneMore)
	}
	// The straightedge, the depth gauge's readings and the preload, each with
	// its sign: up in the depth, twice down in the sum.
	for name, want := range map[string]int64{"straightedge": -2, "long post": 1, "overall post": -1, "wheel setting": -1} {
		leaves := p.Other.Leaves()
		i := slices.IndexFunc(leaves, func(l overhaul.LeafTerm) bool { return l.Figure.Name == name })
		if i < 0 || !leaves[i].Coef.Equal(quantity.Whole(want)) {
			t.Errorf("%s is not counted %d in %v", name, want, leaves)
		}
	}
}

// A preload deducted where it must be added is wrong by twice itself.
func TestClosingPackWithFloatInPlaceOfPreload(t *testing.T) {
	for setting, want := range map[string]string{preload: "1.843", "float: 0.08 mm": "1.683", "preload: 0.00 mm": "1.763"} {
		res := work(t, readSheet(t, "rd3.yaml", preload, setting), wheelReadings+trialReadings)
		same(t, setting, of(t, res, "closing pack").Pack.Other.Value, mm(want))
	}
}

// The inner pack said to be in where it was not: S0 comes out 3.193.
func TestInnerPackForgotten(t *testing.T) {
	entries := strings.Replace(wheelReadings, "in: {wheel pack: no}", "in: {wheel pack: yes}", 1)
	res := work(t, readSheet(t, "rd3.yaml", preload, "preload: 0.00 mm"), entries+trialReadings)
	p := of(t, res, "closing pack").Pack
	same(t, "S0", p.Other.Value, mm("3.193"))
	same(t, "the closure", p.Closure.Value, mm("-1.433"))
	if p.Closure.Good {
		t.Error("1.433 apart is good within 0.07")
	}
	status(t, res, "closing pack", overhaul.Held, "lie 1.433 mm apart", "at most 0.07 mm")

	// Not answered: no figure, and no default.
	entries = strings.Replace(wheelReadings, "    in: {wheel pack: no}\n", "", 1)
	res = work(t, readSheet(t, "rd3.yaml"), entries)
	status(t, res, "overall height", overhaul.Waiting, "whether wheel pack was in")
	// In, and not measured yet: its measured figure is wanted.
	entries = strings.Replace(wheelReadings, "  - {step: wheel pack, fit: {measured: 1.430 mm}}\n", "", 1)
	entries = strings.Replace(entries, "in: {wheel pack: no}", "in: {wheel pack: yes}", 1)
	res = work(t, readSheet(t, "rd3.yaml"), entries)
	status(t, res, "overall height", overhaul.Waiting, "the measured figure of wheel pack, which was in")
}

// A pack that was in while the height was taken counts as it measured then,
// whatever is fitted later.
func TestPackInAsMeasuredThen(t *testing.T) {
	entries := strings.Replace(wheelReadings, "in: {wheel pack: no}", "in: {wheel pack: yes}", 1)
	entries = strings.Replace(entries, "26.99 mm, 26.99 mm, 26.99 mm", "25.56 mm, 25.56 mm, 25.56 mm", 1)
	s := readSheet(t, "rd3.yaml")
	same(t, "O", found(t, work(t, s, entries), "overall height"), mm("185.027"))
	later := entries + "  - {step: wheel pack, fit: {measured: 1.450 mm}}\n"
	same(t, "O, another pack fitted since", found(t, work(t, s, later), "overall height"), mm("185.027"))
}

// Worked for the closed shaft, the wheel is pushed AWAY by half the squeeze of
// 0.08: its own pack 0.04 thicker, the closing pack 0.04 thinner.
func TestPacksForTheClosedShaft(t *testing.T) {
	closed := []string{heldState + "\n        nominal: 45.00 mm", closedState}
	res := work(t, readSheet(t, "rd3.yaml", closed...), strings.Replace(wheelReadings, "1.430 mm", "1.470 mm", 1)+trialReadings)
	same(t, "wheel pack", worked(t, res, "wheel pack"), mm("1.470"))
	same(t, "closing pack by the loop", of(t, res, "closing pack").Pack.Other.Value, mm("1.803"))

	// Worked held and judged closed, the wheel stands 0.04 farther out.
	sheet := readSheet(t, "rd3.yaml")
	fits := "  - {step: closing pack, fit: {measured: 1.843 mm}}\n"
	res = work(t, sheet, wheelReadings+trialReadings+fits)
	same(t, "held", standing(t, res, "wheel distance").Low.Value, mm("44.95"))
	sheet = readSheet(t, "rd3.yaml", closed...)
	res = work(t, sheet, wheelReadings+trialReadings+fits)
	same(t, "closed", standing(t, res, "wheel distance").Low.Value, mm("44.99"))
	same(t, "the setting", standing(t, res, "wheel setting").Low.Value, mm("-0.08"))
}

// The sister drive's pack lies under the flange. The under-track sum gives
// R + D − O − inner = 15.42 + 169.480 − 185.027 − 1.430 = −1.557: no pack lies
// there. The flange sum turns every sign, and takes the squeeze off.
func TestSisterDriveWithFlangePack(t *testing.T) {
	entries := strings.Replace(wheelReadings, "18.74 mm, 18.74 mm, 18.74 mm", "15.42 mm, 15.42 mm, 15.42 mm", 1)
	byLoop := []string{"        worked by: change\n        checked by: loop\n        closes within: 0.07 mm\n", ""}
	res := work(t, readSheet(t, "rd3.yaml", append(byLoop, preload, "preload: 0.00 mm")...), entries)
	same(t, "under the track", worked(t, res, "closing pack"), mm("-1.557"))
	status(t, res, "closing pack", overhaul.Stopped, "STOP. The pack works out at -1.557 mm", "already overlap", "Do not fit",
		"under the track, tooth side", "the standard and the straightedge")
	if of(t, res, "closing pack").Pack.Makeup != nil {
		t.Error("a stopped pack is made up")
	}
	res = work(t, readSheet(t, "rd3.yaml", byLoop...), entries)
	status(t, res, "closing pack", overhaul.Stopped, "STOP. The pack works out at -1.477 mm")

	sister := strings.Replace(entries, "readings for: rd3", "readings for: rd3s", 1)
	for setting, want := range map[string]string{"preload: 0.00 mm": "1.557", preload: "1.477", "float: 0.08 mm": "1.637"} {
		res = work(t, readSheet(t, "rd3s.yaml", preload, setting), sister)
		same(t, "under the flange, "+setting, worked(t, res, "closing pack"), mm(want))
	}
	if got := of(t, res, "closing pack").Pack.OneMore; got != "looser, wheel goes TOWARD the pinion" {
		t.Errorf("one more says %q", got)
	}
}

// What a pack's error does is told in the state the gear is worked in: held it
// moves the wheel by all of it, closed by half, and the float by all of it.
func TestErrorIsToldInItsState(t *testing.T) {
	for _, c := range []struct{ name, state, fit, does string }{
		{"held", heldState + "\n        nominal: 45.00 mm", "1.410 mm", "wheel shaft looser by 0.020 mm, wheel sits 0.020 mm AWAY"},
		{"closed", closedState, "1.450 mm", "wheel shaft looser by 0.020 mm, wheel sits 0.010 mm AWAY"},
		{"closed and thick", closedState, "1.490 mm", "wheel shaft tighter by 0.020 mm, wheel sits 0.010 mm TOWARD the pinion"},
	} {
		s := readSheet(t, "rd3.yaml", heldState+"\n        nominal: 45.00 mm", c.state)
		res := work(t, s, strings.Replace(wheelReadings, "1.430 mm", c.fit, 1))
		if got := of(t, res, "wheel pack").Pack.ErrorDoes; got != c.does {
			t.Errorf("%s: %q, want %q", c.name, got, c.does)
		}
	}
}

// A length found as check whose loop crosses a touch closes in the state in
// which the gear is worked: joint to wheel datum is D − A − pack, less half the
// preload when closed.
func TestCheckAcrossATouch(t *testing.T) {
	for state, want := range map[string]string{heldState + "\n        nominal: 45.00 mm": "106.970", closedState: "107.010"} {
		body := text(t, "rd3.yaml", heldState+"\n        nominal: 45.00 mm", state, "  - stage: closing pack\n", `      - measure: wheel seen from the joint
        as check: [casing joint, wheel datum]
        setup: direct
        gauge: depth gauge
        window: 100.00 mm .. 110.00 mm
        presses: 1
        agree: 0.02 mm
        closes within: 0.02 mm

  - stage: closing pack
`)
		res := work(t, parse(t, body), wheelReadings+"  - {step: closing pack, fit: {measured: 1.843 mm}}\n  - {step: wheel seen from the joint, presses: [106.98 mm]}\n")
		c := of(t, res, "wheel seen from the joint").Closure
		if c == nil {
			t.Fatalf("no closure: %q", of(t, res, "wheel seen from the joint").Wants)
		}
		same(t, state, c.Predicted.Value, mm(want))
		if c.Good != (want == "106.970") {
			t.Errorf("%s: closure %s, good %t", state, c.Value, c.Good)
		}
	}
}
