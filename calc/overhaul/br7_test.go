package overhaul_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/ring"
)

// thouOf is a whole number of thousandths of an inch, in inches.
func thouOf(n int64) decimal.Decimal { return decimal.New(n, -3) }

func dec(s string) decimal.Decimal { return decimal.RequireFromString(s) }

// shift holds one try of readings of the inch drive, in thousandths of an inch
// from those of the file.
type shift struct {
	pinionMark, casingStamp, axisStamp, faceMark int64
	head, height, depth, wheelHeight             int64
	recess, overall, hDepth, hHeight             int64
	oDepth, oHeight                              int64
	wheelFigure                                  int64
}

// entries writes the readings file with every figure shifted.
func (k shift) entries(t testing.TB) string {
	at := func(base, by int64) string { return thouOf(base+by).StringFixed(3) + " in" }
	return swap(t, text(t, "br7-job.yaml"),
		"pinion distance, digits: -2", fmt.Sprintf("pinion distance, digits: %d", -2+k.pinionMark),
		"casing distance, digits: +1", fmt.Sprintf("casing distance, digits: %d", 1+k.casingStamp),
		"joint to pinion axis, digits: -1", fmt.Sprintf("joint to pinion axis, digits: %d", -1+k.axisStamp),
		"datum to face, digits: -3", fmt.Sprintf("datum to face, digits: %d", -3+k.faceMark),
		"6.526 in", at(6526, k.wheelFigure),
		"2.781 in, 2.781 in", twice(at(2781, k.head)),
		"1.194 in, 1.194 in, 1.194 in", thrice(at(1194, k.height)),
		"8.987 in, 8.987 in, 8.987 in", thrice(at(8987, k.depth)),
		"0.886 in, 0.886 in, 0.886 in", thrice(at(886, k.wheelHeight)),
		"0.602 in, 0.602 in, 0.602 in", thrice(at(602, k.recess)),
		"0.113 in, 0.113 in, 0.113 in", thrice(at(113, k.overall)),
		"0.253 in, 0.253 in, 0.253 in", thrice(at(253, k.hDepth)),
		"0.148 in, 0.148 in, 0.148 in", thrice(at(148, k.hHeight)),
		"0.902 in, 0.902 in, 0.902 in", thrice(at(902, k.oDepth)),
		"0.547 in, 0.547 in, 0.547 in", thrice(at(547, k.oHeight)))
}

func twice(s string) string  { return s + ", " + s }
func thrice(s string) string { return s + ", " + s + ", " + s }

func randomShift(rng *rand.Rand) shift {
	r := func() int64 { return rng.Int64N(9) - 4 }
	return shift{r(), r(), r(), r(), r(), r(), r(), r(), r(), r(), r(), r(), r(), r(), r()}
}

// One workshop's sums (common practice, no source), written out in decimals of
// an inch: the loops of the sheet must give them, whatever is read.
func TestOneWorkshopsSums(t *testing.T) {
	s := readSheet(t, "br7.yaml")
	rng := rand.New(rand.NewPCG(7, 1952))
	for i := range 20 {
		var k shift
		if i > 0 {
			k = randomShift(rng)
		}
		res := work(t, s, k.entries(t))
		is := func(what string, got quantity.Exact, want decimal.Decimal) {
			t.Helper()
			same(t, fmt.Sprintf("%s, try %d", what, i), got, quantity.FromDecimal(want.Mul(dec("25.4"))))
		}
		read := func(base, by int64) decimal.Decimal { return thouOf(base + by) }

		// Height on the 8 in post: 8 + 0.75 − reading. The pinion's distance to
		// the flange: height − head + mounting distance. Its pack: that less the
		// casing distance, 12.677 in stamped +1 for 0.001 in more.
		height := dec("8").Add(dec("0.75")).Sub(read(1194, k.height))
		distance := dec("7.952").Add(thouOf(-2 + k.pinionMark))
		toFlange := height.Sub(read(2781, k.head)).Add(distance)
		casing := dec("12.677").Add(thouOf(1 + k.casingStamp))
		is("pinion height", found(t, res, "pinion height"), height)
		is("casing distance", found(t, res, "casing distance"), casing)
		is("pinion pack", worked(t, res, "pinion pack"), toFlange.Sub(casing))

		// Depth on the 7.440 in block: 7.440 + reading − 0.75. The wheel
		// assembly: height + 0.905 ± mark. The wheel marked 6.526, nominal 6.524.
		depth := dec("7.440").Add(read(8987, k.depth)).Sub(dec("0.75"))
		assembly := dec("8.75").Sub(read(886, k.wheelHeight)).Add(dec("0.905")).Add(thouOf(-3 + k.faceMark))
		axis := dec("0.300").Add(thouOf(-1 + k.axisStamp))
		is("casing depth", found(t, res, "casing depth"), depth)
		is("wheel pack", worked(t, res, "wheel pack"), depth.Sub(axis).Sub(read(6526, k.wheelFigure)).Sub(assembly))

		// The closing gap is depth + recess − overall height, here with the inner
		// pack under the assembly; 0.003 in of preload goes on top.
		overall := dec("8").Add(dec("7.440")).Add(dec("0.75")).Sub(read(113, k.overall))
		gap := depth.Add(read(602, k.recess)).Sub(overall)
		is("closing gap", worked(t, res, "closing pack").Sub(inch("0.003")), gap)

		// Helical shafts: zero-float pack less 0.003 in under the track, plus
		// 0.003 in under the flange.
		deep := dec("5.505").Add(read(253, k.hDepth)).Sub(dec("0.75"))
		tall := dec("4.352").Add(dec("0.75")).Sub(read(148, k.hHeight))
		is("pack under the track", worked(t, res, "helical pack"), deep.Sub(tall).Sub(dec("0.003")))
		deep = dec("4.328").Add(read(902, k.oDepth)).Sub(dec("0.75"))
		tall = dec("4.352").Add(dec("0.75")).Sub(read(547, k.oHeight))
		is("pack under the flange", worked(t, res, "outlet pack"), tall.Sub(deep).Add(dec("0.003")))
		for _, pack := range []string{"helical pack", "outlet pack"} {
			is("tolerance of "+pack, of(t, res, pack).Pack.Within, dec("0.001"))
		}
	}
}

// A wheel marked 6.526 in against 6.524 in sits 0.002 in farther out, and its
// pack is as much thinner (common practice, no source).
func TestWheelMarkedAsTheFigureItself(t *testing.T) {
	s := readSheet(t, "br7.yaml")
	res := work(t, s, shift{}.entries(t))
	nominal := work(t, s, shift{wheelFigure: -2}.entries(t))
	same(t, "farther out", found(t, res, "wheel distance").Sub(inch("6.524")), inch("0.002"))
	same(t, "the pack", worked(t, res, "wheel pack").Sub(worked(t, nominal, "wheel pack")), inch("-0.002"))
	contains(t, of(t, res, "wheel distance").Text, "from pinion axis to wheel datum is 6.526 in")
	same(t, "casing stamped +1", found(t, res, "casing distance").Sub(inch("12.677")), inch("0.001"))
}

// Backlash of 0.010 to 0.013 in at four points equally spaced (common practice,
// no source); without an uncertainty a figure on a limit is in.
func TestWorkshopBacklash(t *testing.T) {
	s := readSheet(t, "br7.yaml")
	for points, want := range map[string]ring.Verdict{
		"0.010 0.013 0.012 0.011": ring.OutLow, // good at each point, tight between two
		"0.011 0.012 0.012 0.011": ring.Good,
		"0.010 0.010 0.010 0.010": ring.Good,
		"0.013 0.013 0.013 0.013": ring.Good,
		"0.009 0.012 0.012 0.012": ring.OutLow,
		"0.012 0.012 0.014 0.012": ring.OutHigh,
	} {
		p := strings.Fields(points)
		job := fmt.Sprintf("readings for: br7\nentries:\n  - {step: backlash, at: {0 deg: [%s in], 90 deg: [%s in], 180 deg: [%s in], 270 deg: [%s in]}}\n", p[0], p[1], p[2], p[3])
		res := work(t, s, job)
		if got := of(t, res, "backlash").Check.Verdict; got != want {
			t.Errorf("%s: %s, want %s", points, got, want)
		}
		for i, pt := range of(t, res, "backlash").Check.Points {
			if wantAngle := mm("90").Times(quantity.Whole(int64(i))); !pt.Angle.Equal(wantAngle) {
				t.Errorf("point %d stands at %s", i, pt.Angle)
			}
		}
	}
}

// In an inch sheet the words are in inches too.
func TestInchSheetSpeaksInInches(t *testing.T) {
	res := work(t, readSheet(t, "br7.yaml"), shift{}.entries(t)+"  - {step: pinion pack, fit: {measured: 0.045 in}}\n")
	status(t, res, "pinion pack", overhaul.Held, "off by -0.0020 in, at most 0.0010 in", "ADD 0.0020 in")
	contains(t, of(t, res, "pinion distance").Text, "0.0020 in NEARER to wheel axis")
}
