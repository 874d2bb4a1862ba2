package overhaul_test

import (
	"strings"
	"testing"

	"shimwright/calc/overhaul"
)

// Repeats that only fall are told, by twice the last digit or more; the figure
// is as it would be without the note.
func TestReadingsThatHaveNotSettled(t *testing.T) {
	for _, c := range []struct{ presses, note string }{
		{"50.06 mm, 50.04 mm, 50.03 mm", "Readings still falling 50.06 50.04 50.03: not seated yet."},
		{"50.03 mm, 50.04 mm, 50.06 mm", "Readings still rising 50.03 50.04 50.06: not seated yet."},
		{"50.04 mm, 50.06 mm, 50.04 mm", ""},
		{"50.06 mm, 50.04 mm, 50.04 mm", ""},  // it has stopped
		{"50.025 mm, 50.02 mm, 50.01 mm", ""}, // within the coarser last digit
		{"50.04 mm, 50.06 mm, 50.05 mm, 50.03 mm", "Readings still falling 50.06 50.05 50.03: not seated yet."}, // the last of them
	} {
		r := of(t, fs2(t, "50.00 mm, 49.99 mm, 49.97 mm", c.presses, "at: 50.00 mm", "at: 51.00 mm"), "plug length")
		if got := strings.Join(r.Notes, "|"); got != c.note {
			t.Errorf("%s: note %q, want %q", c.presses, got, c.note)
		}
		if r.Status != overhaul.Done || r.Figure == nil {
			t.Errorf("%s: %s", c.presses, r.Status)
		}
	}
}

// It is told too where the presses are held for lying too far apart: it is why.
func TestUnsettledReadingsThatAreHeld(t *testing.T) {
	res := fs2(t, "50.00 mm, 49.99 mm, 49.97 mm", "50.00 mm, 49.96 mm, 49.93 mm")
	status(t, res, "plug length", overhaul.Held, "lie 0.070 mm apart")
	contains(t, strings.Join(of(t, res, "plug length").Notes, "|"), "still falling 50.00 49.96 49.93")
}

// Each spot of a check settles for itself, and a check's note names it.
func TestSpotsSettleEachForItself(t *testing.T) {
	res := work(t, readSheet(t, "rd3.yaml"), `
readings for: rd3
gauges: {I03: {kind: dial indicator}}
entries:
  - {step: trial closing pack, fit: {measured: 1.65 mm}}
  - step: float with the trial pack
    gauge: I03
    at: {pull: [1.00 mm, 1.00 mm, 1.00 mm], push: [1.13 mm, 1.12 mm, 1.11 mm]}
`)
	if got := strings.Join(of(t, res, "float with the trial pack").Notes, "|"); got != "At push: Readings still falling 1.13 1.12 1.11: not seated yet." {
		t.Errorf("notes %q", got)
	}
}

// On pieces of different size the lengths found are compared, not what the
// gauge showed.
func TestSettlingOnDifferentPieces(t *testing.T) {
	const falling = `
readings for: rd3
pieces:
  S-31: {standard: tall post, size: 75.004 mm}
  S-30: {standard: tall post, size: 74.984 mm}
  E-02: {standard: straightedge, size: 12.006 mm}
entries:
  - {step: pinion face height, pieces: [S-31, E-02], presses: [33.38 mm, 33.38 mm]}
  - {step: pinion face height, pieces: [S-30, E-02], presses: [33.36 mm]}
`
	s := readSheet(t, "rd3.yaml")
	if n := of(t, work(t, s, falling), "pinion face height").Notes; len(n) != 0 {
		t.Errorf("one length pressed on two posts: %q", n)
	}
	r := of(t, work(t, s, strings.NewReplacer("33.38 mm, 33.38 mm", "33.38 mm, 33.37 mm", "33.36", "33.34").Replace(falling)), "pinion face height")
	// 53.630, 53.640, 53.650: rising lengths.
	contains(t, strings.Join(r.Notes, "|"), "Readings still rising 53.630 53.640 53.650")
}

// A gauge beyond its limit on its check piece is told for the whole job, with
// the last day it was good; so is one that will be beyond it next.
func TestGaugeThatDriftsOnItsCheckPiece(t *testing.T) {
	notes := func(swaps ...string) string { return strings.Join(fs2(t, swaps...).Notes, "|") }
	contains(t, notes(), "D07 on its check piece, 2025-03-17: Check 3 is off by +0.029 mm, larger than its limit of 0.020 mm: readings since check 2, the last good one, are in doubt. That was on 2025-03-10.")
	// Errors 0.001, 0.009, 0.019: a slope of 0.009 carries the next to 0.028.
	contains(t, notes("read: 25.03 mm", "read: 25.02 mm"), "within its limit of 0.020 mm, but it moves")
	if got := notes("read: 25.01 mm", "read: 25.00 mm", "read: 25.03 mm", "read: 25.00 mm"); got != "" {
		t.Errorf("a gauge that does not drift: %q", got)
	}
}
