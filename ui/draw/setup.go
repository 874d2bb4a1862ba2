package draw

import (
	"slices"
	"strings"

	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
)

// legWide is the columns of one leg of a setup's drawing.
const legWide = 4

// A leg is one move of a setup's walk, between two levels of the drawing.
type leg struct {
	from, to int // levels, counted from the lowest
	mark     string
	tip      string // at its lower end; "" where it has none
	say      string
	tone     Tone
}

// Setup draws how a length is got from a reading: each standard as it stands,
// the gauge down to what it touches, and the length between its two faces. The
// heights are in their order and not to scale. named says which pieces stand in
// a standard's role, as in "S-31 75.004 mm"; "" where that is not known yet.
func Setup(s *sheet.Sheet, st *sheet.Step, named func(standard string) string, look Look) []Row {
	if st.Measure == nil {
		return nil
	}
	legs, levels := legsOf(s, st, named, look.ASCII)
	step := 2
	if levels < 3 {
		step = 4
	}
	wide := min(legWide*len(legs)+1, look.Width)
	g := newGrid(wide, step*(levels-1)+1)
	floor := "─"
	if look.ASCII {
		floor = "-"
	}
	row := func(level int) int { return step * (levels - 1 - level) }
	for level := range levels {
		// A line as far as the legs go that stand on this level or hang from it.
		first, last := len(legs), -1
		for i, l := range legs {
			if l.from == level || l.to == level {
				first, last = min(first, i), max(last, i)
			}
		}
		for x := first * legWide; last >= 0 && x <= last*legWide+legWide-1; x++ {
			g.put(x, row(level), floor, Faint)
		}
	}
	for i, l := range legs {
		top, foot := row(max(l.from, l.to)), row(min(l.from, l.to))
		for y := top + 1; y < foot; y++ {
			g.put(i*legWide+1, y, l.mark, l.tone)
		}
		if l.tip != "" {
			g.put(i*legWide+1, foot-1, l.tip, l.tone)
		}
	}
	return beside(g.rows(), legLegend(legs), wide+1, look.Width)
}

// legLegend says which leg is which.
func legLegend(legs []leg) []Row {
	var out []Row
	for _, l := range legs {
		out = append(out, Row{{l.mark + " " + l.say, l.tone}})
	}
	return out
}

// beside puts rows right of a drawing, in the middle of its height.
func beside(left, right []Row, at, width int) []Row {
	for len(left) < len(right) {
		left = append(left, nil)
	}
	skip := (len(left) - len(right)) / 2
	for i, r := range right {
		row := left[skip+i].Clip(at)
		row = append(row, Span{strings.Repeat(" ", max(0, at-row.Cells())), Plain})
		left[skip+i] = append(row, r.Clip(width-at)...)
	}
	for i := range left {
		left[i] = left[i].Clip(width)
	}
	return left
}

// legsOf are the legs of a step's walk with the length itself, and how many
// levels they stand on, ordered by the sheet's nominals.
func legsOf(s *sheet.Sheet, st *sheet.Step, named func(string) string, ascii bool) ([]leg, int) {
	pick := func(fine, plain string) string {
		if ascii {
			return plain
		}
		return fine
	}
	m := st.Measure
	at := quantity.Exact{}
	heights := []quantity.Exact{at}
	type move struct{ from, to quantity.Exact }
	var moves []move
	var legs []leg
	fills := []string{pick("█", "#"), pick("▒", "%"), pick("▓", "=")}
	n := 0
	for _, w := range m.Setup.Walk {
		l, size := leg{tone: Plain}, reading(m)
		switch w.What {
		case sheet.AlongZero:
			continue
		case sheet.AlongReading:
			l.mark, l.tip, l.say, l.tone = pick("│", "|"), pick("▼", "v"), "the reading", Strong
		default:
			std, _ := s.StandardNamed(w.Standard)
			size = std.Nominal.Exact()
			l.mark, l.say = fills[n%len(fills)], w.Standard
			n++
			if id := named(w.Standard); id != "" {
				l.say += " " + id
			}
		}
		to := at.Add(size)
		if !w.Up {
			to = at.Sub(size)
		}
		moves, legs, at = append(moves, move{at, to}), append(legs, l), to
		heights = append(heights, to)
	}
	moves = append(moves, move{quantity.Exact{}, at})
	legs = append(legs, leg{mark: pick("┊", ":"), say: m.Length, tone: Strong})
	slices.SortFunc(heights, quantity.Exact.Cmp)
	heights = slices.CompactFunc(heights, quantity.Exact.Equal)
	level := func(x quantity.Exact) int { return slices.IndexFunc(heights, x.Equal) }
	for i, m := range moves {
		legs[i].from, legs[i].to = level(m.from), level(m.to)
	}
	return legs, len(heights)
}

// reading is a step's reading as far as the sheet knows it: the middle of its
// window.
func reading(m *sheet.Measure) quantity.Exact {
	half, err := quantity.RatioOf(1, 2)
	if err != nil {
		return quantity.Exact{}
	}
	return m.Window.Low.Exact().Add(m.Window.High.Exact()).Times(half)
}
