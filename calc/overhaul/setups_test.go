package overhaul_test

import (
	"testing"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
)

const setupPieces = `
readings for: setups
pieces:
  S-31: {standard: post, size: 75.004 mm}
  S-32: {standard: post, size: 75.054 mm}
  T-1: {standard: twin posts, size: 60.002 mm}
  T-2: {standard: twin posts, size: 60.005 mm}
  M-9: {standard: mandrel, size: 30.007 mm}
  E-02: {standard: straightedge, size: 12.006 mm}
gauges:
  OUT: {kind: depth gauge}
  IN: {kind: depth gauge, counts: in}
entries:
`

func TestSetupsAsWalks(t *testing.T) {
	s := readSheet(t, "setups.yaml")
	for _, c := range []struct{ step, entry, want string }{
		{"height", "pieces: [S-31, E-02], presses: [33.38 mm, 33.38 mm]", "53.630"},
		{"depth", "pieces: [S-31, E-02], presses: [33.38 mm, 33.38 mm]", "96.378"},
		// Two posts side by side count half each.
		{"height on twins", "pieces: [T-1, T-2, E-02], presses: [20.00 mm, 20.00 mm]", "52.0095"},
		// A mandrel counts half its diameter.
		{"bore to face", "pieces: [M-9], presses: [41.25 mm, 41.25 mm]", "26.2465"},
		// A gauge zeroed on the post: its zero cancels. Counting out the height
		// is less by the reading and the depth more; counting in the reverse.
		{"height against a post", "gauge: OUT, pieces: [S-31], presses: [0.12 mm, 0.12 mm]", "74.884"},
		{"height against a post", "gauge: IN, pieces: [S-31], presses: [0.12 mm, 0.12 mm]", "75.124"},
		{"depth against a post", "gauge: OUT, pieces: [S-31], presses: [0.12 mm, 0.12 mm]", "75.124"},
		{"depth against a post", "gauge: IN, pieces: [S-31], presses: [0.12 mm, 0.12 mm]", "74.884"},
		{"height", "gauge: IN, pieces: [S-31, E-02], presses: [-33.38 mm, -33.38 mm]", "53.630"},
		// Proud or sunk: below nought is a figure, and a direct reading is the
		// length itself whichever way the gauge counts.
		{"race proud", "gauge: OUT, presses: [-0.04 mm, -0.04 mm]", "-0.04"},
		{"race proud", "gauge: IN, presses: [-0.04 mm, -0.04 mm]", "-0.04"},
		{"three walks", "pieces: [E-02], presses: [10.00 mm, 10.00 mm, 10.00 mm]", "7.994"},
	} {
		res := work(t, s, setupPieces+"  - {step: "+c.step+", "+c.entry+"}\n")
		same(t, c.step+" {"+c.entry+"}", found(t, res, c.step), mm(c.want))
		status(t, res, c.step, overhaul.Done)
	}
}

// Each press is corrected by the piece it stood on; then they are compared, and
// then their mean is taken.
func TestPiecesMixedBetweenPresses(t *testing.T) {
	s := readSheet(t, "setups.yaml")
	// The readings lie 0.05 apart and the heights do not.
	res := work(t, s, setupPieces+`
  - {step: height, pieces: [S-31, E-02], presses: [33.38 mm]}
  - {step: height, pieces: [S-32, E-02], presses: [33.43 mm]}
`)
	status(t, res, "height", overhaul.Done)
	same(t, "height", found(t, res, "height"), mm("53.630"))
	contains(t, of(t, res, "height").Figure.Rule, "mean of 2 corrected presses")

	// The readings agree and the heights do not.
	res = work(t, s, setupPieces+`
  - {step: height, pieces: [S-31, E-02], presses: [33.38 mm]}
  - {step: height, pieces: [S-32, E-02], presses: [33.38 mm]}
`)
	status(t, res, "height", overhaul.Held, "lie 0.050 mm apart", "not averaged")

	// Two gauges that count opposite ways on one comparator setup.
	res = work(t, s, setupPieces+`
  - {step: height against a post, gauge: OUT, pieces: [S-31], presses: [0.12 mm]}
  - {step: height against a post, gauge: IN, pieces: [S-31], presses: [-0.13 mm]}
`)
	status(t, res, "height against a post", overhaul.Done)
	same(t, "height", found(t, res, "height against a post"), mm("74.879"))
}

// A mean is exact: a sum over a count, divided only when shown.
func TestMeanIsExact(t *testing.T) {
	s := readSheet(t, "setups.yaml")
	res := work(t, s, setupPieces+"  - {step: three walks, pieces: [E-02], presses: [10.00 mm, 10.01 mm, 10.00 mm]}\n")
	three := found(t, res, "three walks").Times(quantity.Whole(3))
	same(t, "three times the length", three, plus(mm("30.01"), mm("30.01"), mm("-36.018")))
	if got := found(t, res, "three walks").Show(quantity.MM, 3); got != "8.001" {
		t.Errorf("shown as %s", got)
	}
}

// A press on no piece, or on the wrong one, is no figure: a sum without its
// standard would be wrong by all of it.
func TestPressWithoutItsPieces(t *testing.T) {
	s := readSheet(t, "setups.yaml")
	entries := parseEntries(t, s, setupPieces+"  - {step: height, pieces: [S-31, E-02], presses: [33.38 mm, 33.38 mm]}\n")
	for _, pieces := range [][]string{nil, {"S-31"}, {"E-02"}, {"S-31", "S-32", "E-02"}, {"S-31", "M-9"}, {"S-99", "E-02"}} {
		entries.List[0].Pieces, entries.List[1].Pieces = pieces, pieces
		res, err := overhaul.Work(s, entries)
		if err != nil {
			continue
		}
		if r := res.Of("height"); r.Figure != nil || r.Status != overhaul.Held {
			t.Errorf("pieces %v: %s, figure %v", pieces, r.Status, r.Figure)
		}
	}
}
