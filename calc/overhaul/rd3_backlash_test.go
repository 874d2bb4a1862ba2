package overhaul_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"shimwright/calc/overhaul"
	"shimwright/calc/ring"
)

// backlash is a readings file with backlash at four points.
func backlash(points ...string) string {
	return fmt.Sprintf("\nreadings for: rd3\nentries:\n  - {step: backlash, at: {0 deg: [%s mm], 90 deg: [%s mm], 180 deg: [%s mm], 270 deg: [%s mm]}}\n",
		points[0], points[1], points[2], points[3])
}

const wide = "band: 0.15 mm .. 0.30 mm"

// Too slack all round: the window for a change of the mean is −0.17 to −0.11.
func TestBacklashTooSlackHasAWindow(t *testing.T) {
	res := work(t, readSheet(t, "rd3.yaml"), backlash("0.34", "0.33", "0.35", "0.34"))
	status(t, res, "backlash", overhaul.Held, "mean 0.340 mm", "spread 0.020 mm of 0.080 mm allowed", "OUT")
	c := of(t, res, "backlash").Check
	same(t, "from", c.Ring.Window.From, mm("-0.17"))
	same(t, "to", c.Ring.Window.To, mm("-0.11"))
	if c.Advice != "A change of the mean from -0.170 mm to -0.110 mm passes at every point." {
		t.Errorf("the advice is %q", c.Advice)
	}
	for i, p := range c.Points {
		if p.Verdict != ring.OutHigh {
			t.Errorf("point %d is %s", i, p.Verdict)
		}
	}
}

// Spread by run-out: the points lie in the band or on it, the window is empty,
// and no shim is advised.
func TestBacklashSpreadThatNoShimMends(t *testing.T) {
	res := work(t, readSheet(t, "rd3.yaml", "band: 0.15 mm .. 0.25 mm", wide), backlash("0.16", "0.22", "0.30", "0.24"))
	c := of(t, res, "backlash").Check
	same(t, "mean", c.Ring.Mean.Value(), mm("0.230"))
	same(t, "spread", c.Ring.Spread, mm("0.14"))
	for i, want := range []ring.Verdict{ring.Good, ring.Good, ring.TooClose, ring.Good} {
		if c.Points[i].Verdict != want {
			t.Errorf("point %s is %s, want %s", c.Points[i].Spot, c.Points[i].Verdict, want)
		}
	}
	if got := c.Ring.Fit.Once.Amplitude; math.Abs(got-0.0707) > 0.00005 {
		t.Errorf("once per turn %f, want 0.0707", got)
	}
	if got := c.Ring.Fit.Twice.Amplitude; math.Abs(got) > 1e-12 {
		t.Errorf("twice per turn %g, want nought", got)
	}
	if !c.Ring.Window.Empty() || c.Verdict != ring.OutHigh {
		t.Errorf("window %v, verdict %s", c.Ring.Window, c.Verdict)
	}
	same(t, "window from", c.Ring.Window.From, mm("0.00"))
	same(t, "window to", c.Ring.Window.To, mm("-0.01"))
	contains(t, c.Advice, "No shim can pass")
	contains(t, c.Advice, "run-out of the wheel's back face, burrs, bolts")
	status(t, res, "backlash", overhaul.Held)

	res = work(t, readSheet(t, "rd3.yaml", "band: 0.15 mm .. 0.25 mm", wide), backlash("0.21", "0.23", "0.25", "0.23"))
	same(t, "spread once cleaned", of(t, res, "backlash").Check.Ring.Spread, mm("0.04"))
	status(t, res, "backlash", overhaul.Done)
}

// Four good points and a tight tooth between them.
func TestHiddenTightToothIsNotGood(t *testing.T) {
	res := work(t, readSheet(t, "rd3.yaml", "band: 0.15 mm .. 0.25 mm", wide, "spread: 0.08 mm", "spread: 0.20 mm"),
		backlash("0.17", "0.17", "0.27", "0.27"))
	c := of(t, res, "backlash").Check
	for _, p := range c.Points {
		if p.Verdict != ring.Good {
			t.Errorf("point %s is %s", p.Spot, p.Verdict)
		}
	}
	if got := c.Ring.Fit.Low.Value.Round(4).StringFixed(4); got != "0.1493" {
		t.Errorf("the fitted low is %s, want 0.1493", got)
	}
	if got := c.Ring.Fit.Low.At.Degrees; math.Abs(got-45) > 0.001 {
		t.Errorf("it lies at %f degrees, want 45", got)
	}
	if c.Verdict == ring.Good {
		t.Error("the ring is good although a tooth between the points is not")
	}
	status(t, res, "backlash", overhaul.Held)
}

// A bent wheel shows twice per turn.
func TestBentWheelShowsTwicePerTurn(t *testing.T) {
	res := work(t, readSheet(t, "rd3.yaml"), backlash("0.18", "0.24", "0.18", "0.24"))
	f := of(t, res, "backlash").Check.Ring.Fit
	if math.Abs(f.Once.Amplitude) > 1e-12 || math.Abs(f.Twice.Amplitude-0.03) > 1e-12 {
		t.Errorf("once %g, twice %g; want 0 and 0.03", f.Once.Amplitude, f.Twice.Amplitude)
	}
}

// Presses at one spot too far apart are not averaged.
func TestBacklashRepeatsApart(t *testing.T) {
	s := readSheet(t, "rd3.yaml", "presses: 1\n        window: 0.00 mm .. 0.80 mm", "presses: 2\n        agree: 0.02 mm\n        window: 0.00 mm .. 0.80 mm")
	res := work(t, s, strings.NewReplacer("[0.19 mm]", "[0.18 mm, 0.21 mm]", "[0.20 mm]", "[0.20 mm, 0.20 mm]").Replace(backlash("0.20", "0.19", "0.20", "0.20")))
	status(t, res, "backlash", overhaul.Held, "presses at 90 deg lie 0.030 mm apart", "not averaged")
	if of(t, res, "backlash").Check.Ring != nil {
		t.Error("a ring was judged on presses that do not agree")
	}
	// One press short at a spot: which one is next, and how many are wanted.
	res = work(t, s, backlash("0.20", "0.20", "0.20", "0.20"))
	status(t, res, "backlash", overhaul.Waiting, "4 more presses of 8, next at 0 deg")
}
