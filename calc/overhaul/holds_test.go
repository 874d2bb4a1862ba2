package overhaul_test

import (
	"strings"
	"testing"

	"shimwright/calc/overhaul"
)

const gk1Readings = `
readings for: gk1
pieces:
  S-11: {standard: post, size: 25.002 mm}
  E-02: {standard: straightedge, size: 12.006 mm}
entries:
  - {step: recess, presses: [7.13 mm, 7.13 mm]}
  - {step: gasket, presses: [0.42 mm, 0.42 mm]}
  - {step: casing depth, absent: yes}
  - {step: stack height, pieces: [S-11, E-02], presses: [11.07 mm, 11.07 mm]}
  - {step: seat to seat, presses: [47.56 mm, 47.56 mm]}
`

// A length found as check closes its loop: found less predicted.
func TestLengthFoundAsCheckCloses(t *testing.T) {
	s := readSheet(t, "gk1.yaml")
	res := work(t, s, gk1Readings)
	c := of(t, res, "seat to seat").Closure
	same(t, "predicted", c.Predicted.Value, mm("47.55"))
	same(t, "closure", c.Value, mm("0.01"))
	status(t, res, "seat to seat", overhaul.Done)

	// On the limit it is good, beyond it is held, on either side.
	for reading, want := range map[string]overhaul.Status{"47.58": overhaul.Done, "47.52": overhaul.Done, "47.59": overhaul.Held, "47.51": overhaul.Held} {
		res = work(t, s, strings.ReplaceAll(gk1Readings, "47.56", reading))
		status(t, res, "seat to seat", want)
		if want == overhaul.Held {
			status(t, res, "seat to seat", want, "does not close: found "+reading+"0 mm, predicted 47.550 mm", "at most 0.03 mm")
		}
		// A check changes no pack.
		same(t, "the pack", worked(t, res, "end pack"), mm("21.512"))
	}
	res = work(t, s, strings.Replace(gk1Readings, "  - {step: gasket, presses: [0.42 mm, 0.42 mm]}\n", "", 1))
	status(t, res, "seat to seat", overhaul.Done, "waits for gasket")
	status(t, res, "end pack", overhaul.Waiting, "waits for gasket")
}

// No mark on the part is the nominal where the sheet says so.
func TestAbsentMarkIsNominal(t *testing.T) {
	res := work(t, readSheet(t, "gk1.yaml"), gk1Readings)
	same(t, "casing depth", found(t, res, "casing depth"), mm("40.00"))
	contains(t, of(t, res, "casing depth").Text, "no mark: from casing joint to stack seat is the nominal 40.00 mm")
}

// A found length below nought stops, and no pack follows from it.
func TestNegativeLengthStops(t *testing.T) {
	s := readSheet(t, "gk1.yaml")
	res := work(t, s, strings.ReplaceAll(gk1Readings, "11.07", "38.07"))
	status(t, res, "stack height", overhaul.Stopped, "STOP. stack height works out at -1.062 mm: a length is not below nought", "Check the standard, the straightedge and the reading")
	status(t, res, "end pack", overhaul.Held, "stack height is not believed")
	res = work(t, s, strings.Replace(gk1Readings, "absent: yes", "digits: -4100", 1))
	status(t, res, "casing depth", overhaul.Stopped, "-1.000 mm")
}

func TestPackBelowNoughtOrOutOfRange(t *testing.T) {
	s := readSheet(t, "gk1.yaml")
	res := work(t, s, strings.Replace(gk1Readings, "absent: yes", "digits: -2200", 1))
	same(t, "pack", worked(t, res, "end pack"), mm("-0.488"))
	status(t, res, "end pack", overhaul.Stopped, "STOP. The pack works out at -0.488 mm: the parts already overlap. Do not fit.", "between cover and bearing")
	// A fitted pack does not lift the stop.
	res = work(t, s, strings.Replace(gk1Readings, "absent: yes", "digits: -2200", 1)+"  - {step: end pack, fit: {measured: 0.488 mm}}\n")
	status(t, res, "end pack", overhaul.Stopped)
	res = work(t, s, strings.Replace(gk1Readings, "absent: yes", "digits: -2150", 1))
	same(t, "pack", worked(t, res, "end pack"), mm("0.012"))
	status(t, res, "end pack", overhaul.Stopped, "STOP. The pack works out at 0.012 mm, and 0.50 mm .. 30.00 mm is what this drive takes. Do not fit.")
}

// Presses that lie too far apart give no mean and no figure.
func TestPressesThatDoNotAgree(t *testing.T) {
	s := readSheet(t, "gk1.yaml")
	res := work(t, s, strings.Replace(gk1Readings, "[7.13 mm, 7.13 mm]", "[7.13 mm, 7.16 mm]", 1))
	status(t, res, "recess", overhaul.Held, "The presses lie 0.030 mm apart, at most 0.02 mm is allowed: clean and stone the faces", "They are not averaged")
	if r := of(t, res, "recess"); r.Figure != nil {
		t.Errorf("a figure of %s was made", r.Figure.Value)
	}
	status(t, res, "end pack", overhaul.Held)
	// Taken again, only the later presses count.
	again := strings.Replace(gk1Readings, "[7.13 mm, 7.13 mm]", "[7.13 mm, 7.16 mm]", 1) +
		"  - {step: recess, again: cleaned and stoned}\n  - {step: recess, presses: [7.12 mm, 7.13 mm]}\n"
	res = work(t, s, again)
	status(t, res, "recess", overhaul.Done)
	same(t, "recess", found(t, res, "recess"), mm("7.125"))
	if n := len(of(t, res, "recess").Presses); n != 2 {
		t.Errorf("%d presses count", n)
	}
	// One short: which are wanted.
	res = work(t, s, strings.Replace(gk1Readings, "[7.13 mm, 7.13 mm]", "[7.13 mm]", 1))
	status(t, res, "recess", overhaul.Waiting, "1 more press of 2")
	if left := of(t, res, "recess").Left; left != 1 {
		t.Errorf("%d left", left)
	}
}

// A length whose metal was changed is taken again.
func TestLengthIsStaleWhenItsMetalChanged(t *testing.T) {
	s := readSheet(t, "gk1.yaml")
	body := gk1Readings + "  - {step: gasket, metal changed: [gasket], reason: new gasket}\n"
	res := work(t, s, body)
	status(t, res, "gasket", overhaul.Stale, "take it again", "2 presses")
	status(t, res, "recess", overhaul.Done)
	status(t, res, "end pack", overhaul.Waiting, "waits for gasket")
	if res.Build != 2 {
		t.Errorf("build %d, want 2", res.Build)
	}
	res = work(t, s, body+"  - {step: gasket, presses: [0.50 mm, 0.50 mm]}\n")
	same(t, "pack", worked(t, res, "end pack"), mm("21.592"))
}

// A fitted pack is stale once a reading it rests on was taken again, if it is
// off by more than it may be.
func TestFittedPackGoesStaleWithItsReadings(t *testing.T) {
	s := readSheet(t, "gk1.yaml")
	fit := gk1Readings + "  - {step: end pack, fit: {measured: 21.50 mm}}\n"
	status(t, work(t, s, fit), "end pack", overhaul.Done)
	near := fit + "  - {step: recess, again: doubted}\n  - {step: recess, presses: [7.14 mm, 7.14 mm]}\n"
	status(t, work(t, s, near), "end pack", overhaul.Done)
	far := fit + "  - {step: recess, again: doubted}\n  - {step: recess, presses: [7.23 mm, 7.23 mm]}\n"
	status(t, work(t, s, far), "end pack", overhaul.Stale, "fit it anew: ADD 0.112 mm", "taken again after it was fitted")
	// Off from the start, it is not stale: it was made up wrong.
	wrong := gk1Readings + "  - {step: end pack, fit: {measured: 21.40 mm}}\n"
	status(t, work(t, s, wrong), "end pack", overhaul.Held, "ADD 0.112 mm", "Make it up again")
}

func TestPairNumbersMustBeEqual(t *testing.T) {
	s := readSheet(t, "rd3.yaml")
	pair := "readings for: rd3\nentries:\n  - {step: pinion pair number, answer: \"0417\"}\n"
	status(t, work(t, s, pair), "wheel pair number", overhaul.Waiting, "write it down")
	res := work(t, s, pair+"  - {step: wheel pair number, answer: \"0471\"}\n")
	status(t, res, "wheel pair number", overhaul.Stopped, "STOP. wheel pair number is 0471 and pinion pair number is 0417: they must be equal. Do not build")
	// Written alike is not the same: a leading nought counts.
	res = work(t, s, pair+"  - {step: wheel pair number, answer: \"417\"}\n")
	status(t, res, "wheel pair number", overhaul.Stopped)
	res = work(t, s, pair+"  - {step: wheel pair number, answer: \"0417\"}\n")
	status(t, res, "wheel pair number", overhaul.Done)
	res = work(t, s, "readings for: rd3\nentries: [{step: wheel pair number, answer: \"0417\"}]\n")
	status(t, res, "wheel pair number", overhaul.Waiting, "pinion pair number first")
}

// A check whose limits hang on an answer waits for it.
func TestLimitsWaitForTheirAnswer(t *testing.T) {
	s := readSheet(t, "rd3.yaml")
	res := work(t, s, strings.Replace(torqueReadings, "  - {step: pinion bearings, answer: new}\n", "", 1))
	status(t, res, "pinion turning torque", overhaul.Waiting, "its limits: the answer to pinion bearings")
}

// With float and the shaft's state not said, the wheel stands in a range: held
// against one bearing to held against the other.
func TestStandingIsARangeWhereTheStateIsNotSaid(t *testing.T) {
	s := readSheet(t, "rd3.yaml", heldState, "state: {wheel shaft: not said}",
		"        makes: wheel distance\n        within: 0.025 mm\n        range: 0.80 mm .. 2.20 mm",
		"        set by: backlash\n        shaft: wheel shaft")
	res := work(t, s, wheelReadings+trialReadings+"  - {step: closing pack, fit: {measured: 1.65 mm}}\n")
	st := standing(t, res, "wheel distance")
	same(t, "held against the wheel-back side", st.High.Value, mm("44.95"))
	// 1.763 − 1.65 = 0.113 of float toward the pinion.
	same(t, "held against the tooth side", st.Low.Value, mm("44.837"))
	contains(t, st.State, "not said")
	same(t, "the setting found by the loop", standing(t, res, "wheel setting").Low.Value, mm("0.113"))
}

// Entries for a step the sheet does not have are an error, not a panic.
func TestUnknownStepIsAnError(t *testing.T) {
	s := readSheet(t, "gk1.yaml")
	e := parseEntries(t, s, gk1Readings)
	e.List[3].Step = "no such step"
	if _, err := overhaul.Work(s, e); err == nil || !strings.Contains(err.Error(), `step "no such step"`) {
		t.Errorf("the error is %v", err)
	}
}

// One virtual press makes the whole job a training job.
func TestVirtualPressMakesATrainingJob(t *testing.T) {
	s := readSheet(t, "gk1.yaml")
	e := parseEntries(t, s, gk1Readings)
	for i := range e.List {
		res, err := overhaul.Work(s, e)
		if err != nil || res.Training {
			t.Fatalf("training %t, %v", res.Training, err)
		}
		e.List[i].Virtual = true
		if res, err = overhaul.Work(s, e); err != nil || !res.Training {
			t.Errorf("entry %d is virtual and the job is no training job (%v)", i, err)
		}
		e.List[i].Virtual = false
	}
}

// Limits as found in an earlier check wait for it.
func TestLimitsAsFound(t *testing.T) {
	body := text(t, "rd3.yaml",
		"      - record: pinion bearings\n", `      - check: backlash as found
        what: backlash
        gauge: dial indicator
        points: [0 deg, 90 deg, 180 deg, 270 deg]
        window: 0.00 mm .. 0.80 mm
        band: 0.00 mm .. 0.80 mm
        reads: normal
      - record: pinion bearings
`, "band: 0.15 mm .. 0.25 mm", "band: {as found in: backlash as found}")
	s := parse(t, body)
	now := backlash("0.20", "0.20", "0.20", "0.20")
	status(t, work(t, s, now), "backlash", overhaul.Waiting, "its limits: backlash as found")
	found := "  - {step: backlash as found, at: {0 deg: [0.18 mm], 90 deg: [0.22 mm], 180 deg: [0.21 mm], 270 deg: [0.19 mm]}}\n"
	res := work(t, s, now+found)
	status(t, res, "backlash", overhaul.Done)
	same(t, "lower limit", of(t, res, "backlash").Check.Band.Low, mm("0.18"))
	same(t, "upper limit", of(t, res, "backlash").Check.Band.High, mm("0.22"))
	status(t, work(t, s, backlash("0.20", "0.24", "0.24", "0.20")+found), "backlash", overhaul.Held, "OUT")
}
