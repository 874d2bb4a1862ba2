package overhaul

import (
	"fmt"
	"strings"

	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
)

// pack works a pack step.
func (w *worker) pack(r *Result) {
	w.packFigures(r)
	w.pressPack(r)
	w.covered(r)
	w.keepBacklash(r)
}

func (w *worker) packFigures(r *Result) {
	st := r.Step
	p := &Pack{Wanted: st.Pack.Makes}
	r.Pack = p
	fit, at := w.fitted(st)
	p.Fitted = fit
	if st.Pack.Before {
		if fit == nil {
			r.Wants = "measure the pack that is in"
			return
		}
		r.Status, r.Figure = Done, fit
		return
	}
	p.OneMore = w.sheet.RowWords(st.Pack)
	p.Squeeze = w.squeezeWords(st)
	if st.Pack.Makes == "" {
		w.trialPack(r, fit)
		return
	}
	worked, index, lack := w.workPack(st, st.Pack.ByChange)
	if lack != nil {
		w.packLack(r, lack, fit)
		return
	}
	p.Worked, r.Figure = worked, worked
	r.Budget = w.budget(worked)
	p.Within = w.tolerance(st)
	if w.stopNegative(r) || w.outOfRange(r) {
		return
	}
	if st.Pack.CheckBy {
		w.checkPack(r)
	}
	p.Refit = fit != nil && w.movedSince(st, at)
	w.judgeFit(r, fit, at, index)
	w.makeUp(r)
}

// trialPack is a pack that a check sets: no loop gives its figure.
func (w *worker) trialPack(r *Result, fit *Figure) {
	if fit == nil {
		r.Wants = "fit a trial pack and measure it; " + r.Step.Pack.SetBy + " decides"
		return
	}
	r.Status, r.Figure = Done, fit
	if _, at := w.fitted(r.Step); w.fitWrong(r.Step, at, fit) != "" {
		r.Status, r.Problem = Held, w.fitWrong(r.Step, at, fit)
	}
}

func (w *worker) packLack(r *Result, lack *Lack, fit *Figure) {
	if lack.Stop != "" {
		r.Status, r.Problem = Held, lack.Stop
		return
	}
	r.Wants = lack.Error()
	if fit != nil {
		r.Figure = fit
	}
}

// tolerance is how far a pack may lie from its figure: the step's own, or what
// the band of the wanted figure leaves on its narrower side.
func (w *worker) tolerance(st *sheet.Step) quantity.Exact {
	if within := st.Pack.Within.Exact(); within.Sign() > 0 {
		return within
	}
	wd, _ := w.sheet.WantedNamed(st.Pack.Makes)
	if !wd.Banded {
		return quantity.Exact{}
	}
	below, above := wd.Aim.Sub(wd.Low), wd.High.Sub(wd.Aim)
	if above.Less(below) {
		return above
	}
	return below
}

// stopNegative stops a pack below nought: the parts overlap before any pack is
// in, so a sign or a piece is wrong.
func (w *worker) stopNegative(r *Result) bool {
	v := r.Pack.Worked.Value
	if v.Sign() >= 0 {
		return false
	}
	r.Status = Stopped
	r.Problem = fmt.Sprintf("STOP. The pack works out at %s: the parts already overlap. Do not fit. Check the place (%s), the standard and the straightedge.",
		v.ShowUnit(w.sheet.Unit, w.sheet.Places), r.Step.Pack.Place)
	return true
}

func (w *worker) outOfRange(r *Result) bool {
	b := r.Step.Pack.Range
	if b == nil {
		return false
	}
	v := r.Pack.Worked.Value
	if !v.Less(b.Low.Exact()) && !b.High.Exact().Less(v) {
		return false
	}
	r.Status = Stopped
	if moved := w.movedWords(r.Step.Pack.Makes); moved != "" {
		r.Problem = fmt.Sprintf("STOP. The pack works out at %s, and %s .. %s is what this drive takes. %s Was that meant? The opposite move takes it back.",
			v.ShowUnit(w.sheet.Unit, w.sheet.Places), b.Low, b.High, moved)
		return true
	}
	r.Problem = fmt.Sprintf("STOP. The pack works out at %s, and %s .. %s is what this drive takes. Do not fit. Zero the gauge again, check which pieces stand in the setup, read the mark again.",
		v.ShowUnit(w.sheet.Unit, w.sheet.Places), b.Low, b.High)
	return true
}

// checkPack works the pack the other way and closes the two.
func (w *worker) checkPack(r *Result) {
	st := r.Step
	other, _, lack := w.workPack(st, !st.Pack.ByChange)
	if lack != nil {
		r.Wants = "the check of this pack: " + lack.Error()
		return
	}
	r.Pack.Other = other
	r.Pack.Closure = w.closure(r.Pack.Worked, other, st.Pack.Closes.Exact())
	if c := r.Pack.Closure; !c.Good {
		r.Status = Held
		r.Problem = fmt.Sprintf("The two ways to this pack lie %s apart, at most %s is allowed: one of the lengths is wrong. Find which before fitting.",
			c.Value.Abs().ShowUnit(w.sheet.Unit, w.sheet.Places), st.Pack.Closes)
	}
}

// movedWords says what was moved on purpose of a wanted figure; "" for nothing.
func (w *worker) movedWords(wanted string) string {
	var out []string
	for _, m := range w.moves {
		if m.wanted == wanted {
			out = append(out, w.moveWords(m).Words)
		}
	}
	if len(out) == 0 {
		return ""
	}
	return "Moved on purpose: " + strings.Join(out, "; then ") + "."
}
