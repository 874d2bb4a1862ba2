package overhaul

import (
	"fmt"
	"slices"

	"shimwright/calc/network"
	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/calc/stock"
)

// fitFigure is a pack's figure by one fit: as measured (the mean over the
// places measured or pressed), else the sum of its leaves; nil where nothing
// says how thick it is.
func (w *worker) fitFigure(st *sheet.Step, i int) *Figure {
	e := w.entries.List[i]
	if pressed := w.pressedFor(st, i); len(e.Measured) == 0 && len(pressed) > 0 {
		f := sum(st.Name, Term{quantity.Whole(1), meanPress(pressed)})
		f.Rule = "as measured"
		return f
	}
	var each []*Figure
	for n, v := range e.Measured {
		l := leaf("measured", fmt.Sprintf("fit:%s:%d:%d", st.Name, i, n), "pack as measured", v)
		l.Leaf.Ref = e.Ref
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
		l.Leaf.Ref = e.Ref
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

// wanted is the figure that a pack must make true.
func (w *worker) wanted(wd sheet.Wanted) *found {
	if !wd.Given {
		f := w.length(wd.Name, false)
		if f.figure == nil {
			return f
		}
		terms, index := []Term{{quantity.Whole(1), f.figure}}, f.index
		for _, m := range w.moves {
			if m.wanted == wd.Name {
				terms = append(terms, Term{quantity.Whole(1), m.by})
				index = max(index, m.index)
			}
		}
		if len(terms) == 1 {
			return f
		}
		return &found{figure: sum(wd.Name, terms...), index: index}
	}
	word := "wanted by the sheet"
	if wd.SettingOf != "" {
		word = "float wanted by the sheet"
		if wd.Aim.Sign() < 0 {
			word = "preload wanted by the sheet, so below nought"
		}
	}
	f := &Figure{Name: wd.Name, Value: wd.Aim, Leaf: &Leaf{Key: "wanted:" + wd.Name, Source: word}}
	return &found{figure: f, index: -1}
}

// pack works a pack step.
func (w *worker) pack(r *Result) {
	w.packFigures(r)
	w.pressPack(r)
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
	p.Within = w.tolerance(st)
	if w.stopNegative(r) || w.outOfRange(r) {
		return
	}
	if st.Pack.CheckBy {
		w.checkPack(r)
	}
	p.Refit = fit != nil && w.movedSince(st, at)
	w.makeUp(r)
	w.judgeFit(r, fit, at, index)
}

// trialPack is a pack that a check sets: no loop gives its figure.
func (w *worker) trialPack(r *Result, fit *Figure) {
	if fit == nil {
		r.Wants = "fit a trial pack and measure it; " + r.Step.Pack.SetBy + " decides"
		return
	}
	r.Status, r.Figure = Done, fit
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

// workPack works a pack by its loop or from the build before.
func (w *worker) workPack(st *sheet.Step, byChange bool) (*Figure, int, *Lack) {
	wd, _ := w.sheet.WantedNamed(st.Pack.Makes)
	form, err := w.sheet.Target(wd)
	if err != nil {
		return nil, -1, &Lack{For: st.Name, Stop: err.Error()}
	}
	loop, err := network.Solve(form, st.Pack.Length)
	if err != nil {
		return nil, -1, &Lack{For: st.Name, Stop: err.Error()}
	}
	if byChange {
		return w.byChange(st, wd, loop)
	}
	return w.byLoop(st, wd, loop)
}

// byLoop is the wanted figure and the one way round, solved for the pack.
func (w *worker) byLoop(st *sheet.Step, wd sheet.Wanted, loop network.Loop) (*Figure, int, *Lack) {
	rest, index, lack := w.formFigure(st.Name, loop.Rest, true)
	if lack != nil {
		return nil, -1, lack
	}
	aim := w.wanted(wd)
	if aim.figure == nil {
		return nil, -1, aim.lack
	}
	terms := append([]Term{{loop.PerWanted, aim.figure}}, rest.Terms...)
	for _, t := range loop.Rest.Settings {
		if set, ok := w.sheet.SettingOf(t.Name); ok {
			terms = append(terms, Term{t.Coef, w.wanted(set).figure})
			continue
		}
		return nil, -1, &Lack{For: st.Name, Stop: fmt.Sprintf("the walk crosses a touch of %s, and the sheet wants no setting of it", t.Name)}
	}
	return sum(st.Name, terms...), max(index, aim.index), nil
}

// byChange walks the loop in two builds and subtracts: what was not touched
// cancels, measured or not. New pack = old pack as measured then + change of
// the wanted figure − changes of the other lengths, each with its sign.
func (w *worker) byChange(st *sheet.Step, wd sheet.Wanted, loop network.Loop) (*Figure, int, *Lack) {
	old := w.length(st.Pack.Length, true)
	was := w.length(wd.Name, true)
	aim := w.wanted(wd)
	for _, f := range []*found{old, was, aim} {
		if f.figure == nil {
			return nil, -1, f.lack
		}
	}
	terms := []Term{{quantity.Whole(1), old.figure}, {loop.PerWanted, aim.figure}, {loop.PerWanted.Neg(), was.figure}}
	index := max(old.index, was.index, aim.index)
	for _, t := range loop.Rest.Lengths {
		more, at, lack := w.changed(t, was.index)
		if lack != nil {
			return nil, -1, lack
		}
		terms = append(terms, more...)
		index = max(index, at)
	}
	for _, t := range loop.Rest.Settings {
		set, ok := w.sheet.SettingOf(t.Name)
		if !ok || w.sheet.Giver(set.Name, true) == nil {
			continue
		}
		then := w.length(set.Name, true)
		if then.figure == nil {
			return nil, -1, then.lack
		}
		if wrong := otherThen(wd, t.Name, then.figure.Value); wrong != "" {
			return nil, -1, &Lack{For: st.Name, Stop: wrong}
		}
		terms = append(terms, Term{t.Coef, w.wanted(set).figure}, Term{t.Coef.Neg(), then.figure})
		index = max(index, then.index)
	}
	f := sum(st.Name, terms...)
	f.Rule = "from the build before"
	return f, index, nil
}

// otherThen says why a shaft's setting of the build before cannot be walked in
// the state of now: half of a float is no share of a squeeze, and a shaft that
// was closed was held to no side.
func otherThen(wd sheet.Wanted, shaft string, then quantity.Exact) string {
	for _, st := range wd.State {
		switch {
		case st.Shaft != shaft:
		case st.How == network.Closed && then.Sign() > 0:
			return fmt.Sprintf("%s had float in the build before and is closed now, so how far its gear moves is not known from the change: work this pack by its loop.", shaft)
		case st.How == network.HeldAgainst && then.Sign() < 0:
			return fmt.Sprintf("%s was closed in the build before and is held to one side now, so how far its gear moves is not known from the change: work this pack by its loop.", shaft)
		}
	}
	return ""
}

// changed is the change of one other length of a loop since the build before,
// which was looked at with an entry. A length that was not touched cancels.
func (w *worker) changed(t network.Term, before int) ([]Term, int, *Lack) {
	l, _ := w.sheet.Net.Length(t.Name)
	now := w.length(t.Name, false)
	var then *Figure
	switch {
	case w.sheet.Giver(t.Name, true) != nil:
		old := w.length(t.Name, true)
		if old.figure == nil {
			return nil, -1, old.lack
		}
		then = old.figure
	case l.Kind == network.Pack:
		then = w.asFitted(t.Name, before)
	case w.metalSince([]string{t.Name}, before):
		return nil, -1, &Lack{For: t.Name, Stop: fmt.Sprintf("Metal of %s was changed since the build before: take that build's readings again.", t.Name)}
	}
	if then == nil {
		return nil, -1, nil
	}
	if now.figure == nil {
		return nil, -1, now.lack
	}
	if l.Kind == network.Pack && now.figure.Value.Equal(then.Value) {
		return nil, now.index, nil
	}
	return []Term{{t.Coef, now.figure}, {t.Coef.Neg(), then}}, now.index, nil
}

func (w *worker) metalSince(lengths []string, index int) bool {
	c, ok := w.lastChange(lengths)
	return ok && c.index > index
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
	r.Pack.Closure = closure(r.Pack.Worked, other, st.Pack.Closes.Exact())
	if c := r.Pack.Closure; !c.Good {
		r.Status = Held
		r.Problem = fmt.Sprintf("The two ways to this pack lie %s apart, at most %s is allowed: one of the lengths is wrong. Find which before fitting.",
			c.Value.Abs().ShowUnit(w.sheet.Unit, w.sheet.Places), st.Pack.Closes)
	}
}

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
	if !r.Pack.Refit { // a pack to be fitted anew gives its leaves back
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
		return
	}
	r.Pack.Effect = w.errorWords(r.Step, answer.Packs[0].Error)
	if left, err := tray.Draw(answer.Packs[0]); err == nil {
		w.trays[rules.Stock] = left
	}
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
	case r.Problem != "":
		r.Status = Held
	default:
		r.Status = Done
	}
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
