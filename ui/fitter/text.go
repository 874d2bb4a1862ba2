package fitter

import (
	"strings"

	"shimwright/ui/draw"
	"shimwright/ui/term"
)

// A tone is how a text is to stand out. The word says it too, always.
type tone = draw.Tone

const (
	plain  = draw.Plain
	strong = draw.Strong
	good   = draw.Good
	warn   = draw.Warn
	stop   = draw.Stop
	bar    = draw.Bar
)

// A span is text of one tone; a line is spans side by side.
type (
	span struct {
		text string
		tone tone
	}
	line []span
)

func say(text string) line { return line{{text, plain}} }

func toned(t tone, text string) line { return line{{text, t}} }

// text is a line without its tones.
func (l line) text() string {
	var b strings.Builder
	for _, s := range l {
		b.WriteString(s.text)
	}
	return b.String()
}

// visible and its kin are draw's; the screen and its drawings count cells alike.
func visible(s string) string        { return draw.Visible(s) }
func glyphs(s string) []draw.Glyph   { return draw.Glyphs(s) }
func cells(s string) int             { return draw.Cells(s) }
func cut(s string, most int) string  { return draw.Cut(s, most) }
func head(s string, most int) string { return draw.Head(s, most) }

// drawn are the rows of a drawing as lines.
func drawn(rows []draw.Row) []line {
	out := make([]line, len(rows))
	for i, r := range rows {
		for _, s := range r {
			out[i] = append(out[i], span{s.Text, s.Tone})
		}
	}
	return out
}

// rows are lines made visible, as they are put into cells.
func rows(lines []line) []draw.Row {
	out := make([]draw.Row, len(lines))
	for i, l := range lines {
		for _, s := range l {
			out[i] = append(out[i], draw.Span{Text: visible(s.text), Tone: s.tone})
		}
	}
	return out
}

func (l line) cells() int {
	n := 0
	for _, s := range l {
		n += cells(s.text)
	}
	return n
}

// cut keeps a line to a number of cells.
func (l line) cut(most int) line {
	if most < 1 {
		return nil
	}
	var out line
	whole := l.cells() <= most
	if !whole {
		most--
	}
	for _, s := range l {
		text := visible(s.text)
		if !whole && cells(text) > most {
			return append(out, span{head(text, most) + "…", s.tone})
		}
		most -= cells(text)
		out = append(out, span{text, s.tone})
	}
	return out
}

// pad fills a line with blanks up to a number of cells, after cutting it there.
func (l line) pad(to int) line {
	l = l.cut(to)
	if n := to - l.cells(); n > 0 {
		t := plain
		if len(l) > 0 && l[len(l)-1].tone == bar {
			t = bar
		}
		l = append(l, span{strings.Repeat(" ", n), t})
	}
	return l
}

// ends puts one line at the left end and one at the right end of a row. The
// right one is kept whole as far as it goes.
func ends(left, right line, width int) line {
	right = right.cut(width)
	room := width - right.cells() - 2
	if room < 1 {
		return right
	}
	return append(append(left.pad(room), span{"  ", plain}), right...)
}

func wrap(s string, width, most int) []string { return term.Wrap(s, width, most) }

// lines tones wrapped text.
func lines(t tone, s string, width, most int) []line {
	var out []line
	for _, x := range wrap(s, width, most) {
		out = append(out, toned(t, x))
	}
	return out
}
