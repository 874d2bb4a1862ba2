package overhaul

import (
	"fmt"
	"slices"
	"strings"

	"shimwright/calc/network"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
)

// marking judges what was seen on the flanks and says the moves asked for.
func (w *worker) marking(r *Result) {
	c := r.Step.Check
	e, at, ok := w.entry(r.Step.Name, sheet.EntrySeen)
	if !ok {
		r.Wants = "say what is seen on " + strings.Join(c.Flanks, " and ")
		return
	}
	if ch, changed := w.lastChange(w.dependsOn(c)); changed && at < ch.index {
		r.Status = Stale
		r.Problem = fmt.Sprintf("Metal was changed since the marking was seen, now build %d: mark it again.", w.build)
		r.Wants = "mark it again"
		return
	}
	var seen []string
	r.Check.Verdict = ring.Good
	for _, f := range c.Flanks {
		seen = append(seen, e.Seen[f]+" on "+f)
		if !slices.Contains(c.Good, e.Seen[f]) {
			r.Check.Verdict = ring.NotGood
		}
	}
	if r.Check.Marks = w.markAdvice(r, e.Seen); r.Check.Marks != nil && r.Check.Verdict != ring.Good {
		r.Check.Advice = r.Check.Marks.Words
		w.oneStep(r)
	}
	r.Check.Words = strings.Join(seen, ", ")
	r.Text = r.Check.Words
	if r.Check.Verdict != ring.Good {
		r.Status, r.Problem = Held, r.Check.Words+": NOT GOOD. The manual's pictures rule."
		return
	}
	r.Check.Words += ": GOOD"
	r.Status = Done
}

func (w *worker) moveWords(m moved) Move {
	gear := ""
	for _, s := range w.sheet.Shafts {
		if s.Gear == m.wanted {
			gear = s.Carries
		}
	}
	v := m.by.Value
	words := fmt.Sprintf("%s goes %s by %s", gear, network.WayWord(gear, v.Sign()), v.Abs().ShowUnit(w.sheet.Unit, w.sheet.Places+1))
	if m.by.Rule != "" {
		words += " (" + m.by.Rule + ")"
	}
	return Move{gear, v, words}
}
