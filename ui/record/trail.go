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
	t.head("How to read what follows")
	t.words("  ", "A number in brackets is that of a fact: each press and decision has one. Times are UTC; those without a day are of the day that stands over them, or else of "+
		r.firstDay()+", when the job was opened. Build is the build state: one more each time metal changed.")
	r.toolsText(t)
	r.marksText(t)
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
	t.words("  ", "U is the expanded uncertainty: twice the root of the sum of the squares of its parts, which stand behind it.")
	t.blank()
	for _, l := range r.sums {
		t.put(l)
	}
}

func (r *Record) firstDay() string { day, _, _ := strings.Cut(r.Opened, " "); return day }

// clock is a time without the day the job was opened on.
func (r *Record) clock(at string) string { return strings.TrimPrefix(at, r.firstDay()+" ") }

func (r *Record) toolsText(t *text) {
	t.head("Gauges")
	if len(r.Gauges) == 0 {
		t.put("  none pressed")
	} else {
		w := []int{7, 15, 9, 36}
		t.row(w, "gauge", "kind", "limit", "certificate", "presses")
		for _, g := range r.Gauges {
			t.row(w, g.ID, g.Kind, orNot(g.Limit), paperWords(g.Paper, g.Due), strings.TrimSuffix(fmt.Sprintf("%d %s", g.Presses, g.Source), " gauge"))
			if g.Table != "" {
				t.words("         ", "corrected by its table: "+g.Table)
			}
		}
	}
	t.head("Certified pieces")
	if len(r.Pieces) == 0 {
		t.put("  none drawn")
		return
	}
	w := []int{7, 15, 11, 14}
	t.row(w, "piece", "standard", "size", "U and k", "certificate, and when it was drawn")
	for _, p := range r.Pieces {
		say := orNot(p.Uncertainty)
		if p.K != "" {
			say += ", " + p.K
		}
		t.row(w, p.ID, p.Standard, p.Size, say, paperWords(p.Paper, p.Due)+", drawn "+r.clock(p.Drawn))
	}
}

// paperWords is a certificate in words.
func paperWords(number, due string) string {
	switch {
	case number == "" && due == "":
		return "no certificate on record"
	case due == "":
		return "certificate " + number + ", no due date on record"
	case number == "":
		return "certificate without a number, due " + due
	}
	return "certificate " + number + ", due " + due
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

func (r *Record) marksText(t *text) {
	marks := r.partsOf("mark", "confirm")
	if len(marks) == 0 {
		return
	}
	t.head("Marks read and confirmations")
	for _, p := range marks {
		say := p.Step + ": " + p.Words
		if p.Seq > 0 {
			say += strings.TrimSuffix(fmt.Sprintf(" (%d) %s, %s", p.Seq, r.clock(p.At), p.By), ", ")
		}
		t.hang("  ", 6, say)
	}
}

// hang puts a paragraph whose further lines begin at a column.
func (t *text) hang(prefix string, in int, s string) {
	lines := folded(clean(s), columns-in)
	for i, l := range lines {
		if i > 0 {
			prefix = strings.Repeat(" ", in)
		}
		t.put(prefix + l)
	}
}

func (r *Record) pressesText(t *text) {
	for _, s := range r.Stages {
		if len(s.Presses) == 0 && len(s.Cautions) == 0 {
			continue
		}
		t.head("Pressed in stage: " + s.Name)
		for _, c := range s.Cautions {
			t.words("  Caution: ", c)
		}
		for _, g := range groups(s.Presses, func(Press) string { return "" }) {
			r.groupText(t, g)
			for _, p := range g {
				p.more(t)
			}
		}
	}
}

// groups are presses that follow each other and have all in common but their
// spot, value and time; same says what else they must have in common.
func groups(presses []Press, same func(Press) string) [][]Press {
	var out [][]Press
	key := func(p Press) string {
		day, _, _ := strings.Cut(p.At, " ")
		return fmt.Sprintf("%q %q %q %q %q %d %s %q", p.Step, p.Gauge, p.Pieces, p.Source, p.By, p.Build, day, same(p))
	}
	for i, p := range presses {
		if i == 0 || key(presses[i-1]) != key(p) {
			out = append(out, nil)
		}
		out[len(out)-1] = append(out[len(out)-1], p)
	}
	return out
}

// groupText is a line of what presses have in common, and their values below it.
func (r *Record) groupText(t *text, g []Press) {
	first := g[0]
	step := first.Step
	if step == "" {
		step = "at no step"
	}
	parts := []string{step, first.Gauge}
	if first.Pieces != "" {
		parts[1] += " on " + first.Pieces
	}
	parts = append(parts, "build "+strconv.Itoa(first.Build))
	if first.Source != "gauge" {
		parts = append(parts, first.Source)
	}
	if first.By != "" {
		parts = append(parts, "by "+first.By)
	}
	if day, _, ok := strings.Cut(first.At, " "); ok && day != r.firstDay() {
		parts = append(parts, day)
	}
	t.hang("  ", 6, strings.Join(parts, " · "))
	// A spot that was pressed more than once begins a line of its own.
	lines := slices.ContainsFunc(g[1:], func(p Press) bool { return p.Spot != "" && p.Spot != first.Spot }) && len(g) > 1 && g[1].Spot == first.Spot
	var cells []string
	for i, p := range g {
		if lines && i > 0 && g[i-1].Spot != p.Spot {
			t.cells(4, cells)
			cells = nil
		}
		say := fmt.Sprintf("%s (%d)", p.Value, p.Seq)
		if p.Spot != "" && (i == 0 || g[i-1].Spot != p.Spot) {
			say = p.Spot + ": " + say
		}
		if _, at, ok := strings.Cut(p.At, " "); ok {
			say += " " + at
		}
		cells = append(cells, clean(say))
	}
	t.cells(4, cells)
}

// cells puts short texts side by side, as many to a line as fit, in columns.
func (t *text) cells(in int, cells []string) {
	wide1 := 0
	for _, c := range cells {
		wide1 = max(wide1, wide(c))
	}
	n := max(1, (columns-in+2)/(wide1+2))
	for some := range slices.Chunk(cells, n) {
		l := strings.Repeat(" ", in)
		for i, c := range some {
			l += c
			if i+1 < len(some) {
				l += strings.Repeat(" ", wide1+2-wide(c))
			}
		}
		t.put(l)
	}
}

// more is what stands under a group for one of its presses.
func (p Press) more(t *text) {
	for _, say := range []string{p.Reason, p.Doubt, p.lookWords()} {
		if say != "" {
			t.hang("      ", 8, fmt.Sprintf("(%d) %s", p.Seq, say))
		}
	}
}

func (p Press) lookWords() string {
	if p.Look == "" {
		return ""
	}
	return "second look: " + p.Look
}

func (r *Record) asideText(t *text) {
	t.head("Presses that do not count, with reasons")
	if len(r.Aside) == 0 {
		t.put("  none")
		return
	}
	for _, g := range groups(r.Aside, func(p Press) string { return p.Reason + p.Doubt + p.Look }) {
		r.groupText(t, g)
		t.hang("      ", 8, g[0].Reason)
		for _, p := range g {
			if p.Raw != "" && p.Value == "no number" {
				t.hang("      ", 8, fmt.Sprintf("(%d) received %s", p.Seq, p.Raw))
			}
			p.Reason = ""
			p.more(t)
		}
	}
}

func (r *Record) judgedText(t *text) {
	if len(r.Judged) == 0 {
		return
	}
	t.head("Judged on the way, in order")
	for _, j := range r.Judged {
		of := j.Step + ": "
		if j.Step == "" {
			of = ""
		}
		t.hang("  ", 6, fmt.Sprintf("(%d) %s, build %d: %s. %s%s%s", j.Seq, r.clock(j.At), j.Build, strings.ToUpper(j.Verdict), of, j.Words, endOf(j.Advice)))
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
		who := strings.TrimSuffix(r.clock(d.At)+", "+d.By, ", ")
		t.hang("  ", 6, fmt.Sprintf("(%d) %s: %s. %s%s", d.Seq, who, strings.ToUpper(d.What), where, d.Words))
	}
}
