package overhaul

import (
	"fmt"
	"strings"

	"shimwright/calc/sheet"
)

// length gives a length's figure, in the present build or the one before.
func (w *worker) length(name string, before bool) *found {
	key := lengthKey{name, before}
	if f, ok := w.lengths[key]; ok {
		return f
	}
	// A placeholder stops a sheet whose figures wait for each other in a ring.
	w.lengths[key] = &found{lack: waits(name, name), index: -1}
	f := w.findLength(name, before)
	w.lengths[key] = f
	return f
}

func (w *worker) findLength(name string, before bool) *found {
	st := w.sheet.Giver(name, before)
	switch {
	case st == nil:
		return &found{lack: waits(name, name+", which no step gives"), index: -1}
	case st.Mark != nil:
		return w.markFigure(st)
	case st.Measure != nil:
		return w.measured(st)
	case st.Pack != nil:
		return w.packFigure(st)
	}
	return w.believedFloat(st)
}

// measured is a length found by presses: each press corrected by its setup,
// then their mean. Presses that do not agree give no mean.
func (w *worker) measured(st *sheet.Step) *found {
	m := st.Measure
	all, last := w.current(st, []string{m.Length})
	presses := fresh(all)
	if len(presses) < m.Presses {
		return &found{lack: waits(st.Name, st.Name), index: last}
	}
	if wrong := w.piecesWrong(st, presses); wrong != "" {
		return &found{index: last, lack: &Lack{For: st.Name, Stop: wrong}}
	}
	if wrong := uncovered(presses); wrong != "" {
		return &found{index: last, lack: &Lack{For: st.Name, Stop: wrong}}
	}
	if apart := w.apart(st, presses); m.Agree.Exact().Less(apart) {
		return &found{index: last, lack: &Lack{For: st.Name, Stop: fmt.Sprintf("The presses lie %s apart, at most %s is allowed: clean and stone the faces, reseat, and take the step again. They are not averaged.",
			apart.ShowUnit(w.sheet.Unit, w.sheet.Places), m.Agree)}}
	}
	packs, lack := w.packsIn(st, last)
	if lack != nil {
		return &found{lack: lack, index: last}
	}
	f := w.corrected(st, presses)
	growth, lack := w.growth(st, f)
	if lack != nil {
		return &found{lack: lack, index: last}
	}
	f.Terms = append(append(f.Terms, growth...), packs...)
	f = retotal(f)
	return &found{figure: f, index: last}
}

// measure works a measure step.
func (w *worker) measure(r *Result) {
	m := r.Step.Measure
	r.Presses, _ = w.current(r.Step, []string{m.Length})
	n := len(fresh(r.Presses))
	r.Left = max(0, m.Presses-n)
	f := w.length(m.Length, m.Before)
	switch {
	case f.figure != nil:
		r.Figure, r.Status = f.figure, Done
		r.Expansion = w.expansion(r.Step)
		r.Budget = w.budget(f.figure)
	case f.lack != nil && f.lack.Stop != "":
		r.Status, r.Problem = Held, f.lack.Stop
		return
	case r.Left > 0:
		r.Wants = pressesWanted(r.Left, m.Presses)
		if n < len(r.Presses) {
			r.Status = Stale
			r.Problem = "Metal was changed since this was pressed: take it again."
		}
		return
	default:
		r.Wants = strings.Join(f.lack.Steps, ", ")
		return
	}
	w.refuseNegative(r, m.Plus)
	w.plausible(r)
	if m.AsCheck && r.Figure != nil {
		w.close(r, m.Closes)
	}
}

// refuseNegative stops a found length below nought: it cannot be right, unless
// the sheet says what its plus means.
func (w *worker) refuseNegative(r *Result, plus string) {
	if r.Figure.Value.Sign() >= 0 || plus != "" {
		return
	}
	r.Status = Stopped
	r.Problem = fmt.Sprintf("STOP. %s works out at %s: a length is not below nought. Check the standard, the straightedge and the reading.",
		r.Figure.Name, r.Figure.Value.ShowUnit(w.sheet.Unit, w.sheet.Places))
	w.forget(r)
}

// plausible holds a figure that lies outside what the sheet says it can be.
func (w *worker) plausible(r *Result) {
	b := r.Step.Measure.Worked
	if b == nil || r.Status == Stopped {
		return
	}
	v := r.Figure.Value
	if !v.Less(b.Low.Exact()) && !b.High.Exact().Less(v) {
		return
	}
	r.Status = Held
	hint := ""
	if which := w.whichPiece(r.Figure, b.Low.Exact(), b.High.Exact()); which != "" {
		hint = " " + which + "."
	}
	r.Problem = fmt.Sprintf("%s works out at %s, and %s .. %s is expected: which piece stands in the setup?%s Check it and take the step again.",
		r.Figure.Name, v.ShowUnit(w.sheet.Unit, w.sheet.Places), b.Low, b.High, hint)
	w.forget(r)
}

// forget keeps a figure that is not believed out of every other figure.
func (w *worker) forget(r *Result) {
	length, before, ok := r.Step.Gives()
	if ok {
		w.lengths[lengthKey{length, before}] = &found{index: -1, lack: &Lack{For: length, Stop: length + " is not believed: see the step " + r.Step.Name}}
	}
}
