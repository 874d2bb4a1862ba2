package record

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// trail is what stands behind the sheet: tools, what was found, every press,
// every decision, every sum.
func (r *Record) trail(t *text) {
	r.toolsText(t)
	t.parts("Marks read and confirmations", r.partsOf("mark", "confirm"))
	if len(r.Found) > 0 {
		t.head("As found, and looked at without limits")
		for _, f := range r.Found {
			t.row([]int{32, 14}, f.Step, f.Value, f.Words)
		}
	}
	r.pressesText(t)
	r.asideText(t)
	r.judgedText(t)
	r.decisionsText(t)
	t.head("Every figure, worked")
	for _, l := range r.Workings {
		t.put(l)
	}
}

func (r *Record) toolsText(t *text) {
	t.head("Gauges")
	if len(r.Gauges) == 0 {
		t.put("  none pressed")
	}
	for _, g := range r.Gauges {
		t.row([]int{12, 20, 26}, g.ID, g.Kind, "limit of error "+orNot(g.Limit), g.Source+", "+count(g.Presses, "press", "presses"))
		if g.Table != "" {
			t.words("              ", "corrected by its table: "+g.Table)
		}
	}
	t.head("Certified pieces")
	if len(r.Pieces) == 0 {
		t.put("  none drawn")
	}
	if len(r.Pieces) > 0 {
		t.row([]int{7, 15, 13, 23}, "piece", "standard", "size", "by its certificate", "as of")
	}
	for _, p := range r.Pieces {
		say := "U " + orNot(p.Uncertainty)
		if p.K != "" {
			say += ", k = " + p.K
		}
		t.row([]int{7, 15, 13, 23}, p.ID, p.Standard, p.Size, say, p.Drawn)
	}
	if len(r.Gauges)+len(r.Pieces) > 0 {
		t.words("  ", "Certificate numbers and due dates are no facts of this job: the bench's register has them by these names and this date.")
	}
}

func orNot(s string) string {
	if s == "" {
		return "not known"
	}
	return s
}

func count(n int, one, more string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + more
}

// widths of a press's line: number, value, gauge, pieces, time, initials, build.
func pressWidths() []int { return []int{6, 13, 8, 13, 20, 6} }

func (r *Record) pressesText(t *text) {
	for _, s := range r.Stages {
		if len(s.Presses) == 0 && len(s.Cautions) == 0 {
			continue
		}
		t.head("Pressed in stage: " + s.Name)
		for _, c := range s.Cautions {
			t.words("  Caution: ", c)
		}
		at := ""
		for i, p := range s.Presses {
			if i == 0 {
				t.row(pressWidths(), "fact", "value", "gauge", "pieces", "arrived", "by", "build")
			}
			if where := p.where(); where != at {
				at = where
				t.put("  " + at)
			}
			t.row(pressWidths(), strconv.FormatInt(p.Seq, 10), p.Value, p.Gauge, p.Pieces, p.At, dash(p.By), p.built())
			p.more(t)
		}
	}
}

func (p Press) where() string {
	switch {
	case p.Step == "":
		return "at no step"
	case p.Spot == "":
		return p.Step
	}
	return p.Step + ", at " + p.Spot
}

// built is the build state, and the source where that is no gauge.
func (p Press) built() string {
	if p.Source == "gauge" {
		return strconv.Itoa(p.Build)
	}
	return strconv.Itoa(p.Build) + " " + p.Source
}

// more is what stands under a press's line.
func (p Press) more(t *text) {
	const in = "        "
	if p.Reason != "" {
		t.words(in, p.Reason)
	}
	if p.Doubt != "" {
		t.words(in, p.Doubt)
	}
	if p.Look != "" {
		t.words(in, "second look: "+p.Look)
	}
}

func (r *Record) asideText(t *text) {
	t.head("Superseded presses, with reasons")
	if len(r.Aside) == 0 {
		t.put("  none")
		return
	}
	t.row(pressWidths(), "fact", "value", "gauge", "pieces", "arrived", "by", "build")
	for _, p := range r.Aside {
		t.row(pressWidths(), strconv.FormatInt(p.Seq, 10), p.Value, p.Gauge, p.Pieces, p.At, dash(p.By), p.built())
		t.words("        ", p.where()+": "+p.Reason)
		if p.Raw != "" && p.Value == "no number" {
			t.words("        ", "received "+p.Raw)
		}
	}
}

func (r *Record) judgedText(t *text) {
	if len(r.Judged) == 0 {
		return
	}
	t.head("Judged on the way, in order")
	for _, j := range r.Judged {
		t.words(fmt.Sprintf("  %5d  ", j.Seq), strings.ToUpper(j.Verdict)+". "+j.Step+": "+j.Words+endOf(j.Advice))
		t.words("         ", fmt.Sprintf("%s, build state %d", j.At, j.Build))
	}
}

func endOf(advice string) string {
	if advice == "" {
		return ""
	}
	return ". " + advice
}

func (r *Record) decisionsText(t *text) {
	conceded := slices.ContainsFunc(r.Decisions, func(d Decision) bool { return d.What == "concession" })
	t.head("Concessions, holds and other decisions")
	if !conceded {
		t.put("  no concession")
	}
	for _, d := range r.Decisions {
		where := ""
		if d.Step != "" {
			where = d.Step + ": "
		}
		t.words(fmt.Sprintf("  %5d  ", d.Seq), strings.ToUpper(d.What)+". "+where+d.Words)
		t.words("         ", strings.TrimSpace(d.At+" "+d.By))
	}
}
