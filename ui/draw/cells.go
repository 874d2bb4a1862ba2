package draw

import (
	"fmt"
	"strings"
	"unicode"

	"github.com/rivo/uniseg"
)

// mostMarks is how many combining marks are shown on one character.
const mostMarks = 4

// Visible writes text so that each of its characters takes the cells it is
// counted for: what does not print, turns the direction of writing, or joins
// characters in a way terminals disagree on, is written out as an escape.
func Visible(s string) string {
	if plainText(s) {
		return s
	}
	var b strings.Builder
	marks := 0
	for i, r := range s {
		switch {
		case r == unicode.ReplacementChar && s[i] != 0xEF:
			fmt.Fprintf(&b, `\x%02x`, s[i])
		case unicode.Is(unicode.Mn, r) && !variation(r):
			if marks++; b.Len() > 0 && marks <= mostMarks {
				b.WriteRune(r)
			} else if marks <= mostMarks {
				escape(&b, r)
			}
			continue
		case unprintable(r):
			escape(&b, r)
		default:
			b.WriteRune(r)
		}
		marks = 0
	}
	return b.String()
}

func plainText(s string) bool {
	for i := range len(s) {
		if s[i] < 0x20 || s[i] > 0x7E {
			return false
		}
	}
	return true
}

// unprintable also takes in regional indicators and skin tones, which some
// terminals join with their neighbours and others do not.
func unprintable(r rune) bool {
	return !unicode.IsPrint(r) && r != ' ' || variation(r) || unicode.Is(unicode.Me, r) ||
		r >= 0x1F1E6 && r <= 0x1F1FF || r >= 0x1F3FB && r <= 0x1F3FF
}

func variation(r rune) bool { return r >= 0xFE00 && r <= 0xFE0F || r >= 0xE0100 && r <= 0xE01EF }

func escape(b *strings.Builder, r rune) {
	switch {
	case r < 0x80:
		fmt.Fprintf(b, `\x%02x`, r)
	case r < 0x10000:
		fmt.Fprintf(b, `\u%04x`, r)
	default:
		fmt.Fprintf(b, `\U%08x`, r)
	}
}

// A Glyph is one character with the cells it takes.
type Glyph struct {
	Text  string
	Cells int
}

// Glyphs splits text made visible into characters.
func Glyphs(s string) []Glyph {
	var out []Glyph
	state := -1
	for s != "" {
		var g string
		var n int
		g, s, n, state = uniseg.FirstGraphemeClusterInString(s, state)
		if n > 0 {
			out = append(out, Glyph{g, n})
		}
	}
	return out
}

// Cells is how many cells a text takes once it is made visible.
func Cells(s string) int {
	if plainText(s) {
		return len(s)
	}
	n := 0
	for _, g := range Glyphs(Visible(s)) {
		n += g.Cells
	}
	return n
}

// Cut makes text visible and keeps it to a number of cells; "…" stands for
// what is left out.
func Cut(s string, most int) string {
	s = Visible(s)
	if Cells(s) <= most {
		return s
	}
	if most < 1 {
		return ""
	}
	return Head(s, most-1) + "…"
}

// Head is what of a visible text fits in a number of cells.
func Head(s string, most int) string {
	var b strings.Builder
	for _, g := range Glyphs(s) {
		if most -= g.Cells; most < 0 {
			break
		}
		b.WriteString(g.Text)
	}
	return b.String()
}

// A Tone says how a text stands out. Its words or its shape say it too, always.
type Tone uint8

// The tones.
const (
	Plain  Tone = iota
	Faint       // shading and guide lines, behind everything
	Strong      // what to look at
	Good        // as it should be
	Warn        // wants a look or a decision
	Stop        // must not go on
	Bar         // the one thing to do next
)

// A Span is text of one tone. It is made visible already.
type Span struct {
	Text string
	Tone Tone
}

// A Row is spans side by side.
type Row []Span

// Text is a row without its tones and without blanks at its end.
func (r Row) Text() string {
	var b strings.Builder
	for _, s := range r {
		b.WriteString(s.Text)
	}
	return strings.TrimRight(b.String(), " ")
}

// Cells is how many cells a row takes.
func (r Row) Cells() int {
	n := 0
	for _, s := range r {
		n += Cells(s.Text)
	}
	return n
}

// Clip is a row kept to a number of cells; "…" stands for what is left out.
func (r Row) Clip(most int) Row {
	if r.Cells() <= most {
		return r
	}
	var out Row
	left := most - 1
	for _, s := range r {
		if n := Cells(s.Text); n <= left {
			out, left = append(out, s), left-n
			continue
		}
		if most > 0 {
			out = append(out, Span{Head(s.Text, left) + "…", s.Tone})
		}
		break
	}
	return out
}

// A Look is the room that a drawing has and how it may look.
type Look struct {
	Width, Height int  // cells
	ASCII         bool // plain characters alone
}

// grid is a drawing under way, cell by cell.
type grid struct {
	wide, high int
	at         []dot
}

type dot struct {
	text string // "" is a blank, "\x00" the second cell of a wide character
	tone Tone
}

func newGrid(wide, high int) *grid {
	return &grid{wide: max(wide, 0), high: max(high, 0), at: make([]dot, max(wide, 0)*max(high, 0))}
}

func (g *grid) in(x, y int) bool { return x >= 0 && x < g.wide && y >= 0 && y < g.high }

func (g *grid) put(x, y int, text string, t Tone) {
	if g.in(x, y) {
		g.at[y*g.wide+x] = dot{text, t}
	}
}

// free tells whether cells are blank or shading alone.
func (g *grid) free(x, y, n int) bool {
	for i := range n {
		if !g.in(x+i, y) || g.at[y*g.wide+x+i].text != "" && g.at[y*g.wide+x+i].tone != Faint {
			return false
		}
	}
	return true
}

// write puts text into cells; what leaves the grid is left out.
func (g *grid) write(x, y int, text string, t Tone) {
	for _, c := range Glyphs(Visible(text)) {
		if !g.in(x, y) || !g.in(x+c.Cells-1, y) {
			return
		}
		g.put(x, y, c.Text, t)
		for i := 1; i < c.Cells; i++ {
			g.put(x+i, y, "\x00", t)
		}
		x += c.Cells
	}
}

// rows are the grid's cells as rows of spans.
func (g *grid) rows() []Row {
	out := make([]Row, g.high)
	for y := range out {
		var r Row
		for x := range g.wide {
			d := g.at[y*g.wide+x]
			switch d.text {
			case "\x00":
				continue
			case "":
				d.text = " "
			}
			if n := len(r); n > 0 && r[n-1].Tone == d.tone {
				r[n-1].Text += d.text
			} else {
				r = append(r, Span{d.text, d.tone})
			}
		}
		out[y] = r
	}
	return out
}
