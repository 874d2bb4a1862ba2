package overhaul_test

import (
	"strings"
	"testing"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
)

const stockLine = "  shims: [{leaf: 1.00 mm, count: 2}, {leaf: 0.30 mm, count: 4}, {leaf: 0.10 mm, count: 4}, {leaf: 0.05 mm, count: 4}]\n"

// 1.37 within 0.01 from leaves of 0.10 and 0.25 alone: no pack, the nearest on
// either side, and the leaf of 0.12 that would make one.
func TestNoPackFromThisTray(t *testing.T) {
	s := readSheet(t, "rd3.yaml", "within: 0.025 mm\n        stock: shims", "within: 0.01 mm\n        stock: shims", "leaves: {at most: 5}", "leaves: {at most: 12}")
	res := work(t, s, strings.Replace(pinionReadings, stockLine, "  shims: [{leaf: 0.10 mm, count: 20}, {leaf: 0.25 mm, count: 20}]\n", 1))
	m := of(t, res, "pinion pack").Pack.Makeup
	if len(m.Packs) != 0 {
		t.Fatalf("a pack was made up: %s", m.Packs[0])
	}
	same(t, "below", m.Below.Error, mm("-0.02"))
	same(t, "above", m.Above.Error, mm("0.03"))
	if m.Order == nil || !m.Order.Pack.Error.IsZero() {
		t.Errorf("the leaf to order is %v", m.Order)
	}
	if r := of(t, res, "pinion pack"); r.Pack.NoTray || r.Status != overhaul.Waiting {
		t.Errorf("no tray %t, %s", r.Pack.NoTray, r.Status)
	}
	// Without the tray at all it says so.
	res = work(t, s, strings.Replace(pinionReadings, "stock:\n"+stockLine, "", 1))
	if p := of(t, res, "pinion pack").Pack; !p.NoTray || p.Makeup != nil {
		t.Errorf("no tray %t, make-up %v", p.NoTray, p.Makeup)
	}
}

// Two packs never count on the same leaf, worked or fitted.
func TestTwoPacksShareNoLeaf(t *testing.T) {
	s := readSheet(t, "rd3.yaml", "makes: wheel distance\n        within: 0.025 mm", "makes: wheel distance\n        within: 0.025 mm\n        stock: shims")
	body := strings.Replace(pinionReadings, stockLine, "  shims: [{leaf: 1.37 mm, count: 1}, {leaf: 1.43 mm, count: 1}, {leaf: 1.36 mm, count: 1}]\n", 1) +
		strings.Replace(wheelReadings[strings.Index(wheelReadings, "entries:\n")+len("entries:\n"):], "  - {step: wheel pack, fit: {measured: 1.430 mm}}\n", "", 1)
	body = swap(t, body, "  S-31: {standard", "  S-41: {standard: long post, size: 150.006 mm}\n  S-51: {standard: overall post, size: 200.011 mm}\n  S-31: {standard")
	res := work(t, s, body)
	same(t, "pinion pack", of(t, res, "pinion pack").Pack.Makeup.Packs[0].Total, mm("1.37"))
	same(t, "wheel pack", of(t, res, "wheel pack").Pack.Makeup.Packs[0].Total, mm("1.43"))

	// The pinion's mark 6 farther out: both want 1.43, and there is one.
	both := strings.Replace(body, "digits: +8", "digits: +14", 1)
	res = work(t, s, both)
	same(t, "pinion pack", of(t, res, "pinion pack").Pack.Makeup.Packs[0].Total, mm("1.43"))
	if m := of(t, res, "wheel pack").Pack.Makeup; len(m.Packs) != 0 {
		t.Errorf("the wheel pack is made up of a leaf already taken: %s", m.Packs[0])
	}
	res = work(t, s, both+"  - {step: pinion pack, fit: {leaves: [1.43 mm], measured: 1.431 mm}}\n")
	if m := of(t, res, "wheel pack").Pack.Makeup; len(m.Packs) != 0 {
		t.Errorf("the wheel pack is made up of a leaf already fitted: %s", m.Packs[0])
	}
	// Written another way it is the same leaf.
	both = strings.Replace(strings.Replace(both, "leaf: 1.43 mm", "leaf: 1.430 mm", 1), "leaf: 1.36 mm", "leaf: 1.35 mm", 1)
	res = work(t, s, both+"  - {step: pinion pack, fit: {leaves: [1.43 mm], measured: 1.431 mm}}\n")
	if m := of(t, res, "wheel pack").Pack.Makeup; len(m.Packs) != 0 {
		t.Errorf("the wheel pack is made up of a leaf already fitted: %s", m.Packs[0])
	}
	same(t, "the fitted pack counts as measured", of(t, res, "pinion pack").Pack.Error, mm("0.001"))
}

// A pack's figure is as measured, else the sum of its leaves; at several places
// it is their exact mean.
func TestPackFigureAsMeasuredElseItsLeaves(t *testing.T) {
	s := readSheet(t, "rd3.yaml")
	for fit, thrice := range map[string]string{
		"leaves: [1.00 mm, 0.30 mm, 0.05 mm]":                    "4.05",
		"leaves: [1.00 mm, 0.30 mm, 0.05 mm], measured: 1.36 mm": "4.08",
		"measured: [1.36 mm, 1.37 mm, 1.36 mm]":                  "4.09",
		"measured: 0.0535 in":                                    "4.0767",
		"leaves: [1.00 mm, 0.0138 in]":                           "4.05156",
	} {
		res := work(t, s, pinionReadings+"  - {step: pinion pack, fit: {"+fit+"}}\n")
		same(t, fit, of(t, res, "pinion pack").Pack.Fitted.Value.Times(quantity.Whole(3)), mm(thrice))
	}
}

// US Army TM 10-3930-660-34, task 9-5, asks for at least three shims in a pack,
// the thinnest on both outer faces.
func TestThreeLeavesThinnestOutside(t *testing.T) {
	s := readSheet(t, "rd3.yaml", "leaves: {at most: 5}", "leaves: {at least: 3, at most: 5, thinnest: outside}")
	res := work(t, s, strings.Replace(pinionReadings, stockLine, "  shims: [{leaf: 1.37 mm, count: 1}, {leaf: 1.07 mm, count: 1}, {leaf: 0.20 mm, count: 3}, {leaf: 0.10 mm, count: 3}]\n", 1))
	p := of(t, res, "pinion pack").Pack.Makeup.Packs[0]
	if got := p.String(); got != "1.07 mm + 0.20 mm + 0.10 mm" {
		t.Errorf("made up as %s", got)
	}
	if n := len(p.Leaves); n != 3 || p.Leaves[1].Label != "1.07 mm" {
		t.Errorf("stacked as %v", p.Leaves)
	}
}
