package fitter

import (
	"fmt"
	"strings"
	"unicode"

	"github.com/rivo/uniseg"
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

// mostMarks is how many combining marks are shown on one character.
const mostMarks = 4

// visible writes text so that each of its characters takes the cells it is
// counted for: what does not print, turns the direction of writing, or joins
// characters in a way terminals disagree on, is written out as an escape.
func visible(s string) string {
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

// A glyph is one character with the cells it takes.
type glyph struct {
	text  string
	cells int
}

// glyphs splits text made visible into characters.
func glyphs(s string) []glyph {
	var out []glyph
	state := -1
	for s != "" {
		var g string
		var n int
		g, s, n, state = uniseg.FirstGraphemeClusterInString(s, state)
		if n > 0 {
			out = append(out, glyph{g, n})
		}
	}
	return out
}

// cells is how many cells a text takes once it is made visible.
func cells(s string) int {
	n := 0
	for _, g := range glyphs(visible(s)) {
		n += g.cells
	}
	return n
}

func (l line) cells() int {
	n := 0
	for _, s := range l {
		n += cells(s.text)
	}
	return n
}

// cut makes text visible and keeps it to a number of cells; "…" stands for
// what is left out.
func cut(s string, most int) string {
	s = visible(s)
	if cells(s) <= most {
		return s
	}
	if most < 1 {
		return ""
	}
	return head(s, most-1) + "…"
}

// head is what of a visible text fits in a number of cells.
func head(s string, most int) string {
	var b strings.Builder
	for _, g := range glyphs(s) {
		if most -= g.cells; most < 0 {
			break
		}
		b.WriteString(g.text)
	}
	return b.String()
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
			if n+g.cells > width && at != "" {
				out = append(out, at)
				at, n = "", 0
			}
			at += g.text
			n += g.cells
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
