package overhaul_test

import (
	"os"
	"strings"
	"testing"

	"shimwright/calc/overhaul"
	"shimwright/calc/sheet"
)

// fw3 is the demonstration sheet with some of its text changed.
func fw3(t *testing.T, swaps ...string) *sheet.Sheet {
	t.Helper()
	text, err := os.ReadFile("../../cmd/shimwright/sheets/fw3.yaml")
	if err != nil {
		t.Fatal(err)
	}
	s, err := sheet.Read("fw3.yaml", []byte(swap(t, string(text), swaps...)))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// An example whose two ways to a pack do not close has a wrong figure in it.
func TestExampleMustClose(t *testing.T) {
	_, err := overhaul.CheckExample(fw3(t, "presses: [18.74 mm, 18.74 mm, 18.74 mm]", "presses: [18.24 mm, 18.24 mm, 18.24 mm]"))
	if err == nil || !strings.Contains(err.Error(), "does not close") {
		t.Errorf("a recess wrong by 0.50 gives %v", err)
	}
}

// The leaves of the way that checks a pack are turned and dropped too: a
// length of nought in it would hide a slip.
func TestExampleIsSharpInTheCheckingWay(t *testing.T) {
	s := fw3(t, "window: 18.00 mm .. 19.50 mm", "window: 0.00 mm .. 19.50 mm",
		"closes within: 0.07 mm", "closes within: 90.00 mm",
		"presses: [18.74 mm, 18.74 mm, 18.74 mm]", "presses: [0.00 mm, 0.00 mm, 0.00 mm]")
	_, err := overhaul.CheckExample(s)
	if err == nil || !strings.Contains(err.Error(), "blind to reading") {
		t.Errorf("a recess of nought gives %v", err)
	}
}
