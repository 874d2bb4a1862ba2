package fitter

import (
	"fmt"
	"strings"

	"shimwright/calc/overhaul"
	"shimwright/calc/ring"
)

// A page takes the whole screen: the steps, or lines that scroll and are made
// anew at each drawing, so that a page is as live as the work screen.
type page struct {
	steps bool
	title string
	key   string                                  // that opened it, and closes it again
	lines func(v *view, width, height int) []line // nil for the steps
	top   int                                     // first line shown, or the step chosen
}

// pageRest is the lines of a page that are not its text: head, blank, keys.
const pageRest = 3

// pageFrame draws a page.
func pageFrame(v *view) []line {
	p := v.page
	room := v.height - pageRest
	title := toned(strong, "job "+v.snap.Job.ID+", "+p.title)
	if p.steps {
		out := append([]line{title.cut(v.width), nil}, stepLines(v, v.width, room)...)
		return append(fill(out, v.width, v.height-1), keyLine(v).cut(v.width))
	}
	all := p.lines(v, v.width, room)
	top := max(0, min(p.top, len(all)-room))
	out := append([]line{title, nil}, all[top:min(top+room, len(all))]...)
	if left := len(all) - top - room; left > 0 {
		out[0] = ends(title, say(fmt.Sprintf("%d more lines below", left)), v.width)
	}
	return append(fill(out, v.width, v.height-1), keyLine(v).cut(v.width))
}

// plainLines are lines of text; one that is wider than the screen is broken,
// with its further lines set in.
func plainLines(text []string, width int) []line {
	var out []line
	for _, l := range text {
		if cells(l) <= width {
			out = append(out, say(l))
			continue
		}
		for i, part := range wrap(l, width-4, len(l)) {
			if i > 0 {
				part = "    " + part
			}
			out = append(out, say(part))
		}
	}
	return out
}

// stepLines are the steps in order with how they stand, those round the one
// chosen or shown where there is not room for all.
func stepLines(v *view, width, room int) []line {
	at := 0
	if v.page != nil && v.page.steps {
		at = v.page.top
	} else if r := v.shown(); r != nil {
		at = v.number(r) - 1
	}
	var all []line
	mark, stage := 0, ""
	for i, r := range v.snap.Results.Steps {
		if r.Step.Stage != stage {
			stage = r.Step.Stage
			all = append(all, toned(plain, stage))
		}
		if i == at {
			mark = len(all)
		}
		all = append(all, stepLine(v, r, i == at, width))
	}
	from := max(0, min(mark-room/2, len(all)-room))
	return all[from:min(len(all), from+room)]
}

func stepLine(v *view, r *overhaul.Result, here bool, width int) line {
	point, t := "  ", plain
	if here {
		point, t = "> ", strong
	}
	left := line{{point + statusShape(r.Status) + " ", statusTone(r.Status)}, {r.Step.Name, t}}
	return ends(left, stepNote(v, r, width), width)
}

// stepNote is a step's figure, verdict or what is wrong with it, in a word.
func stepNote(v *view, r *overhaul.Result, width int) line {
	word := statusWord(r)
	switch {
	case v.onHold(r):
		return line{{"ON HOLD", warn}}
	case r.Status == overhaul.Stopped:
		word = "STOP"
	case r.Check != nil && r.Check.Verdict != ring.NotJudged && r.Status != overhaul.Stale:
		s := verdictSpan(r.Check.Verdict)
		if v.conceded(r) != nil {
			s.text = "[c] " + s.text
		}
		return line{s}
	case r.Status == overhaul.Waiting:
		word = ""
		if width >= leastWidth {
			word = strings.TrimPrefix(r.Wants, r.Step.Name+" ")
		}
		if room := width - cells(r.Step.Name) - 10; cells(word) > room {
			word = cut(word, room)
		}
	case r.Status == overhaul.Done && r.Figure != nil:
		word = v.figure(r.Figure)
		if r.Pack != nil && r.Pack.Fitted != nil {
			word = v.figure(r.Pack.Fitted)
		}
	case r.Status == overhaul.Done && r.Text != "" && width >= leastWidth:
		word = cut(r.Text, width/2)
	case r.Status == overhaul.Done:
		word = "done"
	}
	return line{{word, statusTone(r.Status)}}
}
