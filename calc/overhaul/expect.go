package overhaul

import (
	"fmt"
	"strings"

	"shimwright/calc/network"
	"shimwright/calc/quantity"
	"shimwright/calc/remedy"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
)

// An Expected is the backlash to expect with the packs that are in now, from
// the ring as it was last taken whole and what the packs have moved since.
type Expected struct {
	Wheel, Pinion quantity.Exact // mm, AWAY and OUT above nought
	Points        []remedy.Predicted
	Good          bool   // every point
	Words         string // also where nothing can be expected, and why
}

// ringBefore is a ring as it was last taken whole before metal changed.
type ringBefore struct {
	points []quantity.Exact // mm, in the order of the sheet's points
	mean   quantity.Exact
	last   int // index of its last press
}

func (w *worker) ringBefore(st *sheet.Step) (ringBefore, bool) {
	out := ringBefore{last: -1}
	c, changed := w.lastChange(w.dependsOn(st.Check))
	if !changed {
		return out, false
	}
	in := w.in[st.Name]
	for _, spot := range st.Check.Spots() {
		var at []Press
		for i, p := range in.presses {
			if p.Entry.Spot == spot && in.index[i] < c.index {
				at = append(at, p)
				out.last = max(out.last, in.index[i])
			}
		}
		if len(at) < st.Check.Each {
			return out, false
		}
		out.points = append(out.points, meanPress(at[len(at)-st.Check.Each:]).Value)
	}
	share, err := quantity.RatioOf(1, int64(len(out.points)))
	if err != nil {
		return out, false
	}
	for _, p := range out.points {
		out.mean = out.mean.Add(p.Times(share))
	}
	return out, true
}

// movedByPacks is how far the packs as measured should have moved a gear since
// an entry; changed tells that one of them is another.
func (w *worker) movedByPacks(gear string, c *sheet.Check, since int) (move quantity.Exact, changed bool) {
	shaft, ok := w.shaftCarrying(gear)
	if !ok {
		return move, false
	}
	form, err := w.sheet.Net.Position(shaft.Gear, c.State...)
	if err == nil {
		form, err = w.sheet.Net.Through(form)
	}
	if err != nil {
		return move, false
	}
	for _, t := range form.Lengths {
		l, _ := w.sheet.Net.Length(t.Name)
		then := w.asFitted(t.Name, since)
		now := w.asFitted(t.Name, len(w.entries.List))
		if l.Kind != network.Pack || then == nil || now == nil {
			continue
		}
		by := now.Value.Sub(then.Value)
		changed = changed || !by.IsZero()
		move = move.Add(by.Times(t.Coef))
	}
	return move, changed
}

// compare holds what a re-shim did against what it should have done, where the
// ring was taken before and after it. Where both gears were moved the pinion's
// part is reckoned, and what is left is held against the wheel's.
func (w *worker) compare(r *Result) {
	k, known := w.factor(r.Step)
	before, ok := w.ringBefore(r.Step)
	if !known || !ok {
		return
	}
	wheel, moved := w.movedByPacks("wheel", r.Step.Check, before.last)
	pinion, alsoMoved := w.movedByPacks("pinion", r.Step.Check, before.last)
	if !moved && !alsoMoved {
		return
	}
	fit := remedy.Fit{Gear: "wheel", Predicted: wheel, Before: before.mean, After: r.Check.Ring.Mean.Value(), U: r.Check.U, Factor: k, Show: w.display()}
	if !pinion.IsZero() {
		kp, ok := w.pinionFactor(k)
		switch {
		case !ok:
			return
		case wheel.IsZero():
			fit.Gear, fit.Predicted, fit.Factor = "pinion", pinion, kp
		default:
			fit.Before = fit.Before.Add(pinion.Mul(kp.K))
		}
	}
	if cmp, err := remedy.Compare(fit); err == nil {
		r.Check.Compared = &cmp
	}
}

// expect says which backlash to expect of a ring that is to be taken again.
func (w *worker) expect(r *Result) {
	before, ok := w.ringBefore(r.Step)
	k, known := w.factor(r.Step)
	if !ok || !known || r.Check.Band == nil {
		return
	}
	wheel, moved := w.movedByPacks("wheel", r.Step.Check, before.last)
	pinion, alsoMoved := w.movedByPacks("pinion", r.Step.Check, before.last)
	if !moved && !alsoMoved {
		return
	}
	out := &Expected{Wheel: wheel, Pinion: pinion, Good: true}
	r.Check.Expected = out
	if loose := w.looseFor(r.Step.Check); loose != "" {
		out.Good, out.Words = false, fmt.Sprintf("No backlash can be expected: the %s now has float, and the check is of a closed one.", loose)
		return
	}
	change := wheel.Mul(k.K)
	if !pinion.IsZero() {
		kp, ok := w.pinionFactor(k)
		if !ok {
			out.Good, out.Words = false, "No backlash can be expected: what a pinion move does is not known without the gears' teeth."
			return
		}
		change = change.Add(pinion.Mul(kp.K))
	}
	guard := r.Step.Check.Uncertainty.Exact()
	if w.entries.Simple {
		guard = quantity.Exact{}
	}
	for i, at := range r.Step.Check.Points {
		p := remedy.Predicted{Angle: at.Exact(), Before: before.points[i], After: before.points[i].Add(change)}
		p.Verdict = r.Check.Band.Judge(p.After, guard, w.rule())
		out.Good = out.Good && p.Verdict == ring.Good
		out.Points = append(out.Points, p)
	}
	out.Words = w.expectWords(out, change)
}

// looseFor is a shaft that a check takes as closed and that has float now.
func (w *worker) looseFor(c *sheet.Check) string {
	for _, s := range c.State {
		shaft, ok := w.sheet.ShaftNamed(s.Shaft)
		if now := w.settingNow(shaft); ok && s.How == network.Closed && now.Figure != nil && now.Figure.Sign() > 0 {
			return s.Shaft
		}
	}
	return ""
}

func (w *worker) expectWords(e *Expected, change quantity.Exact) string {
	u, p := w.sheet.Unit, w.sheet.Places
	var each []string
	for _, x := range e.Points {
		each = append(each, x.After.ShowUnit(u, p))
	}
	end := "not all good"
	if e.Good {
		end = "all good"
	}
	var by []string
	for _, m := range []struct {
		gear string
		by   quantity.Exact
	}{{"pinion", e.Pinion}, {"wheel", e.Wheel}} {
		if !m.by.IsZero() {
			by = append(by, fmt.Sprintf("%s %s by %s", m.gear, network.WayWord(m.gear, m.by.Sign()), m.by.Abs().ShowUnit(u, p)))
		}
	}
	why := "no gear is moved"
	if len(by) > 0 {
		why = strings.Join(by, ", ")
	}
	return fmt.Sprintf("With the packs now in, expect about %s (mean %s): %s, %s.", strings.Join(each, ", "),
		changeWords(change, u, p), why, end)
}

// changeWords says how a mean changes, as it is shown: what rounds to nought is
// no change.
func changeWords(x quantity.Exact, u quantity.Unit, places int32) string {
	switch shown := quantity.FromDecimal(x.In(u).Round(places)); {
	case shown.IsZero():
		return "as it was"
	case x.Sign() < 0:
		return "less by " + x.Abs().ShowUnit(u, places)
	}
	return "more by " + x.ShowUnit(u, places)
}
