package overhaul

import (
	"fmt"
	"slices"

	"shimwright/calc/network"
	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/calc/stock"
)

// makeUp finds the pack in the tray that the sheet names, and takes its leaves
// out so that a later pack does not count on them.
func (w *worker) makeUp(r *Result) {
	rules := r.Step.Pack
	if rules.Stock == "" {
		return
	}
	tray, ok := w.trays[rules.Stock]
	if !ok {
		r.Pack.NoTray = true
		return
	}
	if r.Status == Done || r.Status == Waiting { // a pack to be fitted anew gives its leaves back
		if drawn, ok := w.drawFitted(r.Step, tray); ok {
			w.trays[rules.Stock] = drawn
			return
		}
	}
	answer, err := tray.MakeUp(stock.Request{
		Want: r.Pack.Worked.Value, Within: r.Pack.Within, Objective: stock.FewestWithin, Answers: 3,
		Rules: stock.Rules{AtLeast: rules.AtLeast, AtMost: rules.AtMost, ThinnestOutside: rules.Outside},
	})
	if err != nil {
		r.Problem = "No pack can be made up: " + err.Error()
		return
	}
	r.Pack.Makeup = &answer
	if len(answer.Packs) == 0 {
		w.nearest(r, tray, answer)
		return
	}
	r.Pack.Effect = w.errorWords(r.Step, answer.Packs[0].Error)
	if left, err := tray.Draw(answer.Packs[0]); err == nil {
		w.trays[rules.Stock] = left
	}
}

// nearest tells what comes nearest to a pack that the tray does not have, and
// what each would do: a concession is the lead's to give. Where the sheet's rule
// on leaves bars something nearer, that is told too.
func (w *worker) nearest(r *Result, tray stock.Tray, answer stock.Answer) {
	rules := r.Step.Pack
	below, above := answer.Below, answer.Above
	free, err := tray.MakeUp(stock.Request{Want: r.Pack.Worked.Value, Objective: stock.Closest})
	if err == nil && len(free.Packs) > 0 {
		r.Pack.Near = append(r.Pack.Near, w.near(r.Step, &free.Packs[0], rules))
	} else if err == nil {
		below, above = nearer(below, free.Below), nearer(above, free.Above)
	}
	for _, p := range []*stock.Pack{below, above} {
		if p != nil {
			r.Pack.Near = append(r.Pack.Near, w.near(r.Step, p, rules))
		}
	}
}

func nearer(a, b *stock.Pack) *stock.Pack {
	if a == nil || b != nil && b.Error.Abs().Less(a.Error.Abs()) {
		return b
	}
	return a
}

func (w *worker) near(st *sheet.Step, p *stock.Pack, rules *sheet.Pack) Near {
	n := Near{Pack: *p, Does: w.errorWords(st, p.Error)}
	if rules.AtMost > 0 {
		n.TooMany = max(0, len(p.Leaves)-rules.AtMost)
	}
	return n
}

// drawFitted takes the leaves of a pack that is fitted out of the tray.
func (w *worker) drawFitted(st *sheet.Step, tray stock.Tray) (stock.Tray, bool) {
	e, _, ok := w.entry(st.Name, sheet.EntryFit)
	if !ok {
		return tray, false
	}
	for _, l := range e.Leaves {
		// By size: 1.4 mm is the leaf that the tray calls 1.40 mm.
		in := tray.Leaves()
		i := slices.IndexFunc(in, func(s stock.Leaf) bool { return s.Size.Equal(l.Exact()) })
		if i < 0 {
			continue // not from this tray
		}
		in[i].Count = 1
		if left, err := tray.Draw(stock.Pack{Leaves: in[i : i+1]}); err == nil {
			tray = left
		}
	}
	return tray, true
}

// judgeFit compares a fitted pack with its figure.
func (w *worker) judgeFit(r *Result, fit *Figure, at, index int) {
	p := r.Pack
	if fit == nil {
		if r.Status == Waiting && r.Wants == "" {
			r.Wants = "make up the pack, measure it and fit it"
		}
		return
	}
	p.Error = fit.Value.Sub(p.Worked.Value)
	p.ErrorDoes = w.errorWords(r.Step, p.Error)
	off := p.Error.Abs()
	switch {
	case p.Refit:
		r.Status, r.Wants = Stale, "fit it anew: "+w.addOrTake(p.Error.Neg())
		r.Problem = "A gear was moved on purpose after this pack was fitted."
	case at < index && p.Within.Less(off):
		r.Status, r.Wants = Stale, "fit it anew: "+w.addOrTake(p.Error.Neg())
		r.Problem = "A reading, a mark or a pack it is worked from was taken again after it was fitted."
	case p.Within.Less(off) && p.Within.Sign() > 0:
		r.Status = Held
		r.Problem = fmt.Sprintf("The fitted pack is off by %s, at most %s is allowed: %s. Make it up again.",
			p.Error.ShowUnit(w.sheet.Unit, w.sheet.Places), p.Within.ShowUnit(w.sheet.Unit, w.sheet.Places), w.addOrTake(p.Error.Neg()))
	case w.fitWrong(r.Step, at, fit) != "":
		r.Status, r.Problem = Held, w.fitWrong(r.Step, at, fit)
	case r.Problem != "":
		r.Status = Held
	default:
		r.Status = Done
	}
}

// fitWrong says what speaks against a fit as it was entered: a press over it
// was struck since, or its leaves do not add up to what was measured; "" for
// nothing.
func (w *worker) fitWrong(st *sheet.Step, at int, fit *Figure) string {
	e := w.entries.List[at]
	if n := len(w.pressedFor(st, at)); len(e.Measured) == 0 && n > 0 && n < st.Pack.Presses {
		return fmt.Sprintf("The fitted pack is measured at %d of %d places, for a press over it no longer counts: measure it again.", n, st.Pack.Presses)
	}
	within := w.tolerance(st)
	if len(e.Leaves) == 0 || within.Sign() == 0 {
		return ""
	}
	var leaves quantity.Exact
	for _, l := range e.Leaves {
		leaves = leaves.Add(l.Exact())
	}
	if !within.Less(leaves.Sub(fit.Value).Abs()) {
		return ""
	}
	return fmt.Sprintf("The leaves written add up to %s, and the pack measures %s: one of the two is wrong. Look at the pack and fit it again.",
		leaves.ShowUnit(w.sheet.Unit, w.sheet.Places), fit.Value.ShowUnit(w.sheet.Unit, w.sheet.Places))
}

func (w *worker) addOrTake(by quantity.Exact) string {
	how := "ADD "
	if by.Sign() < 0 {
		how = "TAKE "
	}
	return how + by.Abs().ShowUnit(w.sheet.Unit, w.sheet.Places)
}

// movedSince tells whether a move after an entry changes a pack's figure: its
// own aim was moved, or a pack on its loop must be fitted anew.
func (w *worker) movedSince(st *sheet.Step, at int) bool {
	var by quantity.Exact
	for _, m := range w.moves {
		if m.wanted == st.Pack.Makes && m.index > at {
			by = by.Add(m.by.Value)
		}
	}
	if !by.IsZero() {
		return true
	}
	wd, _ := w.sheet.WantedNamed(st.Pack.Makes)
	form, err := w.sheet.Target(wd)
	if err != nil {
		return false
	}
	return slices.ContainsFunc(form.Lengths, func(t network.Term) bool {
		other := w.sheet.Giver(t.Name, false)
		return other != nil && other != st && other.Pack != nil &&
			w.results[other.Name] != nil && w.results[other.Name].Pack.Refit
	})
}

// errorWords says what a pack's error does to the setting and the gear.
func (w *worker) errorWords(st *sheet.Step, e quantity.Exact) string {
	if e.IsZero() {
		return "exact"
	}
	shaft, ok := w.sheet.ShaftNamed(st.Pack.Shaft)
	if !ok {
		return ""
	}
	row, err := w.sheet.Net.Row(st.Pack.Length, shaft.Name, w.rowState(st, shaft))
	if err != nil {
		return ""
	}
	out := ""
	if f := e.Times(row.Float); !f.IsZero() {
		way := "looser"
		if f.Sign() < 0 {
			way = "tighter"
		}
		out = fmt.Sprintf("%s %s by %s", shaft.Name, way, f.Abs().ShowUnit(w.sheet.Unit, w.sheet.Places))
	}
	if g := e.Times(row.Gear); shaft.Gear != "" && !g.IsZero() {
		if out != "" {
			out += ", "
		}
		out += fmt.Sprintf("%s sits %s %s", shaft.Carries, g.Abs().ShowUnit(w.sheet.Unit, w.sheet.Places), network.WayWord(shaft.Carries, g.Sign()))
	}
	return out
}

// rowState is the state in which a pack's error is told: the one the gear's
// distance is worked in, else the one of the place's own row.
func (w *worker) rowState(st *sheet.Step, shaft sheet.Shaft) network.State {
	if wd, ok := w.sheet.WantedNamed(shaft.Gear); ok {
		for _, s := range wd.State {
			if s.Shaft == shaft.Name && s.How != network.NotSaid {
				return s
			}
		}
	}
	return st.Pack.RowState(shaft)
}
