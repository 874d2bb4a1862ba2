package ring

import (
	"fmt"
	"math"

	"github.com/shopspring/decimal"

	"shimwright/calc/quantity"
)

// A Sight is how much of a part the points can see.
type Sight uint8

// How much is seen.
const (
	Unseen Sight = iota
	Half         // one direction of it only
	Whole
)

// A Harmonic is the part of a ring that comes once, or twice, in a turn:
// Cos·cos kθ + Sin·sin kθ, θ as the points are numbered. What the points cannot
// see is nought in it.
type Harmonic struct {
	Sight     Sight
	Cos, Sin  float64 // mm
	Amplitude float64 // mm
	High, Low Direction
}

// An Extreme is the fitted curve where it is lowest or highest.
type Extreme struct {
	Value quantity.Exact // mm, rounded half to even at 9 places
	At    Direction      // the smallest angle, where several are equal
}

// A Fit is the smooth curve through a ring.
type Fit struct {
	Constant    float64 // mm
	Once, Twice Harmonic
	Low, High   Extreme  // of the whole fitted curve; zero where Once is unseen
	Freedom     int      // residual degrees of freedom: points − terms fitted
	Residual    float64  // mm: √(sum of squares / Freedom), 0 where Freedom is 0
	Notes       []string // what these points cannot see, in words
}

// seenShare is the least share of n that a harmonic's variance round the wheel
// must have beside what is fitted already; evenly spaced points have one half.
const seenShare = 0.05

// noise is the amplitude, relative to the readings, below which a part is the
// rounding of float64 and has no direction.
const noise = 1e-9

// FitPoints fits the curve alone, for rings that are not backlash, such as
// run-out. It refuses what Judge refuses of points.
func FitPoints(points []Point, s Sense) (Fit, error) {
	if err := checkPoints(points, s); err != nil {
		return Fit{}, err
	}
	return fit(points, meansOf(points), s), nil
}

func fit(points []Point, means []quantity.Exact, s Sense) Fit {
	m, _, _ := meanOf(means)
	centre := m.Value()
	n := len(points)
	y, size := make([]float64, n), 0.0
	once, twice := newPair(n), newPair(n)
	for i, p := range points {
		// Exact differences from the mean lose nothing of a small spread on a
		// large reading.
		y[i] = means[i].Sub(centre).Float()
		size = max(size, math.Abs(means[i].Float()))
		deg := p.Angle.Float()
		once.sin[i], once.cos[i] = sincos(deg)
		twice.sin[i], twice.cos[i] = sincos(2 * deg)
	}
	terms := [][]float64{ones(n)}
	seenOnce, _ := once.seenBeside(terms)
	if len(seenOnce) < 2 {
		return unseenFit(centre.Float(), y)
	}
	terms = append(terms, once.cos, once.sin)
	seenTwice, along := twice.seenBeside(terms)
	x, rest := leastSquares(append(terms, seenTwice...), y)

	f := Fit{Constant: centre.Float() + x[0], Freedom: n - len(x)}
	f.Once = harmonic(1, Whole, x[1], x[2], noise*size, s)
	switch len(seenTwice) {
	case 1:
		f.Twice = harmonic(2, Half, x[3]*math.Cos(along), x[3]*math.Sin(along), noise*size, s)
	case 2:
		f.Twice = harmonic(2, Whole, x[3], x[4], noise*size, s)
	}
	if f.Freedom > 0 {
		f.Residual = math.Sqrt(dot(rest, rest) / float64(f.Freedom))
	}
	f.Low, f.High = f.extremes(noise*size, s)
	f.Notes = notes(n, f, along)
	return f
}

// unseenFit is no curve at all, the points being too close together.
func unseenFit(mean float64, y []float64) Fit {
	f := Fit{Constant: mean, Freedom: len(y) - 1}
	f.Residual = math.Sqrt(dot(y, y) / float64(f.Freedom))
	f.Notes = []string{"The points lie too close together to show what the rest of the turn does: spread them round the wheel."}
	return f
}

// harmonic is the part that comes k times a turn.
func harmonic(k float64, seen Sight, cos, sin, least float64, s Sense) Harmonic {
	h := Harmonic{Sight: seen, Cos: cos, Sin: sin, Amplitude: math.Hypot(cos, sin)}
	if h.Amplitude > least {
		high := math.Atan2(sin, cos) * 180 / math.Pi / k
		h.High = s.direction(high, 360/k)
		h.Low = s.direction(high+180/k, 360/k)
	}
	return h
}

// notes says what the points do not show.
func notes(n int, f Fit, along float64) []string {
	var out []string
	switch {
	case n == 3:
		out = append(out, "Three points cannot see a twice-per-turn part (bent or oval wheel, two bolts): four see half of it, five all of it.")
	case f.Twice.Sight == Unseen:
		out = append(out, "These points cannot see a twice-per-turn part (bent or oval wheel, two bolts): spread them evenly round the wheel.")
	case f.Twice.Sight == Half:
		// The part seen is highest or lowest at along/2, the part unseen 45 deg on.
		seen := tidy(along*90/math.Pi, 90)
		out = append(out, fmt.Sprintf(
			"These points see half of the twice-per-turn part (bent or oval wheel, two bolts): its sine part, counted from %s deg and highest or lowest at %s deg and every 90 deg on, is invisible. Take one more reading there.",
			decimal.NewFromFloat(seen).Round(1), decimal.NewFromFloat(tidy(seen+45, 90)).Round(1)))
	}
	if f.Freedom == 0 {
		out = append(out, "The curve passes through every point, so it cannot show up a bad reading.")
	}
	return out
}

// RunOut is the total run-out at the mesh that the once-per-turn part stands
// for, 2·A/k, in mm by factor; k is the wheel's move factor for the same
// backlash. (Common practice, no source.)
func (f Fit) RunOut(k quantity.Exact) (quantity.Exact, error) {
	if f.Once.Sight != Whole {
		return quantity.Exact{}, fmt.Errorf("run-out: these points do not show the once-per-turn part; spread them round the wheel")
	}
	if a := f.Once.Amplitude; !(a >= 0 && a <= 2*MaxReading) {
		return quantity.Exact{}, fmt.Errorf("run-out: an amplitude of %v mm is no ring's; fit the points again", a)
	}
	by, err := reciprocal(k)
	if err != nil {
		return quantity.Exact{}, err
	}
	return byFactor(2 * f.Once.Amplitude * by.Float()), nil
}
