package overhaul_test

import (
	"strings"
	"testing"

	"shimwright/calc/overhaul"
	"shimwright/calc/ring"
)

// New bearings take 2.00 to 3.50: 66 N is too tight and wants a thicker spacer,
// 38 N is good, and the same 38 N on used bearings, which take 1.00 to 1.75, is
// too tight again.
func TestStoryPinionBearings(t *testing.T) {
	for name, want := range map[string]struct {
		torque, advice string
		verdict        ring.Verdict
	}{
		"too-tight":       {"5.0952", "too tight: fit a THICKER pinion spacer", ring.OutHigh},
		"spacer-lands":    {"2.9336", "", ring.Good},
		"wrong-condition": {"2.9336", "too tight: fit a THICKER pinion spacer", ring.OutHigh},
	} {
		c := of(t, story(t, name), "pinion turning torque").Check
		same(t, name, c.Figure.Value, mm(want.torque))
		if c.Verdict != want.verdict {
			t.Errorf("%s: %s, want %s", name, c.Verdict, want.verdict)
		}
		contains(t, c.Advice, want.advice)
	}
}

// Two trials: 9.46 gave 5.0952 and 9.48 gave 4.6320. The straight line meets
// 2.75 at 9.48 + (4.6320 − 2.75) × 0.02/0.4632 = 9.5613; the cap is 0.05 at
// once, or what the sheet says, and the stock's step rounds.
func TestStoryNextSpacer(t *testing.T) {
	c := of(t, story(t, "two-spacers"), "pinion turning torque").Check
	if got := c.Spacer.Exact.Round(4).StringFixed(4); got != "9.5613" {
		t.Errorf("the trials say %s", got)
	}
	same(t, "to try", *c.Spacer.Next, mm("9.53"))
	if !c.Spacer.Capped {
		t.Error("the step is not capped")
	}
	setBy := "set by: pinion turning torque"
	c = of(t, story(t, "two-spacers", setBy, setBy+"\n        at once: 0.20 mm\n        graded in: 0.02 mm"), "pinion turning torque").Check
	same(t, "to try, graded in 0.02", *c.Spacer.Next, mm("9.56"))
	c = of(t, story(t, "two-spacers", setBy, setBy+"\n        at once: 0.03 mm"), "pinion turning torque").Check
	same(t, "to try, 0.03 at once", *c.Spacer.Next, mm("9.51"))
}

// Pulls 11.0 24.5 13.0 22.0 on used bearings: the mean 1.36065 lies in the band,
// the roughness is 0.766. No spacer is advised, also where two trials could say.
func TestStoryWornBearing(t *testing.T) {
	for _, more := range []string{"", "  - {step: pinion spacer, fit: {measured: 9.48 mm}}\n  - {step: pinion turning torque, presses: [30.0 N, 60.0 N, 30.0 N, 60.0 N]}\n"} {
		c := of(t, storyMore(t, "worn-bearing", more), "pinion turning torque").Check
		if c.Verdict != ring.NotGood {
			t.Errorf("the verdict is %s", c.Verdict)
		}
		contains(t, c.Advice, "Replace the bearing")
		if c.Spacer.Way != 0 || c.Spacer.Next != nil || strings.Contains(c.Advice, "fit a") {
			t.Errorf("a spacer is advised: %q", c.Advice)
		}
	}
}

// The seal's drag is taken off, by the sheet's figure or as measured, in the
// torque and in the trials; the roughness is of what is left.
func TestStorySealDrag(t *testing.T) {
	rough := "rough: 0.25"
	c := of(t, story(t, "too-tight", rough, rough+"\n        seal drag: 0.50 N.m"), "pinion turning torque").Check
	same(t, "less the sheet's drag", c.Figure.Value, mm("4.5952"))
	measured := []string{rough, rough + "\n        seal drag: measured"}
	res := story(t, "seal-measured", measured...)
	c = of(t, res, "pinion turning torque").Check
	same(t, "less the measured drag", c.Figure.Value, mm("2.9336"))
	contains(t, c.Rough.Rule, "0.026") // 1.0/(44.0 − 6.0)
	status(t, res, "pinion turning torque", overhaul.Done)
	res = story(t, "too-tight", measured...)
	status(t, res, "pinion turning torque", overhaul.Waiting, "one steady pull with the seal in and one without")
	seal := "  - {step: pinion turning torque, seal: {with: 10.0 N, without: 4.0 N}}\n"
	c = of(t, storyMore(t, "two-spacers", seal, measured...), "pinion turning torque").Check
	// Both trials lie lower by 0.4632, so the line meets 2.75 at 9.5413.
	if got := c.Spacer.Exact.Round(4).StringFixed(4); got != "9.5413" {
		t.Errorf("the trials say %s without the seal", got)
	}
}
