package board

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"shimwright/ingest/job"
	"shimwright/ingest/store"
	"shimwright/ui/draw"
	"shimwright/ui/term"
)

// plainWidth is the width that plain text keeps to where it is wrapped.
const plainWidth = 100

// Plain writes the board as lines, for a screen reader, a log or a pipe: what the
// screen shows, a thing a line, figures in place of drawings. closures are by sheet. The
// error is the writer's.
func Plain(w io.Writer, m *Model, closures map[string]*Closures, names bool) error {
	v := &view{model: m, width: plainWidth, height: 1, now: m.At, names: names}
	v.take(m)
	if s := v.series(); s != nil {
		v.closures = closures[s.Sheet]
	}
	p := &pages{}
	p.line("Board of %s, read %s: %s, %s.", m.Name, when(m.At, m.At.Location()), m.Query.words(), v.order)
	p.line("%s", v.counts().Text())
	p.head("What goes wrong")
	if len(m.Findings) == 0 {
		p.line("Nothing wants looking at.")
	}
	for _, f := range m.Findings {
		p.line("%s: %s. %s", f.Word, strings.TrimSuffix(f.Says, "."), f.Why)
	}
	p.head("Jobs")
	if len(v.rows) == 0 {
		p.line("No job matches.")
	}
	for _, r := range v.rows {
		p.job(v, r)
	}
	if m.More {
		p.line("There are older jobs: choose by sheet, days or text.")
	}
	if r := v.row(); r != nil && r.isRing {
		p.head("Ring of " + m.called(r.Job.Bench, r.Job.ID))
		p.b.WriteString(r.drawing().Words())
		for _, row := range r.sayRing(plainWidth, 20, nil) {
			p.line("%s", row.Text())
		}
	}
	for _, s := range m.Series {
		shown := *v
		shown.closures = closures[s.Sheet]
		p.series(&shown, s)
	}
	p.listing("Waiting", v.waiting())
	p.listing("Gauges and pieces", v.gauges())
	_, err := io.WriteString(w, p.b.String())
	return err
}

// PlainJob writes one job as lines, down to its presses and their bytes. The bay
// is told where it is one of a shop's; else it is "". The error is the writer's.
func PlainJob(w io.Writer, bay string, j *job.Job, zone *time.Location, names bool) error {
	m := Model{Shop: bay != ""}
	f := folded{of: store.Job{Bench: bay, ID: j.ID}, called: m.called(bay, j.ID), job: j, zone: zone}
	f.res, f.err = j.Work()
	p := &pages{}
	p.folded(f, names)
	_, err := io.WriteString(w, p.b.String())
	return err
}

// pages are lines being written.
type pages struct{ b strings.Builder }

func (p *pages) line(format string, args ...any) {
	p.b.WriteString(strings.TrimRight(draw.Visible(fmt.Sprintf(format, args...)), " ") + "\n")
}

func (p *pages) head(s string) { p.b.WriteString("\n" + draw.Visible(s) + "\n") }

// job is one job of the list, with the names of its columns.
func (p *pages) job(v *view, r *Row) {
	parts := []string{"job " + r.Job.ID, "bay " + r.Job.Bench, "drive " + r.Job.Serial + " " + r.Job.Drive, "sheet " + r.Job.Sheet}
	word, _ := state(r.Job)
	parts = append(parts, word)
	if r.Job.State == store.Open && r.Stage != "" {
		parts = append(parts, "stage "+r.Stage)
	}
	if r.isRing {
		parts = append(parts, "points "+r.pointsText(), "spread "+r.showUnit(r.wheel.spread), "mean "+r.showUnit(r.wheel.mean))
		if r.wheel.wide() {
			parts = append(parts, "SPREAD ABOVE the "+r.showUnit(*r.wheel.spreadAllowed)+" allowed")
		}
	}
	parts = append(parts, verdictWord(r.verdict()), "age "+ageWords(r.age(v.now)))
	p.line("%s", strings.Join(parts, "; "))
}

// series are a sheet's charts as figures, and its measures.
func (p *pages) series(v *view, s *Series) {
	p.head(fmt.Sprintf("%s: charts, in %s", s.name(), s.unit))
	for _, c := range []struct {
		name string
		of   control
		by   []guide
	}{{"spread", s.Spread, s.spreadGuides()}, {"mean", s.Mean, s.meanGuides()}} {
		p.line("%s: %s", c.name, c.of.words(s.places))
		for _, g := range c.by {
			p.line("%s, %s: %s", c.name, g.name, g.at.StringFixedBank(s.places))
		}
		p.line("%s, last %d: %s", c.name, min(len(c.of.points), plainPoints), c.of.list(s.places, c.by))
	}
	for _, row := range v.measures(s, plainWidth) {
		p.line("%s", row.Text())
	}
}

// plainPoints are how many of the last points are written out.
const plainPoints = 25

// list is the last points, oldest first, each with its mark in a word.
func (c *control) list(places int32, guides []guide) string {
	var out []string
	for _, d := range c.points[max(0, len(c.points)-plainPoints):] {
		text := d.StringFixedBank(places)
		switch mark, _ := c.mark(d, guides); mark {
		case "▲", "▼":
			text += " BEYOND THE SHEET"
		case "◎":
			text += " unusual"
		}
		out = append(out, text)
	}
	return strings.Join(out, ", ")
}

// listing writes a page of lines.
func (p *pages) listing(title string, l *listing) {
	p.head(title)
	for _, e := range l.lines {
		p.entry(e)
	}
}

func (p *pages) entry(e entry) {
	if e.text != "" {
		for _, row := range term.Lines(draw.Plain, e.text, plainWidth, 40) {
			p.line("%s", row.Text())
		}
		return
	}
	var left strings.Builder
	for _, s := range e.left {
		left.WriteString(s.Text)
	}
	text := strings.TrimSpace(left.String() + draw.Visible(e.says))
	if right := e.right.Text(); right != "" {
		text += "  " + right
	}
	p.line("%s", text)
}

// folded writes a job's pages one below the other.
func (p *pages) folded(f folded, names bool) {
	top := jobListing(f, names)
	p.listing(top.title, &listing{lines: slices.DeleteFunc(top.lines, func(e entry) bool { return e.open != nil })})
	if f.res != nil {
		for _, r := range f.res.Steps {
			p.step(f, stepListing(f, r, names, plainWidth), r.Step.Name, names)
		}
	}
	p.step(f, &listing{title: "At no step"}, "", names)
}

func (p *pages) step(f folded, l *listing, step string, names bool) {
	all := pressesAt(f.job, step)
	if step == "" && len(all) == 0 {
		return
	}
	p.listing(l.title, &listing{lines: slices.DeleteFunc(l.lines, func(e entry) bool { return e.open != nil })})
	for _, x := range all {
		page := pressListing(f, x, names)
		p.listing(page.title, page)
	}
}
