package overhaul_test

import (
	"os"
	"strings"
	"testing"

	"shimwright/calc/overhaul"
	"shimwright/calc/sheet"
)

// demoJob works the demonstration's readings up to a step's first words, with
// some of their text changed.
func demoJob(t *testing.T, until string, swaps ...string) *overhaul.Results {
	t.Helper()
	text, err := os.ReadFile("../../cmd/shimwright/demo/fw3.readings.yaml")
	if err != nil {
		t.Fatal(err)
	}
	cut, _, found := strings.Cut(string(text), until)
	if !found {
		t.Fatalf("the readings do not hold %q", until)
	}
	s := fw3(t)
	e, err := sheet.ReadEntries(s, "readings.yaml", []byte(swap(t, cut, swaps...)))
	if err != nil {
		t.Fatal(err)
	}
	return work2(t, s, e)
}

func work2(t *testing.T, s *sheet.Sheet, e sheet.Entries) *overhaul.Results {
	t.Helper()
	res, err := overhaul.Work(s, e)
	if err != nil {
		t.Fatal(err)
	}
	return res
}

const pinionFit = "presses: [1.35 mm, 1.35 mm], fit: {leaves: [1.00 mm, 0.30 mm, 0.05 mm]}}"

// A pack that measures wrong is told before it is fitted.
func TestWrongPackIsToldBeforeItIsFitted(t *testing.T) {
	res := demoJob(t, "  - step: wheel run-out", pinionFit, "presses: [1.15 mm, 1.15 mm]}")
	status(t, res, "pinion pack", overhaul.Held, "This pack measures 1.150 mm, off by -0.220 mm", "Do not fit it: ADD 0.220 mm")
}

// Leaves that do not add up to what was measured hold the pack.
func TestLeavesMustAddUpToTheMeasuredPack(t *testing.T) {
	res := demoJob(t, "  - step: wheel run-out", "[1.00 mm, 0.30 mm, 0.05 mm]", "[1.00 mm, 0.50 mm]")
	status(t, res, "pinion pack", overhaul.Held, "The leaves written add up to 1.500 mm, and the pack measures 1.350 mm")
	status(t, demoJob(t, "  - step: wheel run-out"), "pinion pack", overhaul.Done)
}

// A fitted pack one of whose presses no longer counts is held.
func TestFittedPackWithAPressLess(t *testing.T) {
	res := demoJob(t, "  - step: wheel run-out", pinionFit, "presses: [1.35 mm], fit: {leaves: [1.00 mm, 0.30 mm, 0.05 mm]}}")
	status(t, res, "pinion pack", overhaul.Held, "measured at 1 of 2 places")
}

// A pack that is stale because another one changed is offered its new make-up.
func TestStalePackIsMadeUpAnew(t *testing.T) {
	res := demoJob(t, "  - {step: closing pack, gauge: M02, presses: [1.60 mm, 1.60 mm]")
	status(t, res, "closing pack", overhaul.Stale)
	m := of(t, res, "closing pack").Pack.Makeup
	if m == nil || len(m.Packs) == 0 {
		t.Fatal("the stale closing pack has no make-up")
	}
}

// A move on purpose is shown at the check it was asked for at, and named where
// it takes a pack out of its range.
func TestMoveIsNamed(t *testing.T) {
	res := demoJob(t, "  - {step: wheel pack, gauge: M02, presses: [1.65 mm, 1.65 mm]", "by: 0.20 mm", "by: 2.50 mm")
	if m := of(t, res, "backlash").Check.Moves; len(m) != 1 || !strings.Contains(m[0].Words, "wheel goes TOWARD the pinion by 2.500") {
		t.Errorf("the moves of the ring are %+v", m)
	}
	status(t, res, "wheel pack", overhaul.Stopped, "Moved on purpose: wheel goes TOWARD the pinion by 2.500", "The opposite move takes it back")
}
