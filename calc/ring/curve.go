package ring

import (
	"math"

	"github.com/shopspring/decimal"

	"shimwright/calc/quantity"
)

// at is the fitted curve less its constant, in mm, at an angle in degrees, and
// its slope per radian.
func (f Fit) at(deg float64) (value, slope float64) {
	s1, c1 := sincos(deg)
	s2, c2 := sincos(2 * deg)
	value = f.Once.Cos*c1 + f.Once.Sin*s1 + f.Twice.Cos*c2 + f.Twice.Sin*s2
	slope = -f.Once.Cos*s1 + f.Once.Sin*c1 - 2*f.Twice.Cos*s2 + 2*f.Twice.Sin*c2
	return value, slope
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
	lowAt, lowest := f.lowest(least)
	highAt, highest := upside.lowest(least)
	low = Extreme{Value: fitted(f.Constant + lowest), At: s.direction(lowAt, 360)}
	high = Extreme{Value: fitted(f.Constant - highest), At: s.direction(highAt, 360)}
	return low, high
}

// lowest looks for the lowest of the curve's one or two valleys: every degree,
// then by halving on the slope. Of valleys equal within least the one at the
// smallest angle counts.
func (f Fit) lowest(least float64) (deg, value float64) {
	value = math.Inf(1)
	before, _ := f.at(-1)
	here, _ := f.at(0)
	for d := 0.0; d < 360; d++ {
		after, _ := f.at(d + 1)
		if here <= before && here <= after {
			at := tidy(f.valley(d-1, d+1), 360)
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
