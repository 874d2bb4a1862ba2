package overhaul_test

import (
	"testing"

	"shimwright/calc/overhaul"
	"shimwright/calc/ring"
)

// oddSteps are steps of the kinds that the drive's stories do not have.
const oddSteps = `      - check: wheel run-out
        what: run-out
        gauge: dial indicator
        points: [0 deg, 90 deg, 180 deg, 270 deg]
        window: 0.00 mm .. 1.50 mm
        spread: 0.06 mm
        uncertainty: 0.01 mm
      - check: cover bolts
        what: tightening
        gauge: torque wrench
        window: 1.0 N.m .. 120.0 N.m
        band: 44.0 N.m .. 52.0 N.m
      - confirm: turned by hand
        say: Turn three times each way by hand
      - mark: lot
        digits: thou
        plus: not a length
      - mark: stamped datum height
        as check: [wheel datum, back race]
        nominal: 61.00 mm
        digits: 0.01 mm
        plus: longer
        closes within: 0.02 mm
      - record: pinion bearings
`

// Run-out is highest less lowest over the turn.
func TestRunOut(t *testing.T) {
	s := readSheet(t, "rd3.yaml", "      - record: pinion bearings\n", oddSteps)
	for points, want := range map[string]struct {
		verdict ring.Verdict
		status  overhaul.Status
	}{
		"0 deg: [0.50 mm], 90 deg: [0.52 mm], 180 deg: [0.54 mm], 270 deg: [0.51 mm]": {ring.Good, overhaul.Done},
		"0 deg: [0.50 mm], 90 deg: [0.52 mm], 180 deg: [0.55 mm], 270 deg: [0.51 mm]": {ring.Good, overhaul.Done},
		"0 deg: [0.50 mm], 90 deg: [0.52 mm], 180 deg: [0.56 mm], 270 deg: [0.51 mm]": {ring.TooClose, overhaul.Held},
		"0 deg: [0.50 mm], 90 deg: [0.52 mm], 180 deg: [0.58 mm], 270 deg: [0.51 mm]": {ring.OutHigh, overhaul.Held},
	} {
		res := work(t, s, "readings for: rd3\nentries: [{step: wheel run-out, at: {"+points+"}}]\n")
		c := of(t, res, "wheel run-out").Check
		if c.Verdict != want.verdict {
			t.Errorf("%s: %s, want %s", points, c.Verdict, want.verdict)
		}
		status(t, res, "wheel run-out", want.status)
		contains(t, c.Words, "of 0.060 mm allowed")
		same(t, points, c.Figure.Value, c.Points[2].Figure.Value.Sub(c.Points[0].Figure.Value))
	}
}

func TestTighteningAndConfirming(t *testing.T) {
	s := readSheet(t, "rd3.yaml", "      - record: pinion bearings\n", oddSteps)
	entries := "readings for: rd3\nentries:\n"
	res := work(t, s, entries+"  - {step: cover bolts, presses: [48.0 N.m]}\n")
	status(t, res, "cover bolts", overhaul.Done)
	contains(t, of(t, res, "cover bolts").Check.Words, "the torque is 48.0000 N.m, limits 44.0000 .. 52.0000 N.m: GOOD")
	status(t, res, "turned by hand", overhaul.Waiting, "confirm it")
	res = work(t, s, entries+"  - {step: cover bolts, presses: [53.0 N.m]}\n  - {step: turned by hand, done: yes}\n")
	status(t, res, "cover bolts", overhaul.Held, "OUT")
	status(t, res, "turned by hand", overhaul.Done, "confirmed")
	// Pound-feet are turned into newton-metres exactly: 1.3558… each (NIST SP 811).
	res = work(t, s, entries+"  - {step: cover bolts, presses: [35.0 lbf.ft]}\n")
	same(t, "torque", of(t, res, "cover bolts").Check.Figure.Value, mm("1.3558179483314004").Mul(mm("35")))
}

// A mark that is not a length is read back and enters no sum; one found as
// check closes against what was measured.
func TestMarksThatAreNoDistance(t *testing.T) {
	s := readSheet(t, "rd3.yaml", "      - record: pinion bearings\n", oddSteps)
	res := work(t, s, wheelReadings+"  - {step: lot, digits: +4}\n  - {step: stamped datum height, digits: +7}\n")
	status(t, res, "lot", overhaul.Done, "reads 4 and is not a length")
	if f := of(t, res, "lot").Figure; f != nil {
		t.Errorf("it has a figure, %s", f.Value)
	}
	same(t, "closure", of(t, res, "stamped datum height").Closure.Value, mm("-0.01"))
	status(t, res, "stamped datum height", overhaul.Done)
	same(t, "wheel pack", worked(t, res, "wheel pack"), mm("1.430"))
	res = work(t, s, wheelReadings+"  - {step: stamped datum height, digits: -7}\n")
	status(t, res, "stamped datum height", overhaul.Held, "does not close: found 60.930 mm, predicted 61.080 mm")
	same(t, "wheel pack", worked(t, res, "wheel pack"), mm("1.430"))
}
