package ring

import (
	"fmt"

	"shimwright/calc/quantity"
)

// What a ring may hold; more is refused by name.
const (
	MinPoints  = 3
	MaxPoints  = 360
	MaxRepeats = 100
	MaxReading = 100 // mm either way
)

// A Point is the readings taken at one angle of the wheel.
type Point struct {
	Angle   quantity.Exact   // degrees as the points are numbered, 0 to under 360
	Repeats []quantity.Exact // mm, one or more
}

// An Input is a ring and what it is judged by.
type Input struct {
	Points      []Point         // three or more, at different angles, in any order
	Sense       Sense           // which way the angles count
	Band        Band            // mm, for every point and for the fitted low
	SpreadLimit *quantity.Exact // mm; nil leaves the spread unjudged
	U           quantity.Exact  // mm: expanded uncertainty of a point, 0 or more
	SpreadU     quantity.Exact  // mm: expanded uncertainty of the spread, in which what all points share drops out
	Rule        Rule
}

// A Mean is an exact sum and the count it is divided by.
type Mean struct {
	Sum   quantity.Exact // mm
	Count int
}

// Value is the sum over the count, exact; of no readings it is nought.
func (m Mean) Value() quantity.Exact { return over(m.Sum, int64(m.Count)) }

// over is x divided by a whole number, exact; by nought it is nought.
func over(x quantity.Exact, n int64) quantity.Exact {
	part, err := quantity.RatioOf(1, n)
	if err != nil {
		return quantity.Exact{}
	}
	return x.Times(part)
}

// meanOf is the mean of some figures, the lowest and the highest of them.
func meanOf(xs []quantity.Exact) (m Mean, low, high quantity.Exact) {
	for i, x := range xs {
		if i == 0 || x.Less(low) {
			low = x
		}
		if i == 0 || high.Less(x) {
			high = x
		}
		m.Sum = m.Sum.Add(x)
	}
	m.Count = len(xs)
	return m, low, high
}

// A PointResult is one point worked out.
type PointResult struct {
	Angle   quantity.Exact // degrees, as given
	Mean    Mean           // mm, of the repeats
	Range   quantity.Exact // mm: highest − lowest repeat; large: dial slack, pinion not locked, float
	Verdict Verdict
}

// A Result is a ring worked out and judged. Nothing in it is rounded but where
// it says so.
type Result struct {
	Points          []PointResult  // in the order given
	Mean            Mean           // mm, of the points' means
	Lowest, Highest quantity.Exact // mm, of the points' means
	Spread          quantity.Exact // mm: highest − lowest point
	SpreadVerdict   Verdict
	Window          Window
	Fit             Fit
	LowVerdict      Verdict // of Fit.Low, with the U of a point; NotJudged when there is no fit
}

// Judge works out a ring by the formulas of the package comment. It refuses a
// ring that cannot be judged, naming the field and what is wanted there: fewer
// than three points, an angle given twice, no readings at one, a band upside
// down, an uncertainty below nought, figures that no dial reads.
func Judge(in Input) (Result, error) {
	if err := in.check(); err != nil {
		return Result{}, err
	}
	guard := in.Rule.guard(in.U)
	means := meansOf(in.Points)
	r := Result{Fit: fit(in.Points, means, in.Sense)}
	r.Mean, r.Lowest, r.Highest = meanOf(means)
	for i, p := range in.Points {
		m, low, high := meanOf(p.Repeats)
		r.Points = append(r.Points, PointResult{
			Angle: p.Angle, Mean: m, Range: high.Sub(low), Verdict: in.Band.judge(means[i], guard),
		})
	}
	r.Spread = r.Highest.Sub(r.Lowest)
	if in.SpreadLimit != nil {
		r.SpreadVerdict = judgeMost(r.Spread, *in.SpreadLimit, in.Rule.guard(in.SpreadU))
	}
	r.Window = Window{
		From: in.Band.Low.Add(guard).Sub(r.Lowest),
		To:   in.Band.High.Sub(guard).Sub(r.Highest),
	}
	if r.Fit.Once.Sight == Whole {
		r.LowVerdict = in.Band.judge(r.Fit.Low.Value, guard)
	}
	return r, nil
}

// Good tells whether every point, the fitted low and, where it has a limit, the
// spread are good.
func (r Result) Good() bool {
	for _, p := range r.Points {
		if p.Verdict != Good {
			return false
		}
	}
	ok := func(v Verdict) bool { return v == Good || v == NotJudged }
	return len(r.Points) > 0 && ok(r.LowVerdict) && ok(r.SpreadVerdict)
}

func meansOf(points []Point) []quantity.Exact {
	out := make([]quantity.Exact, len(points))
	for i, p := range points {
		m, _, _ := meanOf(p.Repeats)
		out[i] = m.Value()
	}
	return out
}

// A Window is the change of mean, in mm, that would bring every point into its
// band by the guard band.
type Window struct{ From, To quantity.Exact }

// Empty tells that no change of mean does.
func (w Window) Empty() bool { return w.To.Less(w.From) }

// String is the window in words.
func (w Window) String() string {
	if w.Empty() {
		return "no shim can pass: fix the spread first"
	}
	return fmt.Sprintf("change of mean from %s to %s mm", w.From.Decimal(), w.To.Decimal())
}

// Middle is the middle of the window, where to aim unless the manual says
// otherwise.
func (w Window) Middle() quantity.Exact { return over(w.From.Add(w.To), 2) }

// A Move is how far a gear may go, in mm, positive AWAY from its mate (wheel)
// or OUT (pinion).
type Move struct{ From, To, Aim quantity.Exact }

// Move is the window as a move of a gear with factor k, the change of the same
// backlash for one unit of move: change ÷ k, exact. k is a sheet's decimal
// above 0.
func (w Window) Move(k quantity.Exact) (Move, error) {
	for _, x := range []quantity.Exact{w.From, w.To} {
		if err := checkDigits(x); x.IsDecimal() && err != nil {
			return Move{}, fmt.Errorf("shift window: %w", err)
		}
	}
	if w.Empty() {
		return Move{}, fmt.Errorf("shift window: %s", w)
	}
	by, err := reciprocal(k)
	if err != nil {
		return Move{}, err
	}
	return Move{From: w.From.Mul(by), To: w.To.Mul(by), Aim: w.Middle().Mul(by)}, nil
}
