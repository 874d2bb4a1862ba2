package overhaul

import (
	"fmt"
	"strings"

	"shimwright/calc/network"
	"shimwright/calc/quantity"
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

// markFigure is nominal and mark.
func (w *worker) markFigure(st *sheet.Step) *found {
	m := st.Mark
	nominal := leaf("nominal", "nominal:"+st.Name, "of the drawing", m.Nominal)
	if e, i, ok := w.latest(st.Name, sheet.EntryFigure, sheet.EntryAbsent, sheet.EntryDigits); ok {
		var f *Figure
		switch e.Kind {
		case sheet.EntryAbsent:
			f = sum(st.Name, Term{quantity.Whole(1), nominal})
		case sheet.EntryFigure:
			l := leaf("marked", "mark:"+st.Name, "marked on the part", e.Value)
			l.Leaf.Ref = e.Ref
			f = sum(st.Name, Term{quantity.Whole(1), l})
		default:
			l := leaf("mark", "mark:"+st.Name, "marked on the part", e.Value)
			l.Leaf.Ref = e.Ref
			f = sum(st.Name, Term{quantity.Whole(1), nominal}, Term{quantity.Whole(markSign(m)), l})
		}
		return &found{figure: f, index: i}
	}
	return &found{lack: waits(st.Name, st.Name), index: -1}
}

func markSign(m *sheet.Mark) int64 {
	if m.Plus == "shorter" {
		return -1
	}
	return 1
}

// latest is the last entry of any of the kinds.
func (w *worker) latest(step string, kinds ...sheet.EntryKind) (out sheet.Entry, at int, ok bool) {
	at = -1
	for _, k := range kinds {
		if e, i, is := w.entry(step, k); is && i > at {
			out, at, ok = e, i, true
		}
	}
	return out, at, ok
}

// mark works a mark step.
func (w *worker) mark(r *Result) {
	m := r.Step.Mark
	e, _, ok := w.latest(r.Step.Name, sheet.EntryFigure, sheet.EntryAbsent, sheet.EntryDigits)
	if !ok {
		r.Wants = "read the mark"
		return
	}
	r.Status, r.Text = Done, MarkSentence(w.sheet, r.Step, e)
	if m.Length == "" {
		return
	}
	if f := w.length(m.Length, m.Before); f.figure != nil {
		r.Figure = f.figure
		w.refuseNegative(r, "")
	}
	if m.AsCheck && r.Figure != nil {
		w.close(r, m.Closes)
	}
}

// MarkSentence reads a mark back in words made from the faces' names, for the
// fitter to confirm.
func MarkSentence(s *sheet.Sheet, st *sheet.Step, e sheet.Entry) string {
	m := st.Mark
	l, _ := s.Net.Length(m.Length)
	between := fmt.Sprintf("from %s to %s", l.From, l.To)
	switch {
	case m.Length == "":
		return fmt.Sprintf("%s reads %s and is not a length", st.Name, e.Value.Digits())
	case e.Kind == sheet.EntryAbsent:
		return fmt.Sprintf("no mark: %s is the nominal %s", between, m.Nominal)
	case m.Absolute:
		return fmt.Sprintf("%s is %s", between, e.Value)
	}
	by := e.Value.Exact().Times(quantity.Whole(markSign(m)))
	way := "LONGER"
	if by.Sign() < 0 {
		way = "SHORTER"
	}
	if by.IsZero() {
		return fmt.Sprintf("%s is the nominal %s, no more and no less", between, m.Nominal)
	}
	if _, ok := s.WantedNamed(m.Length); ok {
		way = map[string]string{"LONGER": "FARTHER from", "SHORTER": "NEARER to"}[way]
		return fmt.Sprintf("%s sits %s %s %s than nominal", l.To, by.Abs().ShowUnit(s.Unit, s.Places), way, l.From)
	}
	return fmt.Sprintf("%s is %s %s than nominal", between, by.Abs().ShowUnit(s.Unit, s.Places), way)
}

// current are the presses of a step that count: those made since metal of the
// lengths named was last changed; where a spot has none of these, its older
// ones stand as stale.
func (w *worker) current(st *sheet.Step, lengths []string) (live []Press, last int) {
	in := w.in[st.Name]
	c, changed := w.changeFor(st, lengths)
	last = -1
	for i, p := range in.presses {
		if changed && in.index[i] < c.index {
			p.Stale = true
		}
		live = append(live, p)
		last = max(last, in.index[i])
	}
	return live, last
}

func fresh(presses []Press) []Press {
	var out []Press
	for _, p := range presses {
		if !p.Stale {
			out = append(out, p)
		}
	}
	return out
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
	if apart := w.apart(st, presses); m.Agree.Exact().Less(apart) {
		return &found{index: last, lack: &Lack{For: st.Name, Stop: fmt.Sprintf("The presses lie %s apart, at most %s is allowed: clean and stone the faces, reseat, and take the step again. They are not averaged.",
			apart.ShowUnit(w.sheet.Unit, w.sheet.Places), m.Agree)}}
	}
	packs, lack := w.packsIn(st, last)
	if lack != nil {
		return &found{lack: lack, index: last}
	}
	f := w.corrected(st, presses)
	f.Terms = append(f.Terms, packs...)
	f = retotal(f)
	return &found{figure: f, index: last}
}

// piecesWrong says what is wrong with the pieces that presses stood on: a sum
// that lacks a standard is wrong by all of it.
func (w *worker) piecesWrong(st *sheet.Step, presses []Press) string {
	for _, p := range presses {
		if wrong := sheet.PiecesFault(w.sheet, st, w.entries.Pieces, p.Entry.Pieces); wrong != "" {
			return fmt.Sprintf("A press of %s has not the pieces of its setup: %s. Take the step again.", st.Name, wrong)
		}
	}
	return ""
}

// apart is how far the corrected presses lie apart: two presses on pieces of
// different size agree when the lengths found do.
func (w *worker) apart(st *sheet.Step, presses []Press) quantity.Exact {
	var low, high quantity.Exact
	for i, p := range presses {
		v := w.walked(st, p.Entry, pressLeaf(p)).Value
		if i == 0 || v.Less(low) {
			low = v
		}
		if i == 0 || high.Less(v) {
			high = v
		}
	}
	return high.Sub(low)
}

func retotal(f *Figure) *Figure {
	out := sum(f.Name, f.Terms...)
	out.Rule = f.Rule
	return out
}

func spread(presses []Press) quantity.Exact {
	low, high := presses[0].Entry.Value.Exact(), presses[0].Entry.Value.Exact()
	for _, p := range presses[1:] {
		v := p.Entry.Value.Exact()
		if v.Less(low) {
			low = v
		}
		if high.Less(v) {
			high = v
		}
	}
	return high.Sub(low)
}

// corrected walks the setup for each press. Where all presses stand on the
// same pieces and gauge, the pieces are written once beside the mean.
func (w *worker) corrected(st *sheet.Step, presses []Press) *Figure {
	same := true
	for _, p := range presses[1:] {
		same = same && p.Entry.Gauge == presses[0].Entry.Gauge &&
			strings.Join(p.Entry.Pieces, "\n") == strings.Join(presses[0].Entry.Pieces, "\n")
	}
	if same {
		return w.walked(st, presses[0].Entry, meanPress(presses))
	}
	var each []*Figure
	for _, p := range presses {
		each = append(each, w.walked(st, p.Entry, pressLeaf(p)))
	}
	f := mean(st.Name, fmt.Sprintf("mean of %d corrected presses", len(each)), each)
	return f
}

func pressLeaf(p Press) *Figure {
	e := p.Entry
	source := "pressed"
	if e.Gauge != "" {
		source = "pressed on " + e.Gauge
	}
	if e.Keyed {
		source = "keyed by hand"
	}
	key := e.Ref
	if key == "" {
		key = fmt.Sprintf("%d:%d:%s:%s", e.At.Line, e.At.Column, e.Step, e.Value)
	}
	f := leaf("reading", "press:"+key, source, e.Value)
	f.Leaf.Ref = e.Ref
	return f
}

func meanPress(presses []Press) *Figure {
	if len(presses) == 1 {
		return pressLeaf(presses[0])
	}
	var each []*Figure
	for _, p := range presses {
		each = append(each, pressLeaf(p))
	}
	return mean("reading", fmt.Sprintf("mean of %d presses", len(each)), each)
}

// walked is one walk of the setup. A gauge that counts in has its reading
// turned, except where the reading is the length itself.
func (w *worker) walked(st *sheet.Step, e sheet.Entry, reading *Figure) *Figure {
	setup := st.Measure.Setup
	turn := quantity.Whole(1)
	if g, ok := w.entries.Gauges[e.Gauge]; ok && g.CountsIn && setup.Name != "direct" {
		turn = quantity.Whole(-1)
	}
	var terms []Term
	for _, m := range setup.Walk {
		k := quantity.Whole(1)
		if !m.Up {
			k = quantity.Whole(-1)
		}
		switch m.What {
		case sheet.AlongStandard:
			terms = append(terms, w.standard(m.Standard, k, e.Pieces)...)
		case sheet.AlongReading:
			terms = append(terms, Term{k.Mul(turn), reading})
		}
	}
	return sum(st.Name, terms...)
}

// standard is a role's pieces, each with its share.
func (w *worker) standard(role string, k quantity.Ratio, ids []string) []Term {
	std, _ := w.sheet.StandardNamed(role)
	var terms []Term
	for _, id := range ids {
		p, ok := w.entries.Pieces[id]
		if !ok || p.Standard != role {
			continue
		}
		terms = append(terms, Term{k.Mul(std.Each()), leaf(role, "piece:"+id, "piece "+id, p.Size)})
	}
	return terms
}

// packsIn takes off the packs that were in while the step was measured, as
// measured then. Whether a pack was in is asked; there is no default.
func (w *worker) packsIn(st *sheet.Step, last int) ([]Term, *Lack) {
	asked := st.Measure.AskIn
	if len(asked) == 0 {
		return nil, nil
	}
	e, _, ok := w.entry(st.Name, sheet.EntryIn)
	var terms []Term
	for _, pack := range asked {
		in, answered := e.In[pack]
		if !ok || !answered {
			return nil, &Lack{For: st.Name, Steps: []string{"the answer whether " + pack + " was in"}}
		}
		if !in {
			continue
		}
		f := w.asFitted(pack, last)
		if f == nil {
			return nil, &Lack{For: st.Name, Steps: []string{"the measured figure of " + pack + ", which was in"}}
		}
		terms = append(terms, Term{quantity.Whole(-1), f})
	}
	return terms, nil
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
	r.Problem = fmt.Sprintf("%s works out at %s, and %s .. %s is expected: which piece stands in the setup? Check it and take the step again.",
		r.Figure.Name, v.ShowUnit(w.sheet.Unit, w.sheet.Places), b.Low, b.High)
	w.forget(r)
}

// forget keeps a figure that is not believed out of every other figure.
func (w *worker) forget(r *Result) {
	length, before, ok := r.Step.Gives()
	if ok {
		w.lengths[lengthKey{length, before}] = &found{index: -1, lack: &Lack{For: length, Stop: length + " is not believed: see the step " + r.Step.Name}}
	}
}

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
	r.Closure = closure(r.Figure, predicted, limit.Exact())
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

func closure(foundFig, predicted *Figure, limit quantity.Exact) *Closure {
	c := &Closure{Found: foundFig, Predicted: predicted, Limit: limit}
	c.Value = foundFig.Value.Sub(predicted.Value)
	c.Good = !limit.Less(c.Value.Abs())
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
