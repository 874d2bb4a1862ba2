package overhaul

import (
	"fmt"

	"shimwright/calc/network"
	"shimwright/calc/quantity"
)

// close closes the loop of a length found as check: found less predicted.
func (w *worker) close(r *Result, limit quantity.Value) {
	form, err := w.sheet.Net.Position(r.Figure.Name)
	if l, _, ok := r.Step.Gives(); ok {
		form, err = w.sheet.Net.Position(l, w.assumed()...)
	}
	if err != nil {
		r.Wants = err.Error()
		return
	}
	form, err = w.sheet.Net.Through(form)
	if err != nil {
		r.Wants = err.Error()
		return
	}
	predicted, _, lack := w.formFigure("predicted", form, false)
	if lack != nil {
		r.Wants = lack.Error()
		return
	}
	r.Closure = w.closure(r.Figure, predicted, limit.Exact())
	if !r.Closure.Good {
		r.Status = Held
		r.Problem = fmt.Sprintf("%s does not close: found %s, predicted %s, apart by %s, at most %s is allowed. One of the lengths is wrong: look for which.", r.Figure.Name,
			r.Figure.Value.ShowUnit(w.sheet.Unit, w.sheet.Places), predicted.Value.ShowUnit(w.sheet.Unit, w.sheet.Places),
			r.Closure.Value.ShowUnit(w.sheet.Unit, w.sheet.Places), limit)
	}
}

// assumed are the states in which the wanted distances are worked, for loops
// that name none of their own.
func (w *worker) assumed() []network.State {
	var out []network.State
	for _, wanted := range w.sheet.Wanted {
		out = append(out, wanted.State...)
	}
	return out
}

func (w *worker) closure(foundFig, predicted *Figure, limit quantity.Exact) *Closure {
	c := &Closure{Found: foundFig, Predicted: predicted, Limit: limit}
	c.Value = foundFig.Value.Sub(predicted.Value)
	c.Good = !limit.Less(c.Value.Abs())
	apart := sum("apart", Term{quantity.Whole(1), foundFig}, Term{quantity.Whole(-1), predicted})
	c.Budget = w.budget(apart)
	if !c.Good {
		c.Culprits = w.culprits(apart, limit, c.Budget)
	}
	return c
}

// formFigure sums a form over the figures of its lengths. With plan set, packs
// that a move made out of date count as worked anew.
func (w *worker) formFigure(name string, form network.Form, plan bool) (*Figure, int, *Lack) {
	var terms []Term
	lack := &Lack{For: name}
	latest := -1
	for _, t := range form.Lengths {
		f := w.length(t.Name, false)
		if !plan {
			f = w.inMetal(t.Name, f)
		}
		if f.figure == nil {
			if f.lack.Stop != "" {
				return nil, -1, &Lack{For: name, Stop: name + " waits: " + f.lack.Stop}
			}
			lack.Steps = append(lack.Steps, f.lack.Steps...)
			continue
		}
		latest = max(latest, f.index)
		terms = append(terms, Term{t.Coef, f.figure})
	}
	if len(lack.Steps) > 0 {
		return nil, -1, lack
	}
	return sum(name, terms...), latest, nil
}
