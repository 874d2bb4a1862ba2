package fitter

import (
	"strings"

	"shimwright/ui/draw"
)

// A tone is how a text is to stand out. The word says it too, always.
type tone uint8

const (
	plain  tone = iota
	strong      // what to look at
	good        // as it should be
	warn        // wants a look or a decision
	stop        // must not go on
	bar         // the next thing to do: light on dark turned round
	faint       // shading and guide lines of a drawing
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
			out[i] = append(out[i], span{s.Text, toneOf(s.Tone)})
		}
	}
	return out
}

func toneOf(t draw.Tone) tone {
	switch t {
	case draw.Faint:
		return faint
	case draw.Strong:
		return strong
	case draw.Good:
		return good
	case draw.Warn:
		return warn
	case draw.Stop:
		return stop
	}
	return plain
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

// wrap breaks text between words into lines of a width, at most so many; "…"
// stands for what is left out.
func wrap(s string, width, most int) []string {
	if most < 1 || width < 1 {
		return nil
	}
	var out []string
	at := ""
	for _, word := range pieces(visible(s), width) {
		switch {
		case at == "":
			at = word
		case cells(at)+1+cells(word) <= width:
			at += " " + word
		default:
			out = append(out, at)
			at = word
		}
	}
	if at != "" {
		out = append(out, at)
	}
	if len(out) > most {
		out[most-1] = cut(out[most-1]+" "+out[most], width)
		if !strings.HasSuffix(out[most-1], "…") {
			out[most-1] = cut(out[most-1], width-2) + " …"
		}
		out = out[:most]
	}
	return out
}

// pieces are the words of a text; a word wider than a line is broken.
func pieces(s string, width int) []string {
	var out []string
	for _, word := range strings.Fields(s) {
		at, n := "", 0
		for _, g := range glyphs(word) {
			if n+g.Cells > width && at != "" {
				out = append(out, at)
				at, n = "", 0
			}
			at += g.Text
			n += g.Cells
		}
		out = append(out, at)
	}
	return out
}

// lines tones wrapped text.
func lines(t tone, s string, width, most int) []line {
	var out []line
	for _, x := range wrap(s, width, most) {
		out = append(out, toned(t, x))
	}
	return out
}
