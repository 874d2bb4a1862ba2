package record

import (
	"math"
	"slices"

	"codeberg.org/go-pdf/fpdf"
)

// span is from where to where a drawing's figures reach, with some room.
func (d drawing) span() (lo, hi float64) {
	var all []float64
	all = append(append(all, d.values...), d.curve...)
	if d.banded {
		all = append(all, d.low, d.high)
	}
	if len(all) == 0 {
		return 0, 0
	}
	lo, hi = slices.Min(all), slices.Max(all)
	room := (hi - lo) / 10
	return lo - room, hi + room
}

// rows are the angles that are drawn: each eighth of a turn and each point.
func (d drawing) rows() []float64 {
	out := append([]float64{}, d.angles...)
	for a := 0.0; a < 360; a += 45 {
		if !slices.Contains(out, a) {
			out = append(out, a)
		}
	}
	slices.Sort(out)
	return out
}

// rings draws each ring beside its figures.
func (p *paper) rings(r *Record) {
	for _, g := range r.Rings {
		const high = 62.0
		p.heading(g.Step+", round the gear", high)
		y := p.y
		d := g.drawing
		if lo, hi := d.span(); hi > lo {
			p.ring(g, margin+37, y+high/2, lo, hi)
		}
		p.y = y + 2
		x, w := margin+76, across-76
		say := func(name, value string) {
			if value != "" {
				p.words(x, w, "", name+" "+value)
			}
		}
		if g.Low != "" {
			say("band", g.Low+" .. "+g.High+", shaded")
		}
		say("mean", g.Mean)
		say("spread", g.Spread)
		say("lowest of the smooth curve", g.FitLow)
		p.words(x, w, "", g.Words+".")
		p.words(x, w, "", "0 deg at the top, angles drawn clockwise as they are numbered; farther out is more. ● pressed, ─ the smooth curve, ▼ its lowest.")
		p.y = max(p.y, y+high)
	}
}

// Radii of the drawing, in mm.
const (
	ringInner = 6.0
	ringOuter = 22.0
)

// ring draws the band shaded, the smooth curve, the points and the lowest place.
func (p *paper) ring(g Ring, cx, cy, lo, hi float64) {
	d := g.drawing
	radius := func(v float64) float64 { return ringInner + (v-lo)/(hi-lo)*(ringOuter-ringInner) }
	place := func(deg, r float64) (x, y float64) {
		a := deg * math.Pi / 180
		return cx + r*math.Sin(a), cy - r*math.Cos(a)
	}
	p.SetLineWidth(0.2)
	if d.banded {
		p.SetFillColor(225, 225, 225)
		p.Circle(cx, cy, radius(d.high), "FD")
		p.SetFillColor(255, 255, 255)
		p.Circle(cx, cy, radius(d.low), "FD")
	}
	p.Line(cx-1, cy, cx+1, cy)
	p.Line(cx, cy-1, cx, cy+1)
	p.SetLineWidth(0.35)
	for i, v := range d.curve {
		x1, y1 := place(float64(i), radius(v))
		x2, y2 := place(float64(i+1), radius(d.curve[(i+1)%len(d.curve)]))
		p.Line(x1, y1, x2, y2)
	}
	p.SetFillColor(0, 0, 0)
	if d.lowestKnown && len(d.curve) > 0 {
		r := radius(d.curve[int(d.lowestAt)%360])
		x0, y0 := place(d.lowestAt, r-0.4)
		x1, y1 := place(d.lowestAt-9, r-3.4)
		x2, y2 := place(d.lowestAt+9, r-3.4)
		p.Polygon([]fpdf.PointType{{X: x0, Y: y0}, {X: x1, Y: y1}, {X: x2, Y: y2}}, "F")
	}
	p.SetFont("go", "", plainSize)
	for i, a := range d.angles {
		x, y := place(a, radius(d.values[i]))
		p.Circle(x, y, 0.9, "F")
		p.label(g.Points[i], a, place)
	}
}

// label writes a point's name and figure outside the ring, on the side where it
// lies.
func (p *paper) label(at RingPoint, deg float64, place func(deg, r float64) (x, y float64)) {
	x, y := place(deg, ringOuter+2.5)
	lines := []string{p.glyphs.show(at.Spot), p.glyphs.show(at.Value)}
	if at.Stale {
		lines[1] += " stale"
	}
	w := max(p.GetStringWidth(lines[0]), p.GetStringWidth(lines[1]))
	side := math.Sin(deg * math.Pi / 180)
	up := math.Cos(deg * math.Pi / 180)
	x -= w * (1 - side) / 2
	y += 1.2 - 2.2*up
	for i, l := range lines {
		p.Text(x, y+float64(i)*4-1.2*(1+up)/2, l)
	}
}
