package draw

import (
	"fmt"
	"math"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/ring"
)

// A Ring is what a backlash or run-out ring is drawn from: as many of its
// points as there are.
type Ring struct {
	Spots  []Spot
	Sense  ring.Sense // which way the angles count, seen from the back of the wheel
	Band   *ring.Band // base unit; nil where there is none
	Fit    *ring.Fit  // nil until the curve is known
	Unit   quantity.Unit
	Places int32
}

// A Spot is one place of a ring.
type Spot struct {
	Angle   float64         // degrees, as the points are numbered
	Value   *quantity.Exact // base unit; nil while nothing was pressed there
	Verdict ring.Verdict
	Stale   bool
	Next    bool // the next press is for it
}

// RingOf is the ring of a check with points; false where the step has none. The
// curve is there from the third point on.
func RingOf(r *overhaul.Result) (Ring, bool) {
	if r == nil || r.Check == nil || len(r.Check.Points) < ring.MinPoints {
		return Ring{}, false
	}
	out := Ring{Band: r.Check.Band}
	var have []ring.Point
	for _, p := range r.Check.Points {
		s := Spot{Angle: p.Angle.Float(), Verdict: p.Verdict, Stale: p.Stale, Next: r.Left > 0 && p.Spot == r.Spot}
		if p.Figure != nil {
			s.Value = &p.Figure.Value
			if !p.Stale {
				have = append(have, ring.Point{Angle: p.Angle, Repeats: []quantity.Exact{p.Figure.Value}})
			}
		}
		out.Spots = append(out.Spots, s)
	}
	switch {
	case r.Check.Ring != nil:
		out.Fit = &r.Check.Ring.Fit
	case len(have) >= ring.MinPoints:
		if f, err := ring.FitPoints(have, ring.Clockwise); err == nil {
			out.Fit = &f
		}
	}
	return out, true
}

// Measures of the drawing, in cells.
const (
	labelRoom = 12  // left and right of the ring, for figures
	hub       = 0.4 // where the lowest figure stands, as a share of the radius
	cellHigh  = 2.0 // how high a cell is for its width
)

// Rows draws a ring round the wheel, the first spot at the top: the band
// shaded, each point with its figure, the curve through them, its lowest place
// as an L, and what the marks mean below.
func (r Ring) Rows(look Look) []Row {
	legend := r.legend(look)
	look.Height -= len(legend)
	return append(r.Wheel(look), legend...)
}

// Wheel is the drawing alone, for a page that says beside it what its marks
// mean.
func (r Ring) Wheel(look Look) []Row {
	g := newGrid(look.Width, look.Height)
	w := r.wheel(g, look)
	if w.radius < 2 {
		return r.table(look)
	}
	w.shade()
	w.curve()
	w.spots()
	w.centre()
	return g.rows()
}

// wheel is a ring being drawn.
type wheel struct {
	Ring
	g         *grid
	ascii     bool
	x, y      float64 // the centre, in cells
	radius    float64 // in rows
	low, high float64 // figures at the hub and at the rim
}

func (r Ring) wheel(g *grid, look Look) *wheel {
	w := &wheel{Ring: r, g: g, ascii: look.ASCII}
	w.radius = min(float64(g.high-3)/2, float64(g.wide-2*labelRoom)/2/cellHigh)
	w.x, w.y = float64(g.wide-1)/2, float64(g.high-1)/2
	w.low, w.high = r.scale()
	return w
}

// scale is the range of figures that the drawing takes in.
func (r Ring) scale() (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	take := func(x float64) { low, high = min(low, x), max(high, x) }
	for _, s := range r.Spots {
		if s.Value != nil {
			take(s.Value.Float())
		}
	}
	if r.Band != nil {
		take(r.Band.Low.Float())
		take(r.Band.High.Float())
	}
	if r.Fit != nil && r.Fit.Once.Sight == ring.Whole {
		take(r.Fit.Low.Value.Float())
		take(r.Fit.High.Value.Float())
	}
	if math.IsInf(low, 0) {
		return 0, 1
	}
	spare := max((high-low)*0.12, 1e-6)
	return low - spare, high + spare
}

// out is how far from the centre a figure stands, in rows.
func (w *wheel) out(value float64) float64 {
	share := (value - w.low) / (w.high - w.low)
	return w.radius * (hub + (1-hub)*share)
}

// place is where an angle and a distance lie, in cells.
func (w *wheel) place(deg, out float64) (x, y float64) {
	if w.Sense == ring.Anticlockwise {
		deg = -deg
	}
	sin, cos := math.Sincos(deg * math.Pi / 180)
	return w.x + cellHigh*out*sin, w.y - out*cos
}

// shade fills the band between the limits: thinly, so that the curve stands out
// of it, and by the dots of cells, so that it is round on a small drawing too.
func (w *wheel) shade() {
	if w.Band == nil {
		return
	}
	low, high := w.out(w.Band.Low.Float()), w.out(w.Band.High.Float())
	in := func(x, y float64) bool {
		d := math.Hypot((x-w.x)/cellHigh, y-w.y)
		return d >= low && d <= high
	}
	for y := range w.g.high {
		for x := range w.g.wide {
			if w.ascii {
				if in(float64(x), float64(y)) {
					w.g.put(x, y, bandMark(true), Faint)
				}
				continue
			}
			if bits := bandDots(x, y, in); bits != 0 {
				w.g.put(x, y, string(0x2800+bits), Faint)
			}
		}
	}
}

// bandDots are the dots of a cell that show the band.
func bandDots(x, y int, in func(x, y float64) bool) rune {
	var bits rune
	for row := range 4 {
		for col := range 2 {
			if (col+row)%2 == 0 && in(float64(x)+(float64(col)-0.5)/2, float64(y)+(float64(row)-1.5)/4) {
				bits |= braille(col, row)
			}
		}
	}
	return bits
}

// bandMark is a cell that lies in the band whole.
func bandMark(ascii bool) string {
	if ascii {
		return ":"
	}
	return string(0x2800 + bandDots(0, 0, func(x, y float64) bool { return true }))
}

// curve draws the smooth curve through the points.
func (w *wheel) curve() {
	if w.Fit == nil || w.Fit.Once.Sight != ring.Whole {
		return
	}
	dots := map[[2]int]rune{}
	for d := 0.0; d < 360; d += 0.5 {
		x, y := w.place(d, w.out(curveAt(*w.Fit, d)))
		if w.ascii {
			w.g.put(int(math.Round(x)), int(math.Round(y)), "*", Strong)
			continue
		}
		// A cell has two dots across and four down; its middle is at the whole number.
		col, row := int(math.Floor((x+0.5)*2)), int(math.Floor((y+0.5)*4))
		dots[[2]int{col >> 1, row >> 2}] |= braille(col&1, row&3)
	}
	for at, bits := range dots {
		w.g.put(at[0], at[1], string(0x2800+bits), Strong)
	}
}

// braille is the bit of a dot in its cell.
func braille(col, row int) rune {
	if row == 3 {
		return 0x40 << col
	}
	return 1 << (row + 3*col)
}

// curveAt is the fitted curve at an angle, in mm.
func curveAt(f ring.Fit, deg float64) float64 {
	s1, c1 := math.Sincos(deg * math.Pi / 180)
	s2, c2 := math.Sincos(2 * deg * math.Pi / 180)
	return f.Constant + f.Once.Cos*c1 + f.Once.Sin*s1 + f.Twice.Cos*c2 + f.Twice.Sin*s2
}

// spots puts a mark at each point and its figure outside the ring, where there
// is room for it; what wants a look gets its figure first.
func (w *wheel) spots() {
	for _, s := range w.Spots {
		at := (w.low + w.high) / 2
		if w.Band != nil {
			at = (w.Band.Low.Float() + w.Band.High.Float()) / 2
		}
		if s.Value != nil {
			at = s.Value.Float()
		}
		x, y := w.place(s.Angle, w.out(at))
		mark, tone := spotMark(s, w.ascii)
		w.g.put(int(math.Round(x)), int(math.Round(y)), mark, tone)
	}
	if f := w.Fit; f != nil && f.Once.Sight == ring.Whole && f.Low.At.Known {
		w.lowest(f)
	}
	for _, bad := range []bool{true, false} {
		for _, s := range w.Spots {
			if (s.Verdict > ring.Good || s.Next) == bad {
				w.label(s)
			}
		}
	}
}

func (w *wheel) lowest(f *ring.Fit) {
	x, y := w.place(f.Low.At.Degrees, w.out(f.Low.Value.Float()))
	col, row := int(math.Round(x)), int(math.Round(y))
	for _, s := range w.Spots {
		px, py := w.place(s.Angle, w.out(f.Low.Value.Float()))
		if s.Value != nil && int(math.Round(px)) == col && int(math.Round(py)) == row {
			// A point stands there: the L goes beside it, towards the hub.
			x, y = w.place(f.Low.At.Degrees, w.out(f.Low.Value.Float())-1)
			col, row = int(math.Round(x)), int(math.Round(y))
			break
		}
	}
	w.g.put(col, row, "L", Strong)
}

// label writes a spot's angle and figure outside the ring.
func (w *wheel) label(s Spot) {
	text := fmt.Sprintf("%.0f:", s.Angle)
	if s.Value != nil {
		text += " " + s.Value.Show(w.Unit, w.Places)
	} else {
		text += " ____"
	}
	_, tone := spotMark(s, w.ascii)
	x, y := w.place(s.Angle, w.radius+1)
	n := len(text)
	col, row := int(math.Round(x)), int(math.Round(y))
	switch side := x - w.x; {
	case side > 1:
		col++
	case side < -1:
		col -= n
	default:
		col -= n / 2
	}
	col = max(0, min(col, w.g.wide-n))
	if w.g.free(col-1, row, 1) || col == 0 {
		if w.g.free(col, row, n) {
			w.g.write(col, row, text, tone)
		}
	}
}

// spotMark is the mark of a point, which tells its verdict by its shape.
func spotMark(s Spot, ascii bool) (string, Tone) {
	pick := func(fine, plain string, t Tone) (string, Tone) {
		if ascii {
			return plain, t
		}
		return fine, t
	}
	switch {
	case s.Next:
		return pick("◎", "@", Strong)
	case s.Value == nil:
		return pick("○", ".", Plain)
	case s.Stale:
		return pick("~", "~", Warn)
	}
	switch s.Verdict {
	case ring.Good:
		return pick("●", "o", Good)
	case ring.TooClose:
		return pick("?", "?", Warn)
	case ring.OutHigh:
		return pick("▲", "^", Stop)
	case ring.OutLow:
		return pick("▼", "v", Stop)
	case ring.NotGood:
		return pick("X", "X", Stop)
	}
	return pick("●", "o", Strong)
}

// centre writes the mean into the hub, where it has room.
func (w *wheel) centre() {
	mean, n := quantity.Exact{}, int64(0)
	for _, s := range w.Spots {
		if s.Value != nil && !s.Stale {
			mean, n = mean.Add(*s.Value), n+1
		}
	}
	share, err := quantity.RatioOf(1, max(n, 1))
	if err != nil || n == 0 {
		return
	}
	figure := mean.Times(share).Show(w.Unit, w.Places)
	x, y := int(math.Round(w.x)), int(math.Round(w.y))
	for i, text := range []string{"mean", figure} {
		if col := x - len(text)/2; w.g.free(col, y-1+i, len(text)) {
			w.g.write(col, y-1+i, text, Plain)
		}
	}
}
