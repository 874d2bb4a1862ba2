package overhaul

import (
	"fmt"

	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
)

// fitFigure is a pack's figure by one fit: as measured (the mean over the
// places measured or pressed), else the sum of its leaves; nil where nothing
// says how thick it is.
func (w *worker) fitFigure(st *sheet.Step, i int) *Figure {
	e := w.entries.List[i]
	if pressed := w.pressedFor(st, i); len(e.Measured) == 0 && len(pressed) > 0 {
		if uncovered(pressed) != "" {
			return nil
		}
		f := sum(st.Name, Term{quantity.Whole(1), meanPress(pressed)})
		f.Rule = "as measured"
		return f
	}
	var each []*Figure
	for n, v := range e.Measured {
		l := leaf("measured", fmt.Sprintf("fit:%s:%d:%d", st.Name, i, n), "pack as measured", v)
		l.Leaf.Ref, l.Leaf.Kind = e.Ref, LeafKeyed
		each = append(each, l)
	}
	switch len(each) {
	case 0:
	case 1:
		f := sum(st.Name, Term{quantity.Whole(1), each[0]})
		f.Rule = "as measured"
		return f
	default:
		return mean(st.Name, fmt.Sprintf("as measured, mean of %d places", len(each)), each)
	}
	if len(e.Leaves) == 0 {
		return nil
	}
	var terms []Term
	for n, v := range e.Leaves {
		l := leaf("leaf", fmt.Sprintf("fit:%s:%d:leaf %d", st.Name, i, n), "leaf fitted", v)
		l.Leaf.Ref, l.Leaf.Kind = e.Ref, LeafShim
		terms = append(terms, Term{quantity.Whole(1), l})
	}
	f := sum(st.Name, terms...)
	f.Rule = "sum of its leaves"
	return f
}

// pressedFor are the presses over a pack that a fit rests on: those since the
// fit before it. With i the number of entries they are those for the next fit.
func (w *worker) pressedFor(st *sheet.Step, i int) []Press {
	if over, ok := w.in[st.Name].over[i]; ok {
		return over
	}
	since := -1
	for _, fit := range w.in[st.Name].fits {
		if fit < i {
			since = max(since, fit)
		}
	}
	var out []Press
	for n, p := range w.in[st.Name].presses {
		if at := w.in[st.Name].index[n]; at > since && at < i {
			out = append(out, p)
		}
	}
	return out
}

// pressPack says which presses over a pack are in for its next fit, and how
// many are still wanted; a pack that is fitted and right wants none.
func (w *worker) pressPack(r *Result) {
	p := r.Step.Pack
	if p.Presses == 0 {
		return
	}
	next := w.pressedFor(r.Step, len(w.entries.List))
	r.Presses = next
	if len(next) == 0 && r.Status == Done {
		if _, at := w.fitted(r.Step); at >= 0 {
			r.Presses = w.pressedFor(r.Step, at)
		}
		return
	}
	r.Left = max(0, p.Presses-len(next))
	if r.Status == Done {
		r.Status = Waiting // another pack is being measured to take its place
	}
	switch {
	case r.Status == Stopped || r.Pack.Worked == nil && p.Makes != "":
		r.Left = 0
	case r.Left > 0:
		r.Wants = "make up the pack and measure it: " + pressesWanted(r.Left, p.Presses)
	case p.Agree.Exact().Less(spread(next)):
		r.Status = Held
		r.Problem = fmt.Sprintf("The presses over the pack lie %s apart, at most %s is allowed: is a leaf bent or burred? Take the step again.",
			spread(next).ShowUnit(w.sheet.Unit, w.sheet.Places), p.Agree)
	case r.Pack.Worked != nil && r.Pack.Within.Sign() > 0 && r.Pack.Within.Less(meanPress(next).Value.Sub(r.Pack.Worked.Value).Abs()):
		off := meanPress(next).Value.Sub(r.Pack.Worked.Value)
		r.Status = Held
		r.Problem = fmt.Sprintf("This pack measures %s, off by %s, at most %s is allowed. Do not fit it: %s, and measure it again.",
			meanPress(next).Value.ShowUnit(w.sheet.Unit, w.sheet.Places), off.ShowUnit(w.sheet.Unit, w.sheet.Places),
			r.Pack.Within.ShowUnit(w.sheet.Unit, w.sheet.Places), w.addOrTake(off.Neg()))
	default:
		r.Wants = fmt.Sprintf("fit it: measured %s", meanPress(next).Value.ShowUnit(w.sheet.Unit, w.sheet.Places))
	}
}

// asFitted is what a pack measured when it was last fitted before an entry;
// nil where it was not. An old or trial pack counts as its pack.
func (w *worker) asFitted(pack string, before int) *Figure {
	var best *Figure
	at := -1
	for _, st := range w.sheet.Steps() {
		if st.Pack == nil || st.Pack.Length != pack {
			continue
		}
		for _, i := range w.in[st.Name].fits {
			if i < before && i > at {
				best, at = w.fitFigure(st, i), i
			}
		}
	}
	return best
}

// fitted is the last fit of a pack's own step, with its index.
func (w *worker) fitted(st *sheet.Step) (*Figure, int) {
	_, i, ok := w.entry(st.Name, sheet.EntryFit)
	if !ok {
		return nil, -1
	}
	return w.fitFigure(st, i), i
}

// packFigure is the figure a pack counts at in the loops of later packs: as
// fitted, or as worked while it is not fitted or its aim has moved since.
func (w *worker) packFigure(st *sheet.Step) *found {
	fit, at := w.fitted(st)
	r := w.results[st.Name]
	switch {
	case fit != nil && (r == nil || r.Pack == nil || !r.Pack.Refit):
		return &found{figure: fit, index: at}
	case r != nil && r.Status == Stopped:
		return &found{index: -1, lack: &Lack{For: st.Name, Stop: st.Name + " is stopped"}}
	case r != nil && r.Pack != nil && r.Pack.Worked != nil:
		f := sum(st.Name, Term{quantity.Whole(1), r.Pack.Worked})
		f.Rule = "as worked, not yet fitted"
		return &found{figure: f, index: w.lastMove(at)}
	}
	return &found{lack: waits(st.Name, st.Name), index: -1}
}

func (w *worker) lastMove(at int) int {
	for _, m := range w.moves {
		at = max(at, m.index)
	}
	return at
}

// inMetal gives a pack as it is in the drive, whatever was planned since.
func (w *worker) inMetal(name string, planned *found) *found {
	st := w.sheet.Giver(name, false)
	if st == nil || st.Pack == nil {
		return planned
	}
	if fit, at := w.fitted(st); fit != nil {
		return &found{figure: fit, index: at}
	}
	return planned
}
