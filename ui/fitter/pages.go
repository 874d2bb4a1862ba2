package fitter

import (
	"bytes"
	"fmt"
	"strings"

	"shimwright/calc/overhaul"
	"shimwright/calc/ring"
	"shimwright/ui/draw"
)

// A page takes the whole screen: the steps, or text that scrolls.
type page struct {
	steps bool
	title string
	text  []string
	top   int // first line shown, or the step chosen
}

// whyPage is the arithmetic of a step, or of the whole job where all is done.
func whyPage(v *view) *page {
	r := v.shown()
	p := draw.PageFor(v.snap.Job.Sheet)
	p.Width = min(v.width, 120)
	var b bytes.Buffer
	if r == nil {
		_ = draw.Results(&b, p, v.snap.Results, draw.Full) // a buffer takes all
		return &page{title: "the whole job", text: pageText(&b)}
	}
	if r.Step.Say != "" {
		fmt.Fprintln(&b, r.Step.Say)
	}
	for _, f := range figuresOf(r) {
		b.WriteString("\n")
		_ = draw.Sum(&b, p, f)
	}
	for _, l := range whyWords(v, r) {
		fmt.Fprintf(&b, "\n%s\n", l)
	}
	return &page{title: "why: " + r.Step.Name, text: pageText(&b)}
}

func pageText(b *bytes.Buffer) []string {
	return strings.Split(strings.TrimRight(b.String(), "\n"), "\n")
}

// figuresOf are a step's figures, each once.
func figuresOf(r *overhaul.Result) []*overhaul.Figure {
	all := []*overhaul.Figure{r.Figure}
	if p := r.Pack; p != nil {
		all = append(all, p.Worked, p.Other, p.Fitted)
	}
	if c := r.Check; c != nil {
		all = append(all, c.Figure)
		for _, p := range c.Points {
			all = append(all, p.Figure)
		}
	}
	if r.Closure != nil {
		all = append(all, r.Closure.Found, r.Closure.Predicted)
	}
	var out []*overhaul.Figure
	seen := map[*overhaul.Figure]bool{nil: true}
	for _, f := range all {
		if !seen[f] {
			seen[f] = true
			out = append(out, f)
		}
	}
	return out
}

func whyWords(v *view, r *overhaul.Result) []string {
	var out []string
	if len(figuresOf(r)) == 0 {
		out = append(out, "There is no figure here yet: "+strings.TrimSuffix(r.Wants, ".")+".")
	}
	if r.Problem != "" {
		out = append(out, r.Problem)
	}
	if r.Pack != nil && r.Pack.OneMore != "" {
		out = append(out, "One more, "+r.Step.Pack.Place+": "+r.Pack.OneMore+".")
	}
	if c := r.Check; c != nil && c.Words != "" && c.Words != r.Problem {
		out = append(out, capital(c.Words)+".")
	}
	if c := r.Check; c != nil && c.Advice != "" {
		out = append(out, c.Advice)
	}
	return append(out, "Limits from "+v.snap.Job.Sheet.Manual+", not from this tool.")
}

// pageRest is the lines of a page that are not its text: head, blank, keys.
const pageRest = 3

// pageFrame draws a page.
func pageFrame(v *view) []line {
	p := v.page
	room := v.height - pageRest
	head := ends(toned(strong, "job "+v.snap.Job.ID+", "+p.title), say(""), v.width)
	if p.steps {
		out := append([]line{head, nil}, stepLines(v, v.width, room)...)
		return append(fill(out, v.width, v.height-1), keyLine(v).cut(v.width))
	}
	out := []line{head, nil}
	wrapped := p.wrapped(v.width)
	top := max(0, min(p.top, len(wrapped)-room))
	for i := top; i < min(top+room, len(wrapped)); i++ {
		out = append(out, say(wrapped[i]))
	}
	if left := len(wrapped) - top - room; left > 0 {
		out[0] = ends(toned(strong, "job "+v.snap.Job.ID+", "+p.title), say(fmt.Sprintf("%d more lines below", left)), v.width)
	}
	return append(fill(out, v.width, v.height-1), keyLine(v).cut(v.width))
}

// wrapped are a page's lines; one that is wider than the screen is broken, with
// its further lines set in.
func (p *page) wrapped(width int) []string {
	var out []string
	for _, l := range p.text {
		if cells(l) <= width {
			out = append(out, l)
			continue
		}
		for i, part := range wrap(l, width-4, len(l)) {
			if i > 0 {
				part = "    " + part
			}
			out = append(out, part)
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
	word := strings.ToUpper(string(r.Status))
	switch {
	case r.Status == overhaul.Stopped:
		word = "STOP"
	case r.Check != nil && r.Check.Verdict != ring.NotJudged && r.Status != overhaul.Stale:
		s := verdictSpan(r.Check.Verdict)
		return line{s}
	case r.Status == overhaul.Waiting:
		word = ""
		if width >= leastWidth {
			word = r.Wants
		}
		if cells(word) > width/2 {
			word = cut(word, width/2)
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
