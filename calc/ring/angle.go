package ring

import "math"

// A Sense is which way the angles of a ring count, seen from the back of the
// wheel.
type Sense uint8

// The senses.
const (
	Clockwise Sense = iota
	Anticlockwise
)

// String names the sense.
func (s Sense) String() string {
	if s == Anticlockwise {
		return "anticlockwise"
	}
	return "clockwise"
}

// A Direction is an angle of the wheel, rounded to 10⁻⁶ degree.
type Direction struct {
	Known     bool    // false where the ring is even and has no direction
	Degrees   float64 // as the points are numbered, 0 to under 360
	Clockwise float64 // counted clockwise seen from the back, to compare rings
}

// direction is an angle as numbered, within one turn of a part that repeats
// every turn degrees.
func (s Sense) direction(deg, turn float64) Direction {
	d := Direction{Known: true, Degrees: tidy(deg, turn)}
	d.Clockwise = d.Degrees
	if s == Anticlockwise {
		d.Clockwise = tidy(-d.Degrees, turn)
	}
	return d
}

// Apart is the angle between two directions, 0 to 180 degrees, whichever way
// each ring was numbered; false where either has none. The same direction in
// the run-out of the back face and in the backlash points to the wheel on its
// carrier, another to a bearing or a bore.
func Apart(a, b Direction) (float64, bool) {
	if !a.Known || !b.Known {
		return 0, false
	}
	d := tidy(a.Clockwise-b.Clockwise, 360)
	return min(d, 360-d), true
}

// tidy brings an angle into 0 to under turn, rounded to 10⁻⁶ degree.
func tidy(deg, turn float64) float64 {
	deg = math.Mod(math.Round(deg*1e6)/1e6, turn)
	if deg < 0 {
		deg += turn
	}
	deg = math.Round(deg*1e6) / 1e6
	if deg >= turn {
		return 0
	}
	return deg + 0 // minus nought is nought
}

// sincos is the sine and cosine of an angle in degrees, exact at quarter turns
// so that points which cannot see a part give exactly nought for it.
func sincos(deg float64) (sin, cos float64) {
	quarter := math.Round(deg / 90)
	sin, cos = math.Sincos((deg - 90*quarter) * math.Pi / 180)
	switch math.Mod(math.Mod(quarter, 4)+4, 4) {
	case 1:
		return cos, -sin
	case 2:
		return -sin, -cos
	case 3:
		return -cos, sin
	}
	return sin, cos
}
