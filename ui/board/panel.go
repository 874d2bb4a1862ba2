package board

import (
	"fmt"
	"strings"

	"shimwright/ui/draw"
	"shimwright/ui/term"
)

// ringWide is the least room for the ring beside its words, ringLabels what its
// labels take of it, less what the height has for them, and legendFrom the height
// from which what its marks mean is written below it.
const (
	ringWide   = 42
	ringLabels = 18
	legendFrom = 15
)

// panelRows are the chosen job: its ring and what its figures say.
func (v *view) panelRows(width, height int) []draw.Row {
	r := v.row()
	if r == nil {
		return nil
	}
	title := draw.Row{term.Text(draw.Strong, v.model.called(r.Job.Bench, r.Job.ID)+"  "), term.Text(draw.Strong, r.Job.Serial), term.Text(draw.Plain, "  "+r.Job.Drive)}
	words, t := state(r.Job)
	right := term.Say(t, fmt.Sprintf("%s, sheet %s issue %d", words, r.Job.Sheet, r.Job.Issue))
	out := []draw.Row{append(term.Say(draw.Faint, "── "), append(term.Ends(title, right, width-6), term.Text(draw.Faint, " ──"))...)}
	height -= len(out)
	if !r.isRing {
		return append(out, term.Lines(draw.Plain, r.noRing(), width, height)...)
	}
	wide := min(width/2, max(ringWide, 2*height+ringLabels))
	said := r.sayRing(width-wide-2, height, v.series())
	return append(out, term.Beside(ringRows(r.drawing(), wide, height), said, wide, "  ")...)
}

// noRing says what there is of a job whose ring was not judged.
func (r *Row) noRing() string {
	if r.Last == nil {
		return "Nothing of this job has been judged yet."
	}
	return fmt.Sprintf("Its ring has not been judged yet. Last judged: %s, %s.", r.Last.Step, r.Last.Words)
}

// ringRows draws a ring in so many rows; what its marks mean is left out where
// that would make the ring small, since its figures are told beside it.
func ringRows(d draw.Ring, width, height int) []draw.Row {
	if height >= legendFrom {
		return d.Rows(draw.Look{Width: width, Height: height})
	}
	// Without room it is two rows of a table, and then the legend.
	legend := max(0, len(d.Rows(draw.Look{Width: width}))-2)
	rows := d.Rows(draw.Look{Width: width, Height: height + legend})
	return rows[:min(len(rows), height)]
}

// sayRing says a ring in figures and words, the verdict first, then what to do.
func (r *Row) sayRing(width, height int, s *Series) []draw.Row {
	w := &r.wheel
	shape, t := verdictMark(r.Ring.Verdict)
	out := []draw.Row{{term.Text(t, shape+" "+verdictWord(r.Ring.Verdict)), term.Text(draw.Plain, fmt.Sprintf("  %s, build state %d", r.Ring.Step, r.Ring.Build))}}
	spread := "spread " + r.show(w.spread)
	tone := draw.Plain
	if w.spreadAllowed != nil {
		spread += " of " + r.showUnit(*w.spreadAllowed) + " allowed"
	}
	if w.wide() {
		spread, tone = "↔ "+spread, draw.Stop
	}
	out = append(out, draw.Row{term.Text(tone, spread)})
	line := "mean " + r.showUnit(w.mean)
	if w.band != nil {
		line += fmt.Sprintf(", limits %s .. %s", r.show(w.band.Low), r.show(w.band.High))
	}
	if u, ok := exact(r.Ring.Uncertainty); ok {
		line += ", U " + r.show(u)
	}
	out = append(out, term.Lines(draw.Plain, line, width, 2)...)
	if f := w.fit; f != nil && f.Low.At.Known {
		low := fmt.Sprintf("curve lowest %s at %.0f deg; once in a turn %.3f mm, twice %.3f mm", r.show(f.Low.Value), f.Low.At.Degrees, w.once, w.twice)
		out = append(out, term.Lines(draw.Plain, low, width, 2)...)
	}
	if w.window != nil && w.window.Empty() {
		out = append(out, term.Say(draw.Strong, "no shim brings every point in"))
	}
	if n := height - len(out) - 2; n > 0 && worthOf(r.Ring.Verdict) > isGood {
		why := r.Ring.Advice
		if w.wide() {
			why = r.why()
		}
		out = append(out, term.Lines(draw.Strong, why, width, n)...)
	}
	if len(out) < height {
		out = append(out, term.Say(draw.Plain, fmt.Sprintf("first judged %s, %s", verdictWord(r.First), count(r.Loops, "re-shim"))))
	}
	if s != nil && len(out) < height && len(s.Points) > 1 && s.Sheet == r.Job.Sheet {
		line := fmt.Sprintf("spread, last %d: ", min(12, len(s.Points)))
		out = append(out, draw.Row{term.Text(draw.Plain, line), term.Text(draw.Strong, spark(s.Spread.points, 12))})
	}
	return out
}

// sideRows are the charts and measures beside the list.
func (v *view) sideRows(width, height int) []draw.Row {
	s := v.series()
	if s == nil {
		return term.Lines(draw.Plain, "No ring has been judged yet: no chart.", width, height)
	}
	measures := v.measures(s, width)
	chart := max(3, (height-len(measures)-4)/2)
	out := []draw.Row{s.title("SPREAD", width)}
	spread, from := s.Spread.last(width)
	mean, _ := s.Mean.last(width)
	point := v.chosenPoint(s) - from
	out = append(out, spread.rows(width, chart, s.places, s.spreadGuides(), point)...)
	out = append(out, nil, s.title("MEAN", width))
	out = append(out, mean.rows(width, chart, s.places, s.meanGuides(), point)...)
	out = append(out, nil)
	return append(out, measures...)
}

// title names a chart, with how many jobs are on it.
func (s *Series) title(what string, width int) draw.Row {
	left := fmt.Sprintf("%s of %s, %s", what, s.name(), s.unit)
	return term.Ends(term.Say(draw.Strong, left), term.Say(draw.Plain, fmt.Sprintf("n = %d", len(s.Points))), width)
}

// chartRows are the page of charts: both, the whole width, then the measures.
func (v *view) chartRows(width, height int) []draw.Row {
	s := v.series()
	if s == nil {
		return term.Lines(draw.Plain, "No ring has been judged yet, so there is nothing to chart.", width, height)
	}
	measures := v.measures(s, width)
	chart := max(3, (height-len(measures)-4)/2)
	point := v.chosenPoint(s)
	out := []draw.Row{term.Ends(term.Say(draw.Strong, "SPREAD "+s.unit.String()), term.Say(draw.Plain, s.Spread.words(s.places)), width)}
	out = append(out, s.Spread.rows(width, chart, s.places, s.spreadGuides(), point)...)
	out = append(out, term.Ends(term.Say(draw.Strong, "MEAN "+s.unit.String()), term.Say(draw.Plain, s.Mean.words(s.places)), width))
	out = append(out, s.Mean.rows(width, chart, s.places, s.meanGuides(), point)...)
	out = append(out, term.Say(draw.Faint, strings.Repeat("─", width)))
	return append(out, measures...)
}

// measures are a series' shares, capability and closure errors.
func (v *view) measures(s *Series, width int) []draw.Row {
	var out []draw.Row
	add := func(name, says string, t draw.Tone) {
		for i, line := range term.Wrap(says, width-13, 3) {
			label := ""
			if i == 0 {
				label = name
			}
			out = append(out, draw.Row{{Text: fmt.Sprintf("%-13s", label)}, {Text: line, Tone: t}})
		}
	}
	n := len(s.Points)
	add("first pass", fmt.Sprintf("%s; re-shims %d, %s per job", share(s.FirstPass, n), s.Loops, perJob(s.Loops, n)), draw.Strong)
	if s.Spread.none != "" {
		add("no limits", "they "+strings.TrimPrefix(s.Spread.none, "limits "), draw.Plain)
	}
	add("capability", s.capabilityWords(), draw.Plain)
	add("closure", v.closureWords(s), draw.Plain)
	marks := "● usual, ◎ unusual, ▲ ▼ beyond the sheet"
	if v.chosenPoint(s) >= 0 {
		marks += ", ◆ this job"
	}
	if jobs, _ := perColumn(max(n, 1), width-labelWide-1); jobs > 1 && width <= chartsWide {
		marks += fmt.Sprintf("; the last %d jobs", width-labelWide-1)
	} else if jobs > 1 {
		marks += fmt.Sprintf("; a column is %d jobs, lowest to highest", jobs)
	}
	add("marks", marks, draw.Plain)
	if s.Training > 0 && !v.model.Query.Training {
		add("left out", count(s.Training, "training job")+"; t counts them", draw.Warn)
	}
	return out
}

// mostGauges are shown with their closure errors where charts are.
const mostGauges = 4

// closureWords are the closure errors by gauge, the largest first.
func (v *view) closureWords(s *Series) string {
	c := v.closures
	switch {
	case c == nil || c.Sheet != s.Sheet:
		return "being worked"
	case len(c.Gauges) == 0:
		return "no loop was closed in the last " + count(c.Jobs, "job")
	}
	var out []string
	for i, g := range c.Gauges {
		if i == mostGauges {
			out = append(out, fmt.Sprintf("and %d more", len(c.Gauges)-i))
			break
		}
		text := g.Gauge + " " + signed(g.Mean, s)
		if g.Bad > 0 {
			text += fmt.Sprintf(" (%d of %d NOT CLOSED)", g.Bad, g.Loops)
		}
		out = append(out, text)
	}
	return strings.Join(out, ", ") + "; mean over " + count(c.Loops, "loop") + " of " + count(c.Jobs, "job")
}
