package term

import (
	"strings"

	"shimwright/ui/draw"
)

// Text is a span of any text, made visible.
func Text(t draw.Tone, s string) draw.Span { return draw.Span{Text: draw.Visible(s), Tone: t} }

// Say is a row of one tone.
func Say(t draw.Tone, s string) draw.Row { return draw.Row{Text(t, s)} }

// Cut keeps a row to a number of cells; "…" stands for what is left out.
func Cut(r draw.Row, most int) draw.Row {
	if r.Cells() <= most {
		return r
	}
	if most < 1 {
		return nil
	}
	most-- // for the sign
	var out draw.Row
	for _, s := range r {
		n := draw.Cells(s.Text)
		if n > most {
			return append(out, draw.Span{Text: draw.Head(s.Text, most) + "…", Tone: s.Tone})
		}
		most -= n
		out = append(out, s)
	}
	return out
}

// Pad cuts a row to a number of cells and fills it with blanks up to there.
func Pad(r draw.Row, to int) draw.Row {
	r = Cut(r, to)
	if n := to - r.Cells(); n > 0 {
		r = append(r[:len(r):len(r)], draw.Span{Text: strings.Repeat(" ", n)})
	}
	return r
}

// Ends puts one row at the left end and one at the right end of a line. The
// right one is kept whole as far as it goes.
func Ends(left, right draw.Row, width int) draw.Row {
	right = Cut(right, width)
	room := width - right.Cells() - 2
	if room < 1 {
		return right
	}
	return append(append(Pad(left, room), draw.Span{Text: "  "}), right...)
}

// Beside puts rows side by side, the left ones in so many cells.
func Beside(left, right []draw.Row, width int, between string) []draw.Row {
	out := make([]draw.Row, max(len(left), len(right)))
	for i := range out {
		var l draw.Row
		if i < len(left) {
			l = left[i]
		}
		out[i] = append(Pad(l, width), draw.Span{Text: between, Tone: draw.Faint})
		if i < len(right) {
			out[i] = append(out[i], right[i]...)
		}
	}
	return out
}

// Fill makes of some rows exactly a screenful.
func Fill(in []draw.Row, width, height int) []draw.Row {
	out := make([]draw.Row, max(height, 0))
	for i := range out {
		if i < len(in) {
			out[i] = Cut(in[i], width)
		}
	}
	return out
}

// Wrap breaks text between words into lines of a width, at most so many; "…"
// stands for what is left out. A word wider than a line is broken.
func Wrap(s string, width, most int) []string {
	if most < 1 || width < 1 {
		return nil
	}
	var out []string
	at := ""
	for _, word := range words(draw.Visible(s), width) {
		switch {
		case at == "":
			at = word
		case draw.Cells(at)+1+draw.Cells(word) <= width:
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
		last := draw.Cut(out[most-1]+" "+out[most], width)
		if !strings.HasSuffix(last, "…") {
			last = draw.Cut(last, width-2) + " …"
		}
		out = append(out[:most-1], last)
	}
	return out
}

func words(s string, width int) []string {
	var out []string
	for _, word := range strings.Fields(s) {
		at, n := "", 0
		for _, g := range draw.Glyphs(word) {
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

// Lines tones wrapped text.
func Lines(t draw.Tone, s string, width, most int) []draw.Row {
	var out []draw.Row
	for _, x := range Wrap(s, width, most) {
		out = append(out, draw.Row{{Text: x, Tone: t}})
	}
	return out
}
