package board

import (
	"strconv"
	"strings"

	"github.com/shopspring/decimal"

	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/ingest/store"
)

// mostDigits bounds a figure that is read.
const mostDigits = 40

// exact reads a figure as judgements have it: a decimal, or a decimal over a
// whole number; false where there is none.
func exact(s string) (quantity.Exact, bool) {
	digits, over, ratio := strings.Cut(s, "/")
	if len(digits) > mostDigits || strings.Trim(digits, "+-.0123456789") != "" {
		return quantity.Exact{}, false
	}
	d, err := decimal.NewFromString(digits)
	if err != nil {
		return quantity.Exact{}, false
	}
	x := quantity.FromDecimal(d)
	if !ratio {
		return x, true
	}
	n, err := strconv.ParseInt(over, 10, 64)
	if err != nil {
		return quantity.Exact{}, false
	}
	share, err := quantity.RatioOf(1, n)
	if err != nil {
		return quantity.Exact{}, false
	}
	return x.Times(share), true
}

// A reading is one point of a ring.
type reading struct {
	spot   string
	angle  quantity.Exact // degrees
	value  quantity.Exact // mm
	judged ring.Verdict
}

// A wheel is a judged ring worked out from its judgement: the rows say enough.
type wheel struct {
	points        []reading
	band          *ring.Band
	fit           *ring.Fit
	once, twice   float64 // mm, amplitudes; 0 where they are not seen
	window        *ring.Window
	mean, spread  quantity.Exact
	lowest        quantity.Exact
	spreadAllowed *quantity.Exact // by the sheet; nil where it has none
}

// wheelOf reads a ring's judgement; false where it holds no ring.
func wheelOf(j *store.Judgement, allowed *quantity.Exact) (wheel, bool) {
	if j == nil || j.Spread == "" {
		return wheel{}, false
	}
	w := wheel{spreadAllowed: allowed}
	in := ring.Input{SpreadLimit: allowed}
	for _, p := range j.Points {
		at := strings.LastIndexByte(p, ' ')
		value, ok := exact(p[at+1:])
		if at < 0 || !ok {
			return wheel{}, false
		}
		r := reading{spot: p[:at], value: value}
		if angle, err := quantity.ParseWithUnit(r.spot); err == nil {
			r.angle = angle.Exact()
		}
		w.points = append(w.points, r)
		in.Points = append(in.Points, ring.Point{Angle: r.angle, Repeats: []quantity.Exact{value}})
	}
	w.mean, _ = exact(j.Mean)
	w.spread, _ = exact(j.Spread)
	low, okLow := exact(j.Low)
	high, okHigh := exact(j.High)
	if okLow && okHigh {
		w.band = &ring.Band{Low: low, High: high}
		in.Band = *w.band
	}
	in.U, _ = exact(j.Uncertainty)
	w.judge(in)
	return w, len(w.points) > 0
}

// judge works the ring's curve and window out; a ring that cannot be is left
// with its points.
func (w *wheel) judge(in ring.Input) {
	res, err := ring.Judge(in)
	if err != nil {
		return
	}
	w.fit = &res.Fit
	w.once, w.twice = res.Fit.Once.Amplitude, res.Fit.Twice.Amplitude
	w.lowest = res.Lowest
	if w.band == nil {
		return
	}
	w.window = &res.Window
	for i := range w.points {
		w.points[i].judged = res.Points[i].Verdict
	}
}

// wide tells whether the spread is above what the sheet allows.
func (w *wheel) wide() bool { return w.spreadAllowed != nil && w.spreadAllowed.Less(w.spread) }
