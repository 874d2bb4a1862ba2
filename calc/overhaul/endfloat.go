package overhaul

import (
	"fmt"

	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
)

// float is push less pull.
func (w *worker) float(r *Result) {
	f := w.floatFigure(r.Step)
	if f.figure == nil {
		r.Wants = f.lack.Error()
		return
	}
	r.Check.Figure = f.figure
	if f.figure.Value.Sign() < 0 {
		r.Status = Held
		r.Problem = fmt.Sprintf("End float works out at %s: push reads less than pull. Were they pressed the other way round, or does the dial count the other way?", f.figure.Value.ShowUnit(w.sheet.Unit, w.sheet.Places))
		return
	}
	w.judge(r, "end float")
}

// floatFigure is the end float found: push reading − pull reading. The dial's
// own zero cancels.
func (w *worker) floatFigure(st *sheet.Step) *found {
	all, last := w.current(st, w.dependsOn(st.Check))
	by := map[string][]Press{}
	for _, p := range all {
		if !p.Stale {
			by[p.Entry.Spot] = append(by[p.Entry.Spot], p)
		}
	}
	push, pull := by["push"], by["pull"]
	if len(push) < st.Check.Each || len(pull) < st.Check.Each {
		return &found{lack: waits(st.Name, st.Name), index: -1}
	}
	f := sum(st.Name, Term{quantity.Whole(1), meanPress(push)}, Term{quantity.Whole(-1), meanPress(pull)})
	return &found{figure: f, index: last}
}

// believedFloat is the float found for other figures to rest on: one that its
// own step holds gives none.
func (w *worker) believedFloat(st *sheet.Step) *found {
	f := w.floatFigure(st)
	if f.figure == nil {
		return f
	}
	r := &Result{Step: st, Check: &Check{}}
	r.Presses, _ = w.current(st, w.dependsOn(st.Check))
	w.points(r)
	if f.figure.Value.Sign() >= 0 && w.covered(r) && w.agreed(r) {
		return f
	}
	return &found{index: f.index, lack: &Lack{For: st.Name, Stop: st.Name + " is not believed: see its step"}}
}
