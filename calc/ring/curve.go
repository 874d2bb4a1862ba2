package ring

import (
	"math"

	"github.com/shopspring/decimal"

	"shimwright/calc/quantity"
)

// An arm is the sine and cosine of an angle.
type arm struct{ sin, cos float64 }

func armOf(deg float64) (a arm) {
	a.sin, a.cos = sincos(deg)
	return a
}

// at is the fitted curve less its constant, in mm, at an angle in degrees, and
// its slope per radian.
func (f Fit) at(deg float64) (value, slope float64) {
	return f.by(armOf(deg), armOf(2*deg))
}

// by is at, by the arms of the angle and of twice the angle.
func (f Fit) by(one, two arm) (value, slope float64) {
	value = f.Once.Cos*one.cos + f.Once.Sin*one.sin + f.Twice.Cos*two.cos + f.Twice.Sin*two.sin
	slope = -f.Once.Cos*one.sin + f.Once.Sin*one.cos - 2*f.Twice.Cos*two.sin + 2*f.Twice.Sin*two.cos
	return value, slope
}

// wholeDegrees are the arms of every degree of a turn.
func wholeDegrees() (turn [360]arm) {
	for d := range turn {
		turn[d] = armOf(float64(d))
	}
	return turn
}

// extremes is where the fitted curve is lowest and highest. A curve flatter
// than least has values but no directions.
func (f Fit) extremes(least float64, s Sense) (low, high Extreme) {
	if f.Once.Amplitude <= least && f.Twice.Amplitude <= least {
		low.Value = fitted(f.Constant)
		return low, low
	}
	upside := f
	for _, h := range []*Harmonic{&upside.Once, &upside.Twice} {
		h.Cos, h.Sin = -h.Cos, -h.Sin
	}
	turn := wholeDegrees() // what costs most here
	lowAt, lowest := f.lowest(&turn, least)
	highAt, highest := upside.lowest(&turn, least)
	low = Extreme{Value: fitted(f.Constant + lowest), At: s.direction(lowAt, 360)}
	high = Extreme{Value: fitted(f.Constant - highest), At: s.direction(highAt, 360)}
	return low, high
}

// lowest looks for the lowest of the curve's one or two valleys: every degree,
// then by halving on the slope. Of valleys equal within least the one at the
// smallest angle counts.
func (f Fit) lowest(turn *[360]arm, least float64) (deg, value float64) {
	value = math.Inf(1)
	on := func(d int) float64 {
		v, _ := f.by(turn[d%360], turn[2*d%360])
		return v
	}
	before, here := on(359), on(0)
	for d := range 360 {
		after := on(d + 1)
		if here <= before && here <= after {
			at := tidy(f.valley(float64(d-1), float64(d+1)), 360)
			v, _ := f.at(at)
			if v < value-least || v <= value+least && at < deg {
				deg, value = at, v
			}
		}
		before, here = here, after
	}
	return deg, value
}

// valley halves the way between two angles until the slope is nought between.
func (f Fit) valley(from, to float64) float64 {
	for range 60 {
		mid := (from + to) / 2
		switch _, slope := f.at(mid); {
		case slope == 0:
			return mid
		case slope > 0:
			to = mid
		default:
			from = mid
		}
	}
	return (from + to) / 2
}

// fitted turns a fitted value into a decimal of 9 places, half to even.
func fitted(x float64) quantity.Exact {
	return quantity.FromDecimal(decimal.NewFromFloat(x).RoundBank(quantity.WorkPlaces))
}
