package drawing

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/ui/draw"
)

// Layout of the setups: cells in columns, each with a head, a picture and words.
const (
	cellWide    = (pageWide - 2*margin + cellGap) / setupsBeside
	cellGap     = 6.0
	cellHigh    = 88.0
	pictureHigh = 44.0

	legsApart = 24.0 // at most

	setupsBeside = 3
	setupsUnder  = 2
)

// A leg is one leg of a setup's walk, in mm of the drive; up is above nought.
type leg struct {
	by   float64
	name string
	what sheet.What
}

// setups draws how each length is measured.
func (b *builder) setups() {
	var steps []*sheet.Step
	for _, st := range b.s.Steps() {
		if st.Measure != nil {
			steps = append(steps, st)
		}
	}
	const each = setupsBeside * setupsUnder
	top := 0.0
	for i, st := range steps {
		if i%each == 0 {
			top = b.begin("setups", "Each is a walk from one face to the other, to a scale of its own: standards by their nominal size, the reading by the middle of its window.")
		}
		x := margin + float64(i%setupsBeside)*cellWide
		y := top + float64(i%each/setupsBeside)*cellHigh
		b.setup(st, x, y)
	}
}

func (b *builder) setup(st *sheet.Step, x, y float64) {
	m := st.Measure
	wide := cellWide - cellGap
	y = b.paragraph(x, y+4, draw.Visible(st.Name), sizeHead, true, wide, 1) + 1
	from, to := "", ""
	if l, ok := b.s.Net.Length(m.Length); ok {
		from, to = draw.Visible(l.From), draw.Visible(l.To)
	}
	b.walk(m.Setup, m, x, y, wide, from, to)
	y += pictureHigh + 5
	for _, line := range measureWords(st, from, to) {
		y = b.paragraph(x, y, line, sizeText, false, wide, 3)
	}
}

// paragraph writes words of at most so many lines, and gives where the next stand.
func (b *builder) paragraph(x, y float64, s string, size float64, bold bool, wide float64, most int) float64 {
	lines := b.r.wrap(s, size, wide)
	if len(lines) > most {
		lines = lines[:most]
		lines[most-1] = strings.TrimRight(lines[most-1], " .,") + " …"
	}
	for _, l := range lines {
		b.p.words(x, y, l, size, bold, start)
		y += size * pt * 1.25
	}
	return y
}

func measureWords(st *sheet.Step, from, to string) []string {
	m := st.Measure
	what := fmt.Sprintf("From %s to %s", from, to)
	if m.Before {
		what += ", in the build before"
	}
	if m.AsCheck {
		what += fmt.Sprintf(", as a check within %s", m.Closes)
	}
	out := []string{what + "."}
	if w := m.Setup.Words(); w != "" {
		out = append(out, sentence(draw.Visible(w)))
	}
	out = append(out, sentence(fmt.Sprintf("%s, %s within %s; each %s to %s", draw.Visible(st.Gauge), times(m.Presses), m.Agree, m.Window.Low, m.Window.High)))
	if st.Say != "" {
		out = append(out, sentence(draw.Visible(st.Say)))
	}
	return out
}

// sentence ends words with a stop and begins them with a capital.
func sentence(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + strings.TrimSuffix(s[n:], ".") + "."
}

func times(n int) string {
	switch n {
	case 1:
		return "once"
	case 2:
		return "twice"
	}
	return fmt.Sprintf("%d times", n)
}

// legs are a setup's walk in figures.
func (b *builder) legs(s sheet.Setup, m *sheet.Measure) []leg {
	var out []leg
	for _, mv := range s.Walk {
		l := leg{what: mv.What}
		switch mv.What {
		case sheet.AlongStandard:
			if std, ok := b.s.StandardNamed(mv.Standard); ok {
				l.by = std.Nominal.Exact().Times(std.Counts).Float()
				l.name = draw.Visible(mv.Standard) + " " + std.Nominal.String()
			}
		case sheet.AlongReading:
			half, err := quantity.RatioOf(1, 2)
			if err != nil {
				continue
			}
			l.by = m.Window.Low.Exact().Add(m.Window.High.Exact()).Times(half).Float()
			l.name = "reading"
		default:
			continue // the gauge's own nought, which cancels
		}
		if !mv.Up {
			l.by = -l.by
		}
		out = append(out, l)
	}
	return out
}

// walk draws the legs one beside the other, from the length's first face up and
// down to its other one.
func (b *builder) walk(s sheet.Setup, m *sheet.Measure, x, y, wide float64, from, to string) {
	legs := b.legs(s, m)
	low, high, at := 0.0, 0.0, 0.0
	for _, l := range legs {
		at += l.by
		low, high = min(low, at), max(high, at)
	}
	if high == low || len(legs) == 0 {
		return
	}
	const above, below = 12.0, 4.0 // for the legs' names, and for a face's
	scale := (pictureHigh - above - below) / (high - low)
	py := func(v float64) float64 { return y + pictureHigh - below - (v-low)*scale }
	gap := min(wide/float64(len(legs)+1), legsApart)
	b.face(x, x+wide, py(0), from, at > 0)
	b.face(x, x+wide, py(at), to, at <= 0)
	v := 0.0
	for i, l := range legs {
		px := x + gap*(float64(i)+0.6)
		b.leg(l, px, py(v), py(v+l.by), y+2.6, gap)
		if i+1 < len(legs) {
			b.p.line(px, py(v+l.by), px+gap, py(v+l.by), 0.2, dotted, 0)
		}
		v += l.by
	}
}

// face draws one of the two faces of a setup, with its name outside.
func (b *builder) face(x1, x2, y float64, name string, under bool) {
	b.p.line(x1, y, x2, y, 0.5, whole, 0)
	dy := -1.2
	if under {
		dy = 3.4
	}
	b.p.words(x2, y+dy, name, sizeSmall, true, end)
}

// leg draws a leg as an arrow, with its name at the top of the picture, where no
// line runs.
func (b *builder) leg(l leg, x, from, to, top, room float64) {
	width := 0.35
	if l.what == sheet.AlongStandard {
		width = 1.3
	}
	along := 1.0
	if to < from {
		along = -1
	}
	long := min(2.2, (to-from)*along)
	b.p.line(x, from, x, to-along*long*0.7, width, whole, 0)
	b.p.head(x, to, 0, along, long)
	for i, s := range b.r.wrap(l.name, sizeSmall, room-2) {
		b.p.words(x, top+float64(i)*3.4, s, sizeSmall, false, middle)
	}
}
