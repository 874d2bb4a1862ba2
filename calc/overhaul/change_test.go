package overhaul_test

import (
	"strings"
	"testing"

	"shimwright/calc/overhaul"
)

// oldHead is a pinion whose head was measured before and now; the casing and
// the housing are drawn and cancel.
const oldHead = `sheet: oldhead
issue: 1
title: Pinion pack from the old pack, another pinion head
manual: none (invented)
units: mm

axes:
  pinion: [wheel axis, pinion front, pinion back, casing flange, housing flange]

shafts:
  pinion shaft:
    carries: {pinion: pinion distance}

not measured:
  casing: [wheel axis, casing flange]
  housing: [pinion back, housing flange]

stages:
  - stage: pinion
    steps:
      - pack: old pack
        before: pinion pack
      - mark: old mark
        before: pinion distance
        nominal: 107.70 mm
        digits: 0.01 mm
        plus: longer
      - measure: old head
        before: pinion head
        setup: direct
        gauge: micrometer
        window: 41.50 mm .. 43.50 mm
        presses: 2
        agree: 0.02 mm
      - mark: pinion distance
        wanted: [wheel axis, pinion front]
        nominal: 107.70 mm
        digits: 0.01 mm
        plus: longer
      - measure: pinion head
        found: [pinion front, pinion back]
        setup: direct
        gauge: micrometer
        window: 41.50 mm .. 43.50 mm
        presses: 2
        agree: 0.02 mm
      - pack: pinion pack
        between: [casing flange, housing flange]
        place: under the pinion housing flange
        makes: pinion distance
        worked by: change
        within: 0.02 mm
`

const oldHeadReadings = `readings for: oldhead
entries:
  - {step: old pack, fit: {measured: 1.40 mm}}
  - {step: old mark, digits: +5}
  - {step: old head, presses: [42.37 mm, 42.37 mm]}
  - {step: pinion distance, digits: -3}
`

// New pack = old pack + change of the distance to the pinion's front + change
// of its head: 1.40 − 0.08 + 0.04.
func TestChangeOfAMeasuredLength(t *testing.T) {
	s := parse(t, oldHead)
	res := work(t, s, oldHeadReadings)
	status(t, res, "pinion pack", overhaul.Waiting, "pinion head")
	now := "  - {step: pinion head, presses: [42.41 mm, 42.41 mm]}\n"
	same(t, "pack", worked(t, work(t, s, oldHeadReadings+now), "pinion pack"), mm("1.36"))

	// The pinion changed in between: what was measured on the old one stands.
	res = work(t, s, oldHeadReadings+"  - {step: pinion head, metal changed: [pinion head], reason: new pinion}\n"+now)
	status(t, res, "old head", overhaul.Done)
	status(t, res, "pinion head", overhaul.Done)
	same(t, "pack", worked(t, res, "pinion pack"), mm("1.36"))
	// And the new one's head measured before it was changed again does not.
	res = work(t, s, oldHeadReadings+now+"  - {step: pinion head, metal changed: [pinion head], reason: another pinion}\n")
	status(t, res, "pinion head", overhaul.Stale)
	status(t, res, "pinion pack", overhaul.Waiting, "pinion head")
}

// Metal of a length that was to cancel was changed since the trial build: it
// does not cancel.
func TestMetalChangedSinceTheTrialBuild(t *testing.T) {
	s := readSheet(t, "rd3.yaml")
	changed := "  - {step: cover recess, metal changed: [cover recess], reason: cover faced off}\n"
	res := work(t, s, wheelReadings+trialReadings+changed)
	status(t, res, "closing pack", overhaul.Held, "Metal of cover recess was changed since the build before")
	// Changed before the trial, it was in the trial.
	res = work(t, s, wheelReadings+changed+trialReadings)
	same(t, "pack", worked(t, res, "closing pack"), mm("1.84"))
}

// A float that is held is not worked from: pull and push crossed, or presses
// at one spot that do not agree.
func TestFloatNotBelievedGivesNoPack(t *testing.T) {
	s := readSheet(t, "rd3.yaml")
	crossed := swap(t, trialReadings, "pull: [1.00 mm, 1.00 mm, 1.00 mm], push: [1.11 mm, 1.11 mm, 1.11 mm]",
		"pull: [1.11 mm, 1.11 mm, 1.11 mm], push: [1.00 mm, 1.00 mm, 1.00 mm]")
	apart := swap(t, trialReadings, "push: [1.11 mm, 1.11 mm, 1.11 mm]", "push: [1.11 mm, 1.11 mm, 1.20 mm]")
	for float, says := range map[string]string{crossed: "push reads less than pull", apart: "presses at push lie 0.090 mm apart"} {
		res := work(t, s, wheelReadings+float)
		status(t, res, "float with the trial pack", overhaul.Held, says)
		status(t, res, "closing pack", overhaul.Held, "float with the trial pack")
		if p := of(t, res, "closing pack").Pack; p.Worked != nil {
			t.Errorf("the closing pack is worked to %s", p.Worked.Value)
		}
	}
}

// A wheel pack worked from the build before, where the shaft had float then and
// is closed now: half of a float is no share of a squeeze.
func TestChangeFromFloatToPreloadIsNotGuessed(t *testing.T) {
	s := readSheet(t, "rd3.yaml", heldState+"\n        nominal: 45.00 mm", closedState,
		"      - pack: wheel pack\n", `      - pack: old wheel pack
        before: wheel pack
      - mark: old wheel mark
        before: wheel distance
        nominal: 45.00 mm
        digits: 0.01 mm
        plus: longer
      - pack: wheel pack
`, "makes: wheel distance\n", "makes: wheel distance\n        worked by: change\n")
	old := "  - {step: old wheel pack, fit: {measured: 1.40 mm}}\n  - {step: old wheel mark, digits: -5}\n"
	res := work(t, s, strings.Replace(wheelReadings, "  - {step: wheel pack, fit: {measured: 1.430 mm}}\n", old, 1)+trialReadings)
	if p := of(t, res, "wheel pack").Pack; p.Worked != nil {
		t.Errorf("the wheel pack is worked to %s out of a float of 0.11 and a preload of 0.08", p.Worked.Value)
	}
	status(t, res, "wheel pack", overhaul.Held, "wheel shaft", "had float")
}
