package overhaul_test

import (
	"strings"
	"testing"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
)

// packsFor are the wheel's two packs for a setting and a state, by their loops.
func packsFor(t testing.TB, setting, state string, more ...string) (near, far quantity.Exact) {
	t.Helper()
	swaps := append([]string{preload, setting, heldState + "\n        nominal: 45.00 mm", state}, byLoopAlone...)
	s := readSheet(t, "rd3.yaml", append(swaps, more...)...)
	res := work(t, s, strings.Replace(wheelReadings, "  - {step: wheel pack, fit: {measured: 1.430 mm}}\n", "", 1))
	return worked(t, res, "wheel pack"), worked(t, res, "closing pack")
}

// A setting changed and the wheel kept where it is (derived, no source): held
// to one side the far pack alone; closed before and after, half each; from
// float to preload the near pack by its share of the new squeeze and the far
// pack by the rest.
func TestSettingChangedAndWheelKept(t *testing.T) {
	held := heldState + "\n        nominal: 45.00 mm"
	for _, c := range []struct{ name, was, wasState, now, nowState, near, far string }{
		{"held, float to less float", "float: 0.10 mm", held, "float: 0.04 mm", held, "0", "0.06"},
		{"closed, squeeze to more squeeze", "preload: 0.08 mm", closedState, "preload: 0.12 mm", closedState, "0.02", "0.02"},
		{"float held to squeeze", "float: 0.05 mm", held, "preload: 0.08 mm", closedState, "0.04", "0.09"},
	} {
		nearWas, farWas := packsFor(t, c.was, c.wasState)
		near, far := packsFor(t, c.now, c.nowState)
		same(t, c.name+": near pack", near.Sub(nearWas), mm(c.near))
		same(t, c.name+": far pack", far.Sub(farWas), mm(c.far))
	}
}

// Where the bearings are not equal each gives its own share of the squeeze.
func TestUnequalBearings(t *testing.T) {
	near, far := packsFor(t, preload, closedState,
		"touch: [back race, back track]}", "touch: [back race, back track], share: 7/10}",
		"touch: [tooth track, tooth race]}", "touch: [tooth track, tooth race], share: 3/10}")
	same(t, "near pack", near, mm("1.430").Add(mm("0.056")))
	same(t, "far pack", far, mm("1.763").Add(mm("0.08")).Sub(mm("0.056")))
}

// A drive to be closed has float in its trial build: its wheel then stands in a
// range, and not half way.
func TestWheelOfALooseTrialBuildStandsInARange(t *testing.T) {
	s := readSheet(t, "rd3.yaml", heldState+"\n        nominal: 45.00 mm", closedState)
	res := work(t, s, wheelReadings+"  - {step: closing pack, fit: {measured: 1.65 mm}}\n")
	st := standing(t, res, "wheel distance")
	same(t, "low", st.Low.Value, mm("44.837"))
	same(t, "high", st.High.Value, mm("44.95"))
	contains(t, st.State, "wheel shaft has float")
	res = work(t, s, wheelReadings+"  - {step: closing pack, fit: {measured: 1.843 mm}}\n")
	st = standing(t, res, "wheel distance")
	same(t, "closed", st.Low.Value, mm("44.99"))
	same(t, "closed", st.High.Value, mm("44.99"))
}

const ringStep = `
  - stage: backlash
    steps:
      - check: backlash
        what: backlash
        of: [wheel distance]
        state: {wheel shaft: held against wheel-back side}
        gauge: dial indicator
        points: [0 deg, 120 deg, 240 deg]
        window: 0.00 mm .. 0.80 mm
        band: 0.15 mm .. 0.25 mm
        reads: normal
`

// The wheel moved and the setting kept: like places by a transfer from one pack
// to the other, unlike ones by the same change of both.
func TestWheelMovedAndSettingKept(t *testing.T) {
	moved := "  - {step: backlash, move: {wheel: AWAY, by: 0.05 mm}}\n"
	for _, c := range []struct {
		name, sheet, recess, near, far string
		swaps                          []string
	}{
		{"under the track and under the track", "rd3.yaml", "18.74", "-0.05", "0.05", byLoopAlone},
		{"under the track and under the flange", "rd3s.yaml", "15.42", "-0.05", "-0.05", nil},
	} {
		body := text(t, c.sheet, c.swaps...)
		if c.sheet == "rd3s.yaml" {
			body += ringStep
		}
		s := parse(t, body)
		job := strings.ReplaceAll(strings.Replace(wheelReadings, "readings for: rd3", "readings for: "+s.ID, 1), "18.74", c.recess)
		before, after := work(t, s, job), work(t, s, job+moved)
		same(t, c.name+": near pack", worked(t, after, "wheel pack").Sub(worked(t, before, "wheel pack")), mm(c.near))
		same(t, c.name+": far pack", worked(t, after, "closing pack").Sub(worked(t, before, "closing pack")), mm(c.far))
		status(t, after, "wheel pack", overhaul.Stale, "TAKE 0.050 mm")
	}
}

// A trial build under the flange: trial pack less the float found, less the
// squeeze (or plus the float wanted).
func TestTrialBuildUnderTheFlange(t *testing.T) {
	trial := `      - pack: trial closing pack
        before: closing pack
      - check: float with the trial pack
        what: end float
        before: wheel setting
        gauge: dial indicator
        window: 0.00 mm .. 5.00 mm
        presses: 3
        agree: 0.02 mm
      - pack: closing pack
`
	job := strings.Replace(strings.ReplaceAll(wheelReadings, "18.74", "15.42"), "readings for: rd3", "readings for: rd3s", 1) + trialReadings
	for setting, want := range map[string]string{preload: "1.46", "float: 0.08 mm": "1.62"} {
		s := readSheet(t, "rd3s.yaml", preload, setting, "      - pack: closing pack\n", trial,
			"makes: wheel setting\n", "makes: wheel setting\n        worked by: change\n        checked by: loop\n        closes within: 0.07 mm\n")
		res := work(t, s, job)
		same(t, setting, worked(t, res, "closing pack"), mm(want)) // 1.65 − 0.11 − 0.08, 1.65 − 0.11 + 0.08
		same(t, "the loop and the trial", of(t, res, "closing pack").Pack.Closure.Value, mm("-0.017"))
	}
}
