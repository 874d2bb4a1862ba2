package overhaul

import (
	"fmt"
	"slices"
	"strings"

	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
)

// current are the presses of a step that count: those made since metal of the
// lengths named was last changed; where a spot has none of these, its older
// ones stand as stale.
func (w *worker) current(st *sheet.Step, lengths []string) (live []Press, last int) {
	in := w.in[st.Name]
	c, changed := w.changeFor(st, lengths)
	last = -1
	live = make([]Press, 0, len(in.presses))
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
	if !slices.ContainsFunc(presses, func(p Press) bool { return p.Stale }) {
		return slices.Clip(presses)
	}
	var out []Press
	for _, p := range presses {
		if !p.Stale {
			out = append(out, p)
		}
	}
	return out
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
	if n := st.Measure.Setup.Readings(); n.Mul(n).Equal(quantity.Whole(1)) && sameSetup(presses) {
		return spread(presses) // what they stood on is the same in each
	}
	var low, high quantity.Exact
	for i, p := range presses {
		v := w.walked(st, p.Entry, pressFigure(p)).Value
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

// spread is how far corrected presses lie apart.
func spread(presses []Press) quantity.Exact {
	low, high := presses[0].value(), presses[0].value()
	for _, p := range presses[1:] {
		v := p.value()
		if v.Less(low) {
			low = v
		}
		if high.Less(v) {
			high = v
		}
	}
	return high.Sub(low)
}

// sameSetup tells whether presses stand on the same pieces and gauge.
func sameSetup(presses []Press) bool {
	first := presses[0].Entry
	return !slices.ContainsFunc(presses, func(p Press) bool {
		return p.Entry.Gauge != first.Gauge || !slices.Equal(p.Entry.Pieces, first.Pieces)
	})
}

// bringAlike notes at the press of a walk what it would have read on pieces of
// no size: presses of one run on different pieces compare by that.
func (f *Figure) bringAlike() {
	for _, l := range f.Leaves() {
		if l.Figure.Leaf.Kind != LeafPress {
			continue
		}
		if back, err := l.Coef.Inverse(); err == nil {
			l.Figure.Leaf.alike = f.Value.Times(back)
		}
	}
}

// corrected walks the setup for each press. Where all presses stand on the
// same pieces and gauge, the pieces are written once beside the mean.
func (w *worker) corrected(st *sheet.Step, presses []Press) *Figure {
	var f *Figure
	if sameSetup(presses) {
		f = w.walked(st, presses[0].Entry, meanPress(presses))
	} else {
		var each []*Figure
		for _, p := range presses {
			one := w.walked(st, p.Entry, pressFigure(p))
			one.bringAlike()
			each = append(each, one)
		}
		f = mean(st.Name, fmt.Sprintf("mean of %d corrected presses", len(each)), each)
	}
	if st.Measure.Setup.ZeroedOnPiece {
		f.walk(quantity.Whole(1), func(_ quantity.Ratio, l *Figure) { l.Leaf.Small = l.Leaf.Kind == LeafPress })
	}
	return f
}

// pressFigure is a press, corrected where its gauge has a table.
func pressFigure(p Press) *Figure {
	raw := pressLeaf(p)
	if p.Correction == nil {
		return raw
	}
	f := sum("reading", Term{quantity.Whole(1), raw}, Term{quantity.Whole(1), p.Correction})
	f.Rule = "corrected"
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
	f := leaf("reading", "press:"+pressKey(e), source, e.Value)
	f.Leaf.Ref, f.Leaf.Kind, f.Leaf.Gauge = e.Ref, LeafPress, e.Gauge
	f.Leaf.Group = strings.TrimSpace(e.Step + " " + e.Spot)
	f.Leaf.alike = p.value()
	return f
}

func pressKey(e sheet.Entry) string {
	if e.Ref != "" {
		return e.Ref
	}
	return fmt.Sprintf("%d:%d:%s:%s", e.At.Line, e.At.Column, e.Step, e.Value)
}

// value is the reading with its correction.
func (p Press) value() quantity.Exact {
	v := p.Entry.Value.Exact()
	if p.Correction != nil {
		v = v.Add(p.Correction.Value)
	}
	return v
}

// meanPress is the mean of presses, each corrected first. Where all were
// corrected that is the mean of the readings and the mean of the corrections.
func meanPress(presses []Press) *Figure {
	if len(presses) == 1 {
		return pressFigure(presses[0])
	}
	var raw, adds []*Figure
	for _, p := range presses {
		raw = append(raw, pressLeaf(p))
		if p.Correction != nil {
			adds = append(adds, p.Correction)
		}
	}
	readings := mean("reading", fmt.Sprintf("mean of %d presses", len(raw)), raw)
	switch len(adds) {
	case 0:
		return readings
	case len(presses):
		f := sum("reading", Term{quantity.Whole(1), readings}, Term{quantity.Whole(1), mean("correction", fmt.Sprintf("mean of %d", len(adds)), adds)})
		f.Rule = "corrected"
		return f
	}
	var each []*Figure
	for _, p := range presses {
		each = append(each, pressFigure(p))
	}
	return mean("reading", fmt.Sprintf("mean of %d presses, corrected where the gauge has a table", len(each)), each)
}

// walked is one walk of the setup. A gauge that counts in has its reading
// turned, except where the reading is the length itself.
func (w *worker) walked(st *sheet.Step, e sheet.Entry, reading *Figure) *Figure {
	setup := st.Measure.Setup
	turn := quantity.Whole(1)
	if g, ok := w.entries.Gauges[e.Gauge]; ok && g.CountsIn && setup.Name != "direct" {
		turn = quantity.Whole(-1)
	}
	carrier := setup.Carrier()
	var terms []Term
	for _, m := range setup.Walk {
		k := quantity.Whole(1)
		if !m.Up {
			k = quantity.Whole(-1)
		}
		switch m.What {
		case sheet.AlongStandard:
			pieces := w.standard(m.Standard, k, e.Pieces)
			for _, t := range pieces {
				t.Figure.Leaf.Through = m.Standard == carrier
			}
			terms = append(terms, pieces...)
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
		l := leaf(role, "piece:"+id, "piece "+id, p.Size)
		l.Leaf.Kind = LeafPiece
		terms = append(terms, Term{k.Mul(std.Each()), l})
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
