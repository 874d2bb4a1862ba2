package board

import (
	"fmt"
	"strings"
	"time"

	"shimwright/ingest/store"
	"shimwright/ui/draw"
	"shimwright/ui/term"
)

const clock = "2006-01-02 15:04"

// when writes a time in the zone in which the board is read.
func when(t time.Time, zone *time.Location) string {
	if t.IsZero() {
		return ""
	}
	return t.In(zone).Format(clock)
}

// waiting is the page of what waits for a decision or should be known.
func (v *view) waiting() *listing {
	m := v.model
	l := &listing{at: v.at[tabWaiting]}
	group := func(title, none string, all []Wait, shape string, t draw.Tone) {
		l.lines = append(l.lines, heading(fmt.Sprintf("%s: %d", title, len(all))))
		if len(all) == 0 {
			l.lines = append(l.lines, note(draw.Plain, "  "+none))
		}
		for _, w := range all {
			left := draw.Row{term.Text(t, shape+" "), term.Text(draw.Plain, m.called(w.Bench, w.Job))}
			if w.Step != "" {
				left = append(left, term.Text(draw.Plain, ", "+w.Step))
			}
			left = append(left, term.Text(draw.Plain, ": "))
			right := when(w.At, v.now.Location())
			if v.names && w.By != "" {
				right = w.By + "  " + right
			}
			l.lines = append(l.lines, entry{left: left, says: w.Says, right: term.Say(draw.Plain, right), open: openStep(store.Job{Bench: w.Bench, ID: w.Job}, w.Step)})
		}
	}
	if len(m.Notes) > 0 {
		l.lines = append(l.lines, heading(fmt.Sprintf("Bays that do not ship as they should: %d", len(m.Notes))))
		for _, n := range m.Notes {
			l.lines = append(l.lines, note(draw.Warn, strings.TrimSpace("! "+n.Bench+": "+n.Says+" "+n.when(v.now.Location()))))
		}
	}
	group("Holds not lifted", "nothing is on hold", m.Holds, "■", draw.Warn)
	group("Concessions", "nothing was conceded", m.Concessions, "≈", draw.Warn)
	group("Figures keyed by hand", "every figure came from a gauge", m.Keyed, "k", draw.Plain)
	if m.ManyDecided {
		l.lines = append(l.lines, note(draw.Warn, fmt.Sprintf("Only the newest %d are looked at.", MostDecisions)))
	}
	due := m.due()
	l.lines = append(l.lines, heading(fmt.Sprintf("Gauges and pieces due within %d days, or out of use: %d", soon, len(due))))
	if len(due) == 0 {
		l.lines = append(l.lines, note(draw.Plain, "  none is due"))
	}
	for _, g := range due {
		l.lines = append(l.lines, v.gaugeEntry(g))
	}
	l.settle(0)
	return l
}

// gaugeEntry is one gauge or piece, which leads to the jobs that used it.
func (v *view) gaugeEntry(g Gauge) entry {
	shape, t := "·", draw.Plain
	switch {
	case g.Trouble != "":
		shape, t = "X", draw.Stop
	case g.isDue():
		shape, t = "!", draw.Warn
	}
	left := draw.Row{term.Text(t, shape), term.Text(draw.Strong, " "+g.ID), term.Text(draw.Plain, "  "+g.Kind+"  ")}
	if v.model.Shop && g.Bench != "" {
		left = append(left, term.Text(draw.Plain, g.Bench+"  "))
	}
	var right draw.Row
	if s := v.series(); s != nil && v.closures != nil {
		for _, c := range v.closures.Gauges {
			if c.Gauge == g.ID {
				right = term.Say(draw.Plain, "mean closure "+signed(c.Mean, s))
				if v.width >= chartsFrom {
					right = term.Say(draw.Plain, fmt.Sprintf("mean closure error %s, worst %s", signed(c.Mean, s), signed(c.Worst, s)))
				}
			}
		}
	}
	return entry{left: left, says: g.says(), right: right, open: func(u *ui) { u.trace(g.ID) }}
}

// gauges is the page of gauges and pieces, each of which can be traced back.
func (v *view) gauges() *listing {
	l := &listing{at: v.at[tabGauges]}
	l.lines = append(l.lines, note(draw.Plain, "Choose a gauge or a piece and press Enter: the jobs that used it."))
	if v.model.ManyBenches {
		l.lines = append(l.lines, note(draw.Warn, "There are more bays than are listed here: their gauges and pieces are left out. A trace looks at all."))
	}
	l.lines = append(l.lines, heading("Gauges"))
	known := map[string]bool{}
	for _, g := range v.model.Gauges {
		known[g.ID] = true
		l.lines = append(l.lines, v.gaugeEntry(g))
	}
	if c := v.closures; c != nil {
		for _, g := range c.Gauges {
			if !known[g.Gauge] {
				l.lines = append(l.lines, v.gaugeEntry(Gauge{ID: g.Gauge, Kind: "not in the register"}))
				known[g.Gauge] = true
			}
		}
	}
	if len(known) == 0 {
		l.lines = append(l.lines, note(draw.Plain, "  the bench has recorded none"))
	}
	if len(v.model.Pieces) > 0 {
		l.lines = append(l.lines, heading("Certified pieces"))
		for _, p := range v.model.Pieces {
			l.lines = append(l.lines, v.gaugeEntry(p))
		}
	}
	l.settle(0)
	return l
}
