package fitter

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/ingest/fact"
	"shimwright/ingest/job"
)

// readingLines are the block figures of the last press, what it came to, and
// the repeats beside it; of a pack, its figure and make-up; of a ring that is
// judged, the ring.
func readingLines(v *view, r *overhaul.Result) []line {
	switch {
	case r.Status == overhaul.Stopped:
		return bigWith(v, "STOP", "", "", stop, freshLines(v))
	case r.Pack != nil:
		return packLines(v, r)
	case len(r.Step.Slots()) == 0:
		if fresh := freshLines(v); fresh != nil {
			return sideBySide(nil, fresh, 2, v.width)
		}
		return nil
	}
	return pressLines(v, r, repeatLines(v, r))
}

// pressLines are the last press at a step with lines beside it, and what it
// came to; of a check that is judged, its figure or its ring and the verdict.
func pressLines(v *view, r *overhaul.Result, side []line) []line {
	if fresh := freshLines(v); fresh != nil && v.scale() == 2 {
		side = append(side, fresh...)
	} else if fresh != nil {
		side = fresh // there is not room for both
	}
	p, stray, ok := v.shownPress(r)
	if !ok {
		return append(notPressed(v, r, side), strayLines(v, stray)...)
	}
	judged := r.Check != nil && r.Check.Verdict != ring.NotJudged && r.Status != overhaul.Stale && p.Now == fact.Taken && !p.Struck
	if judged {
		return append(judgedLines(v, r, side), strayLines(v, stray)...)
	}
	label := "last press here, " + p.Fact.Gauge + " at " + clock(p)
	figure, unit := "-----", ""
	if p.Fact.Value != nil {
		figure, unit = v.asSent(*p.Fact.Value), p.Fact.Value.Unit().String()
		if figure != p.Fact.Value.Digits() {
			u, _ := v.lengthUnit()
			unit, label = u.String(), label+", sent "+p.Fact.Value.String()
		}
	}
	if p.Now == fact.Held && unitless(p) {
		unit = "no unit"
	}
	old := staleAt(r, p)
	t := outcomeTone(p)
	if old || r.Status == overhaul.Held {
		t = warn
	}
	out := bigWith(v, figure, unit, label, t, side)
	if old && r.Check != nil && len(r.Check.Points) > 0 {
		return out // what is wrong is said below
	}
	if old {
		return append(out, hanging(span{statusShape(overhaul.Stale) + " STALE", warn}, "Metal was changed after this press.", v.width, 1)...)
	}
	return append(append(out, outcomeLines(v, p)...), strayLines(v, stray)...)
}

// shownPress is the press whose figure is shown at a step: the newest that
// counts or wants a decision. One that was put aside after it is told below; it
// does not take the figure's place.
func (v *view) shownPress(r *overhaul.Result) (shown job.Press, stray *job.Press, ok bool) {
	last, ok := v.lastAt(r.Step.Name)
	if !ok || last.Now != fact.Aside || last.Struck {
		return last, nil, ok
	}
	begun := v.snap.Job.Begun(r.Step.Name)
	for _, p := range slices.Backward(v.snap.Job.Presses) {
		if p.Fact.Step == r.Step.Name && p.Seq > begun && counts(p) && !v.begunAnew(r.Step.Name, p) {
			return p, &last, true
		}
	}
	return last, nil, true
}

// strayLines tell of a press that was put aside after the one shown.
func strayLines(v *view, p *job.Press) []line {
	if p == nil {
		return nil
	}
	return outcomeLines(v, *p)
}

// notPressed is a step before its first press: how it is set up, where that
// can be drawn.
func notPressed(v *view, r *overhaul.Result, side []line) []line {
	if draws := setupLines(v, r, setupWide-1); draws != nil {
		return sideBySide(draws, side, setupWide, v.width)
	}
	if d, ok := v.ring(r); ok && v.height >= 36 {
		return sideBySide(drawn(d.Rows(v.look(ringWide, ringHigh))), side, ringWide+1, v.width)
	}
	return sideBySide([]line{say("no press at this step yet")}, side, blockNarrow, v.width)
}

// judgedLines are a check that is judged: its ring, or the figure that was
// judged in block figures, and the verdict.
func judgedLines(v *view, r *overhaul.Result, side []line) []line {
	word := verdictSpan(r.Check.Verdict)
	verdict := hanging(word, judgedWords(v, r), v.width, 2)
	if d, ok := v.ring(r); ok {
		wide := max(ringWide-8, v.width-46)
		rows := drawn(d.Wheel(v.look(wide, min(max(ringHigh+2, v.height-besideBlocks), max(9, v.height-25)))))
		return append(sideBySide(rows, append(side, lowLine(v, r)...), wide+1, v.width), verdict...)
	}
	f := r.Check.Figure
	if f == nil {
		return append(side, verdict...)
	}
	u, places := v.unitOf(f)
	return append(bigWith(v, f.Value.Show(u, bigPlaces(u, places)), u.String(), f.Name, word.tone, side), verdict...)
}

// lowLine is where the curve of a ring is lowest, marked L in its drawing.
func lowLine(v *view, r *overhaul.Result) []line {
	f := r.Check.Ring
	if f == nil || f.Fit.Once.Sight != ring.Whole {
		return nil
	}
	u, places := v.bandUnit(r)
	at := ""
	if f.Fit.Low.At.Known {
		at = fmt.Sprintf(" at %.0f deg", f.Fit.Low.At.Degrees)
	}
	return []line{say("L lowest " + f.Fit.Low.Value.ShowUnit(u, places) + at)}
}

// bigPlaces is how many decimals a block figure has: two are enough for a
// torque or a force; the sum shows them all.
func bigPlaces(u quantity.Unit, places int32) int32 {
	if u.Dimension() != quantity.Length {
		return min(places, 2)
	}
	return places
}

// limit is a limit with no more noughts at its end than a block figure has.
func limit(x quantity.Exact, u quantity.Unit, places int32) string {
	out := x.Show(u, places)
	for n := bigPlaces(u, places); places > n && strings.HasSuffix(out, "0"); places-- {
		out = out[:len(out)-1]
	}
	return out
}

// staleAt tells whether a press was made before metal of its step was changed.
func staleAt(r *overhaul.Result, p job.Press) bool {
	return slices.ContainsFunc(r.Presses, func(x overhaul.Press) bool { return x.Stale && x.Entry.Ref == refOf(p) })
}

func refOf(p job.Press) string { return strconv.FormatInt(p.Seq, 10) }
