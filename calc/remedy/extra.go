package remedy

import (
	"fmt"

	"shimwright/calc/quantity"
	"shimwright/calc/ring"
)

// A PinionReading is the reading that tells the pinion's run-out from the
// wheel's: the same wheel tooth again after whole wheel turns, so that what the
// wheel does cancels.
type PinionReading struct {
	CanBeTold bool
	Turns     int            // whole turns of the wheel, from the first reading
	PinionOn  quantity.Exact // degrees the pinion then stands on from the first reading
	Words     string
}

// mostTeeth is what package ring takes for a gear.
const mostTeeth = 1000

// SamePinionTooth works out which reading shows the pinion's own run-out, from
// the tooth counts. In t turns of the wheel the pinion turns t·wheel/pinion;
// the turns chosen bring it nearest to half a turn on, the fewest of these.
// Where the wheel's teeth are a whole multiple of the pinion's the same tooth
// always meets the same pinion tooth, and nothing can be told. Counting of teeth,
// no source; it refuses teeth below 1 or above 1000.
func SamePinionTooth(pinion, wheel int) (PinionReading, error) {
	if err := checkTeeth(pinion, wheel); err != nil {
		return PinionReading{}, err
	}
	best, off := 0, 0
	for t := 1; t < pinion; t++ {
		on := t * wheel % pinion
		from := abs(2*on - pinion)
		if on != 0 && (best == 0 || from < off) {
			best, off = t, from
		}
	}
	if best == 0 {
		return PinionReading{Words: fmt.Sprintf(
			"Run-out of the pinion cannot be told: with %d and %d teeth the same wheel tooth always meets the same pinion tooth. Read the pinion's own run-out by dial.", pinion, wheel)}, nil
	}
	on, err := share(360*int64(best*wheel%pinion), int64(pinion))
	if err != nil {
		return PinionReading{}, err
	}
	return PinionReading{
		CanBeTold: true, Turns: best, PinionOn: on,
		Words: fmt.Sprintf("Take one more reading on the SAME wheel tooth after %d whole turns of the wheel: the pinion then stands %s deg on, so what changes is the pinion's run-out and not the wheel's.",
			best, on.Round(1)),
	}, nil
}

// PinionAngles is where the pinion stands at each angle of the wheel, 0 to
// under 360 degrees, counted from angle 0 of the wheel (angle × wheel teeth ÷
// pinion teeth, whole turns left out; exact): with 9 and 37 teeth the
// four quarter points see the pinion at 0, 10, 20 and 30 degrees only.
func PinionAngles(pinion, wheel int, points []quantity.Exact) ([]quantity.Exact, error) {
	if err := checkTeeth(pinion, wheel); err != nil {
		return nil, err
	}
	ratio, err := quantity.RatioOf(int64(wheel), int64(pinion))
	if err != nil {
		return nil, err
	}
	turn, err := quantity.RatioOf(1, 360)
	if err != nil {
		return nil, err
	}
	out := make([]quantity.Exact, len(points))
	for i, p := range points {
		if err := checkFigure(fmt.Sprintf("point %d, angle", i+1), p, 360); err != nil {
			return nil, err
		}
		at := p.Times(ratio)
		turns := floorOf(at.Times(turn))
		out[i] = at.Sub(whole(360 * turns))
	}
	return out, nil
}

// A LowReading asks for one reading where the fitted curve is lowest.
type LowReading struct {
	At    float64        // degrees, as the points are numbered
	Value quantity.Exact // mm: what the fitted curve has there
	Words string
}

// LowToRead asks for the extra reading when no point is out and the fitted low
// is not good: the tightest tooth may lie between the points. False when there
// is nothing to ask.
func LowToRead(r ring.Result, show Display) (LowReading, bool) {
	if r.LowVerdict == ring.Good || r.LowVerdict == ring.NotJudged || !r.Fit.Low.At.Known {
		return LowReading{}, false
	}
	for _, p := range r.Points {
		if p.Verdict != ring.Good && p.Verdict != ring.TooClose {
			return LowReading{}, false
		}
	}
	low := r.Fit.Low
	return LowReading{At: low.At.Degrees, Value: low.Value, Words: fmt.Sprintf(
		"No point is out, but the curve through them falls to %s at %.0f deg (%s): take one more reading there.",
		show.figure(low.Value), low.At.Degrees, r.LowVerdict)}, true
}

func checkTeeth(pinion, wheel int) error {
	for _, z := range []struct {
		field string
		teeth int
	}{{"pinion teeth", pinion}, {"wheel teeth", wheel}} {
		if z.teeth < 1 || z.teeth > mostTeeth {
			return problem(z.field, "%d: give 1 to %d", z.teeth, mostTeeth)
		}
	}
	return nil
}

func abs(n int) int { return max(n, -n) }

// share is a over b, exact.
func share(a, b int64) (quantity.Exact, error) {
	part, err := quantity.RatioOf(1, b)
	if err != nil {
		return quantity.Exact{}, err
	}
	return whole(a).Times(part), nil
}
