package board

import (
	"fmt"
	"strings"

	"shimwright/ui/draw"
	"shimwright/ui/term"
)

// A listing is a page of lines, some of which lead on.
type listing struct {
	title string
	lines []entry
	at    int // the line chosen

	page   page   // whose it is, where it changes while it is looked at
	of     string // the gauge or piece that is traced; "" on other pages
	period Period // over which
}

// An entry is one line of a listing.
type entry struct {
	left, right draw.Row
	says        string    // behind left where there is room for all of it, else below
	text        string    // in place of left and right: wrapped to the page's width
	tone        draw.Tone // of text
	open        func(*ui)
}

// heading, note and blank are lines that lead nowhere.
func heading(s string) entry           { return entry{text: s, tone: draw.Strong} }
func note(t draw.Tone, s string) entry { return entry{text: s, tone: t} }

// settle puts the choice on a line that leads on, where there is one.
func (l *listing) settle(by int) {
	n := len(l.lines)
	at := max(0, min(n-1, l.at+by))
	way := 1
	if by < 0 {
		way = -1
	}
	for i := at; i >= 0 && i < n; i += way {
		if l.lines[i].open != nil {
			l.at = i
			return
		}
	}
	for i := at; i >= 0 && i < n; i -= way {
		if l.lines[i].open != nil {
			l.at = i
			return
		}
	}
	l.at = at // nothing leads on: it scrolls
}

// rows draws a listing in the room there is, with the chosen line in sight.
func (l *listing) rows(width, height int) []draw.Row {
	var out []draw.Row
	from := 0
	for i, e := range l.lines {
		if i == l.at {
			from = len(out)
		}
		out = append(out, e.rows(width, i == l.at)...)
	}
	top := max(0, min(from-height/2, len(out)-height))
	end := min(len(out), top+height)
	out = out[top:end]
	return out
}

func (e entry) rows(width int, chosen bool) []draw.Row {
	if e.text != "" {
		return e.said(width - 2)
	}
	mark := draw.Span{Text: "  "}
	if chosen && e.open != nil {
		mark = draw.Span{Text: "> ", Tone: draw.Strong}
	}
	left := e.left
	var below []draw.Row
	if room := width - 4 - left.Cells() - e.right.Cells(); e.says != "" && draw.Cells(draw.Visible(e.says)) <= room {
		left = append(left[:len(left):len(left)], term.Text(draw.Plain, e.says))
	} else if e.says != "" {
		below = entry{text: "      " + strings.TrimSpace(e.says), tone: draw.Plain}.said(width)
	}
	return append([]draw.Row{append(draw.Row{mark}, term.Ends(left, e.right, width-2)...)}, below...)
}

// said is an entry's text, set in as its first line is.
func (e entry) said(width int) []draw.Row {
	in := e.text[:len(e.text)-len(strings.TrimLeft(e.text, " "))]
	out := term.Lines(e.tone, e.text, width-len(in), 40)
	for i := range out {
		out[i] = append(draw.Row{{Text: in}}, out[i]...)
	}
	return out
}

// head is a listing's first line: where one is, and how much there is.
func (l *listing) head(width int) draw.Row {
	n := 0
	for _, e := range l.lines {
		if e.open != nil {
			n++
		}
	}
	right := ""
	if n > 0 {
		right = fmt.Sprintf("%d to open", n)
	}
	return term.Ends(term.Say(draw.Strong, l.title), term.Say(draw.Plain, right), width)
}
