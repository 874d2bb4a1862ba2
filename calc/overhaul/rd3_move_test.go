package overhaul_test

import (
	"strings"
	"testing"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
)

// movedJob is the pinion's and the wheel's sides with their packs fitted, the
// ring in build 4, and the pinion moved IN by 0.15.
const movedJob = wheelReadings + `
  - {step: pinion distance, digits: +8}
  - {step: casing distance, digits: -3}
  - {step: pinion head, presses: [42.37 mm, 42.37 mm]}
  - {step: pinion face height, pieces: [S-31, E-02], presses: [33.38 mm, 33.38 mm, 33.38 mm]}
  - {step: pinion pack, fit: {measured: 1.37 mm}}
  - {step: closing pack, fit: {measured: 1.843 mm}}
  - {step: backlash, at: {0 deg: [0.20 mm], 90 deg: [0.20 mm], 180 deg: [0.20 mm], 270 deg: [0.20 mm]}}
  - {step: contact marking, seen: {drive: high, coast: high}}
  - {step: contact marking, move: {pinion: IN, by: 0.15 mm}}
`

var byLoopAlone = []string{"        worked by: change\n        checked by: loop\n        closes within: 0.07 mm\n", ""}

// The pinion goes IN by 0.15, its pack from 1.37 to 1.22; the wheel gives the
// backlash back, 0.15 × 9/37 = 0.0365 AWAY.
func TestPinionMovedIn(t *testing.T) {
	res := work(t, readSheet(t, "rd3.yaml", byLoopAlone...), movedJob)
	same(t, "pinion pack", worked(t, res, "pinion pack"), mm("1.22"))
	status(t, res, "pinion pack", overhaul.Stale, "fit it anew: TAKE 0.150 mm")
	follow := mm("0.15").Times(ratio(t, 9, 37))
	if got := follow.Round(4).StringFixed(4); got != "0.0365" {
		t.Errorf("the follow-up is %s", got)
	}
	// Thinner moves the wheel AWAY, and the closing pack takes up what it gave.
	same(t, "wheel pack", worked(t, res, "wheel pack"), mm("1.430").Sub(follow))
	status(t, res, "wheel pack", overhaul.Stale, "TAKE 0.036 mm")
	same(t, "closing pack", worked(t, res, "closing pack"), mm("1.843").Add(follow))
	status(t, res, "closing pack", overhaul.Stale, "ADD 0.036 mm")

	moves := of(t, res, "contact marking").Check.Moves
	if len(moves) != 2 || moves[0].Gear != "pinion" || moves[1].Gear != "wheel" {
		t.Fatalf("the moves are %v", moves)
	}
	contains(t, moves[0].Words, "pinion goes IN by 0.1500 mm")
	contains(t, moves[1].Words, "wheel goes AWAY by 0.0365 mm (pinion's move × 9/37 teeth, so that backlash holds)")
	// A move only planned changes no metal.
	if res.Build != 4 {
		t.Errorf("build %d, want 4", res.Build)
	}
	status(t, res, "backlash", overhaul.Done)
}

func ratio(t testing.TB, a, b int64) quantity.Ratio {
	t.Helper()
	r, err := quantity.RatioOf(a, b)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// The new pinion pack makes the ring stale. Three points pressed anew leave the
// fourth, by its name and its build.
func TestRingIsStalePointByPoint(t *testing.T) {
	s := readSheet(t, "rd3.yaml", byLoopAlone...)
	body := movedJob + "  - {step: pinion pack, fit: {measured: 1.22 mm}}\n"
	res := work(t, s, body)
	status(t, res, "pinion pack", overhaul.Done)
	status(t, res, "backlash", overhaul.Stale, "now build 5", "0 deg is from build 4, 90 deg is from build 4, 180 deg is from build 4, 270 deg is from build 4")
	status(t, res, "contact marking", overhaul.Stale, "now build 5")

	body += "  - {step: backlash, at: {0 deg: [0.20 mm], 90 deg: [0.20 mm], 180 deg: [0.20 mm]}}\n"
	res = work(t, s, body)
	status(t, res, "backlash", overhaul.Stale, "now build 5: 270 deg is from build 4.", "1 more press of 4, next at 270 deg")
	for i, want := range []int{5, 5, 5, 4} {
		p := of(t, res, "backlash").Check.Points[i]
		if p.Build != want || p.Stale != (want == 4) {
			t.Errorf("point %s: build %d, stale %t", p.Spot, p.Build, p.Stale)
		}
	}
	body += "  - {step: backlash, at: {270 deg: [0.21 mm]}}\n"
	res = work(t, s, body)
	status(t, res, "backlash", overhaul.Done)

	// Once more stale, a point's figure is that of its last build, and not a mean
	// over metal that is not there any more.
	body += "  - {step: pinion pack, fit: {measured: 1.23 mm}}\n"
	res = work(t, s, body)
	status(t, res, "backlash", overhaul.Stale, "now build 6", "0 deg is from build 5")
	same(t, "the stale point at 270 deg", of(t, res, "backlash").Check.Points[3].Figure.Value, mm("0.21"))
}

// The same move where the closing pack is worked from its trial build: the
// wheel pack is not the one of the trial build any more, so it does not cancel.
func TestMoveAfterATrialBuild(t *testing.T) {
	s := readSheet(t, "rd3.yaml")
	body := strings.Replace(movedJob, "  - {step: closing pack, fit: {measured: 1.843 mm}}\n",
		trialReadings+"  - {step: closing pack, fit: {measured: 1.84 mm}}\n", 1)
	follow := mm("0.15").Times(ratio(t, 9, 37))
	res := work(t, s, body)
	same(t, "closing pack, wheel pack to be fitted", worked(t, res, "closing pack"), mm("1.84").Add(follow))
	same(t, "the closure", of(t, res, "closing pack").Pack.Closure.Value, mm("-0.003"))
	res = work(t, s, body+"  - {step: wheel pack, fit: {measured: 1.39 mm}}\n")
	same(t, "closing pack, wheel pack of 1.39 fitted", worked(t, res, "closing pack"), mm("1.88"))
	status(t, res, "closing pack", overhaul.Stale, "ADD 0.040 mm")
	res = work(t, s, body+"  - {step: wheel pack, fit: {measured: 1.39 mm}}\n  - {step: closing pack, fit: {measured: 1.88 mm}}\n")
	same(t, "closing pack refitted", worked(t, res, "closing pack"), mm("1.88"))
	status(t, res, "closing pack", overhaul.Done)
}

// A second trial pack: the float found with the first says nothing of it.
func TestSecondTrialPackWantsItsOwnFloat(t *testing.T) {
	s := readSheet(t, "rd3.yaml")
	body := wheelReadings + trialReadings + "  - {step: trial closing pack, fit: {measured: 1.60 mm}}\n"
	res := work(t, s, body)
	status(t, res, "float with the trial pack", overhaul.Stale)
	if p := of(t, res, "closing pack").Pack; p.Worked != nil {
		t.Errorf("the closing pack is worked to %s from one trial pack and another's float", p.Worked.Value)
	}
	res = work(t, s, body+"  - {step: float with the trial pack, at: {pull: [1.00 mm, 1.00 mm, 1.00 mm], push: [1.16 mm, 1.16 mm, 1.16 mm]}}\n")
	same(t, "closing pack", worked(t, res, "closing pack"), mm("1.84"))
	// The pack fitted for good does not make the trial's float stale.
	res = work(t, s, wheelReadings+trialReadings+"  - {step: closing pack, fit: {measured: 1.84 mm}}\n")
	status(t, res, "float with the trial pack", overhaul.Done)
	same(t, "closing pack", worked(t, res, "closing pack"), mm("1.84"))
	status(t, res, "closing pack", overhaul.Done)
}

// Moved IN and back OUT by as much, no pack need be touched.
func TestMoveTakenBack(t *testing.T) {
	s := readSheet(t, "rd3.yaml", byLoopAlone...)
	res := work(t, s, movedJob+"  - {step: contact marking, move: {pinion: OUT, by: 0.15 mm}}\n")
	for pack, want := range map[string]string{"pinion pack": "1.37", "wheel pack": "1.430", "closing pack": "1.843"} {
		same(t, pack, worked(t, res, pack), mm(want))
		status(t, res, pack, overhaul.Done)
	}
	// Moved on from where it was moved to and fitted.
	res = work(t, s, movedJob+"  - {step: pinion pack, fit: {measured: 1.22 mm}}\n  - {step: contact marking, move: {pinion: OUT, by: 0.05 mm}}\n")
	same(t, "pinion pack", worked(t, res, "pinion pack"), mm("1.27"))
	status(t, res, "pinion pack", overhaul.Stale, "ADD 0.050 mm")
	net := mm("0.10").Times(ratio(t, 9, 37))
	same(t, "wheel pack", worked(t, res, "wheel pack"), mm("1.430").Sub(net))
	same(t, "closing pack", worked(t, res, "closing pack"), mm("1.843").Add(net))
	// The wheel alone moved: no follow-up of the pinion.
	res = work(t, s, strings.Replace(movedJob, "move: {pinion: IN, by: 0.15 mm}", "move: {wheel: TOWARD, by: 0.175 mm}", 1))
	same(t, "pinion pack", worked(t, res, "pinion pack"), mm("1.370"))
	status(t, res, "pinion pack", overhaul.Done)
	same(t, "wheel pack", worked(t, res, "wheel pack"), mm("1.605"))
	same(t, "closing pack", worked(t, res, "closing pack"), mm("1.668"))
}
