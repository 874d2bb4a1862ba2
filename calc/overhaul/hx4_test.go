package overhaul_test

import (
	"strings"
	"testing"

	"shimwright/calc/overhaul"
	"shimwright/calc/ring"
)

// Depth 6.0003 + 1.2485 − 0.5002, height 7.0002 + 0.5002 − 0.8075; zero-float
// pack 0.0557 in, less the float of 0.005 in.
func TestHelicalPackInInches(t *testing.T) {
	s := readSheet(t, "hx4.yaml")
	if _, err := overhaul.CheckExample(s); err != nil {
		t.Fatal(err)
	}
	res := work(t, s, text(t, "hx4-job.yaml"))
	same(t, "depth", found(t, res, "casing depth"), inch("6.7486"))
	same(t, "height", found(t, res, "shaft height"), inch("6.6929"))
	same(t, "pack", worked(t, res, "helical pack"), inch("0.0507"))
	p := of(t, res, "helical pack").Pack
	same(t, "tolerance from the band", p.Within, inch("0.002"))
	// 0.0487 to 0.0527 in: 20 + 30 thou lies within, with two leaves.
	if got := p.Makeup.Packs[0]; got.String() != "0.030 in + 0.020 in" {
		t.Errorf("made up as %s", got)
	}
	same(t, "its error", p.Makeup.Packs[0].Error, inch("-0.0007"))
	contains(t, p.Effect, "helical shaft looser by 0.0007 in")
	if p.OneMore != "tighter" {
		t.Errorf("one more says %q", p.OneMore)
	}
	// Fitted, the float is predicted: 0.0557 − 0.050.
	res = work(t, s, text(t, "hx4-job.yaml")+"  - {step: helical pack, fit: {leaves: [0.020 in, 0.030 in]}}\n")
	status(t, res, "helical pack", overhaul.Done)
	same(t, "predicted float", standing(t, res, "end float").Low.Value, inch("0.0057"))
	// The closest of many thin leaves: 0.051 leaves 0.0047 of float.
	res = work(t, s, text(t, "hx4-job.yaml")+"  - {step: helical pack, fit: {leaves: [0.030 in, 0.010 in, 0.005 in, 0.003 in, 0.003 in]}}\n")
	same(t, "predicted float", standing(t, res, "end float").Low.Value, inch("0.0047"))
}

// Without the straightedge under the gauge both sums shift the same way: the
// pack is off by twice its size, and out of what the drive takes.
func TestStraightedgeLeftOut(t *testing.T) {
	job := strings.ReplaceAll(text(t, "hx4-job.yaml"), ", E-05]", "]")
	s := readSheet(t, "hx4.yaml",
		"setup: {depth: [depth post], across: straightedge}", "setup: {walk: [up depth post, up reading]}",
		"setup: {height: [height post, straightedge]}", "setup: {height: [height post]}",
		text(t, "hx4.yaml")[strings.Index(text(t, "hx4.yaml"), "\nexample:"):], "\n")
	res := work(t, s, job)
	same(t, "pack", worked(t, res, "helical pack"), inch("1.0561").Sub(inch("0.005")))
	same(t, "off by", worked(t, res, "helical pack").Sub(inch("0.0507")), inch("1.0004"))
	status(t, res, "helical pack", overhaul.Stopped, "STOP. The pack works out at 1.0511 in", "0.020 in .. 0.090 in", "Do not fit")
}

// End float is push less pull; below nought the two are crossed.
func TestEndFloatFound(t *testing.T) {
	s := readSheet(t, "hx4.yaml")
	fit := text(t, "hx4-job.yaml") + "  - {step: helical pack, fit: {measured: 0.050 in}}\n"
	for _, c := range []struct {
		pull, push, float string
		status            overhaul.Status
		says              string
	}{
		{"0.0500", "0.0556", "0.0056", overhaul.Done, ""},
		{"0.0500", "0.0580", "0.0080", overhaul.Held, "end float is 0.0080 in, limits 0.0030 .. 0.0070 in: OUT"},
		{"0.0556", "0.0500", "-0.0056", overhaul.Held, "push reads less than pull"},
	} {
		res := work(t, s, fit+"  - {step: end float found, at: {pull: ["+c.pull+" in, "+c.pull+" in], push: ["+c.push+" in, "+c.push+" in]}}\n")
		same(t, "float", of(t, res, "end float found").Check.Figure.Value, inch(c.float))
		status(t, res, "end float found", c.status, c.says)
	}
	res := work(t, s, fit)
	if v := of(t, res, "end float found").Check.Verdict; v != ring.NotJudged {
		t.Errorf("nothing pressed, and the verdict is %s", v)
	}
	status(t, res, "end float found", overhaul.Waiting, "4 presses, next at pull")
}

// A band whose aim is not its middle leaves a pack the narrower side.
func TestToleranceIsTheNarrowerSide(t *testing.T) {
	for aim, want := range map[string]string{"0.004": "0.001", "0.006": "0.001", "0.0065": "0.0005"} {
		s := readSheet(t, "hx4.yaml", "float: 0.003 in .. 0.007 in}", "float: 0.003 in .. 0.007 in, aim: "+aim+" in}")
		res := work(t, s, text(t, "hx4-job.yaml"))
		same(t, "pack", worked(t, res, "helical pack"), inch("0.0557").Sub(inch(aim)))
		same(t, "within", of(t, res, "helical pack").Pack.Within, inch(want))
	}
}
