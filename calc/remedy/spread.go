package remedy

import (
	"fmt"

	"shimwright/calc/quantity"
	"shimwright/calc/ring"
)

// A RunOut is the wheel's run-out ring, fitted, with its angles numbered on the
// same wheel.
type RunOut struct {
	Fit       ring.Fit
	ToothSide bool // read from the tooth side: high and low change places
	Source    string
}

// sameAngle is how near two directions count as one: half the way between four
// points (our own rule, no source).
const sameAngle = 45

// Doubts is what to doubt, in order, when moves do not land.
func Doubts() []string {
	return []string{
		"the packs: measure each as fitted, place by place",
		"dirt or a burr under a pack, a track or the wheel",
		"bolts: order and torque",
		"the mark: its sign, its unit, its meaning",
		"the pair: the numbers on pinion and wheel",
		"the casing: its stamp, its bores, its joint face",
	}
}

// LookForSpread says what makes a ring spread, likeliest first: twice per turn
// points to a bent wheel or two bolts, once per turn to run-out, and the
// direction of the wheel's own run-out, where it is given, to which of the two
// places to look at. Common practice, no source.
func LookForSpread(r ring.Result, k Factor, out *RunOut, show Display) ([]string, error) {
	if err := checkFitted("ring", r.Fit); err != nil {
		return nil, err
	}
	if err := k.check("factor"); err != nil {
		return nil, err
	}
	if out != nil {
		if err := checkFitted("run-out", out.Fit); err != nil {
			return nil, err
		}
	}
	once, twice := r.Fit.Once, r.Fit.Twice
	var look []string
	if twice.Amplitude > once.Amplitude && twice.Amplitude > 0 {
		look = append(look, "Twice per turn is the larger part: a bent or oval wheel, or two bolts. Slacken the wheel's bolts and pull them down crosswise.")
	}
	if once.Sight == ring.Whole && once.Amplitude > 0 {
		implied, err := r.Fit.RunOut(k.K)
		if err != nil {
			return nil, problem("factor", "%v", err)
		}
		look = append(look, fmt.Sprintf("Once per turn, low at %s: it stands for %s of run-out at the mesh.", degrees(once.Low.Degrees), show.figure(implied)))
		if out != nil {
			look = append(look, out.compare(r, implied, show))
		}
	}
	look = append(look, "back-face run-out of the wheel", "a burr or dirt under the wheel", "the wheel's bolts: order and torque")
	if low, ask := LowToRead(r, show); ask {
		look = append(look, low.Words)
	}
	return append(look, r.Fit.Notes...), nil
}

// compare holds the ring's direction against that of the wheel's run-out. A
// back face that stands high brings backlash up there; read from the tooth side
// it is the reverse.
func (o RunOut) compare(r ring.Result, implied quantity.Exact, show Display) string {
	high := o.Fit.Once.High
	if o.ToothSide {
		high = o.Fit.Once.Low
	}
	found := roundedMM(2 * o.Fit.Once.Amplitude)
	words := fmt.Sprintf("Run-out of the wheel %s: %s; the ring stands for %s", o.source(), show.figure(found), show.figure(implied))
	apart, ok := ring.Apart(high, r.Fit.Once.High)
	switch {
	case !ok:
		return words + "."
	case apart <= sameAngle:
		return words + ", in the same direction: the wheel on its carrier, so burrs, dirt, bolts."
	}
	return words + fmt.Sprintf(", %s away: not the wheel on its carrier, so look at bearings and bores, or dirt since the run-out was taken.", degrees(apart))
}

func (o RunOut) source() string {
	if o.Source == "" {
		return "as taken before"
	}
	return o.Source
}

func degrees(x float64) string { return fmt.Sprintf("%.0f deg", x) }

// checkFitted refuses amplitudes that no ring has.
func checkFitted(field string, f ring.Fit) error {
	for _, x := range []float64{f.Once.Amplitude, f.Twice.Amplitude} {
		if !(x >= 0 && x <= ring.MaxReading) {
			return problem(field+", fit", "an amplitude of %v mm: judge the ring again", x)
		}
	}
	return nil
}
