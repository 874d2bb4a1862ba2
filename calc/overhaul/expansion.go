package overhaul

import (
	"fmt"
	"strings"

	"shimwright/calc/budget"
	"shimwright/calc/correct"
	"shimwright/calc/network"
	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
)

// ToTwenty is the name of the term that brings a measured length to 20 °C.
const ToTwenty = "correction to 20 °C"

// An Expansion is what temperature does to a measured length, worked from its
// presses and pieces; a pack that was in is left out, for it is thin.
type Expansion struct {
	correct.Brought
	Part      correct.Material
	Corrected bool           // the correction to 20 °C is in the figure
	Feeds     string         // the pack, or the limit of its own loop, that leaves least room; "" where it feeds none
	Room      quantity.Exact // the whole width that leaves the length
	Matters   bool           // the correction is a tenth of the room or more
	Words     string
}

// growth is how much one body had grown: length × expansion × (T − 20 °C).
type growth struct {
	of       string // "the part, grey iron"
	length   quantity.Exact
	material correct.Material
	temp     sheet.Temperature
}

func (g growth) value() (quantity.Exact, error) {
	return correct.Growth(g.length, correct.Body{Material: g.material, At: g.temp.At})
}

// growth works what temperature does to a length, and gives the terms that
// correct it where the sheet asks for that. A sheet that asks for it and
// entries that do not say the temperatures give no length.
func (w *worker) growth(st *sheet.Step, f *Figure) ([]Term, *Lack) {
	m, t := w.sheet.Materials, w.entries.Temperatures
	switch {
	case m == nil || t == nil && !w.sheet.ToTwenty:
		return nil, nil
	case t == nil:
		return nil, waits(st.Name, "the temperatures of part and standards")
	}
	part := m.Part
	if own := st.Measure.Material; own != nil {
		part = *own
	}
	var onPieces, onGauge quantity.Exact
	f.walk(quantity.Whole(1), func(coef quantity.Ratio, l *Figure) {
		if l.Leaf.Kind == LeafPiece {
			onPieces = onPieces.Add(l.Value.Times(coef))
			return
		}
		onGauge = onGauge.Add(l.Value.Times(coef))
	})
	body := func(of correct.Material, at sheet.Temperature) correct.Body {
		return correct.Body{Material: of, At: at.At}
	}
	brought, err := correct.At20(body(part, t.Part), []correct.Length{
		{Name: "standards", Value: onPieces, Body: body(m.Standards, t.Standards)},
		{Name: "gauge", Value: onGauge, Body: body(m.Gauge, t.Gauge)},
	})
	if err != nil {
		return nil, &Lack{For: st.Name, Stop: "What temperature does cannot be worked: " + err.Error()}
	}
	w.warm[st.Name] = &Expansion{Brought: brought, Part: part, Corrected: w.sheet.ToTwenty}
	if !w.sheet.ToTwenty {
		return nil, nil
	}
	return w.growthTerms(st, []growth{
		{"the standards, " + m.Standards.String(), onPieces, m.Standards, t.Standards},
		{"the gauge, " + m.Gauge.String(), onGauge, m.Gauge, t.Gauge},
		{"the part, " + part.String(), f.Value, part, t.Part},
	})
}

// growthTerms are the correction to 20 °C: what standards and gauge had grown,
// less what the part had.
func (w *worker) growthTerms(st *sheet.Step, of []growth) ([]Term, *Lack) {
	var terms []Term
	for i, g := range of {
		if g.length.IsZero() {
			continue
		}
		v, err := g.value()
		if err != nil {
			return nil, &Lack{For: st.Name, Stop: "What temperature does cannot be worked: " + err.Error()}
		}
		coef := quantity.Whole(1)
		if i == len(of)-1 {
			coef = quantity.Whole(-1)
		}
		terms = append(terms, Term{coef, &Figure{Name: "growth of " + g.of, Value: v, Leaf: &Leaf{
			Key:    "growth:" + st.Name + ":" + g.of,
			Source: fmt.Sprintf("%s × %s × (%s - 20) °C", g.length.ShowUnit(w.sheet.Unit, w.sheet.Places), g.material.PerK, g.temp.At.Decimal()),
			Kind:   LeafGrowth, growth: &g,
		}}})
	}
	to20 := sum(ToTwenty, terms...)
	return []Term{{quantity.Whole(1), to20}}, nil
}

// notCorrected says that temperature matters to a measured length in a figure
// and is not corrected for.
func (s *sources) notCorrected(step string) {
	if e := s.w.warm[step]; e != nil && e.Matters && !e.Corrected {
		s.missing(fmt.Sprintf("what temperature does to the %s, %s, which is not corrected", step,
			e.Correction.Abs().ShowUnit(s.w.sheet.Unit, s.w.sheet.Places)))
	}
}

// growth adds how sure a growth is: the temperature, common to all that was at
// it, and the expansion coefficient, common to all of one material in one part.
func (s *sources) growth(coef quantity.Ratio, g *growth) {
	perK, err := correct.PerKelvin(g.length, g.material)
	if err != nil {
		return
	}
	if g.temp.Within == nil {
		s.missing("how near the temperature of the " + g.temp.Of + " is known")
	} else {
		s.add(budget.Source{Name: "the " + g.temp.Of, Kind: budget.Temperature, Size: *g.temp.Within, By: &perK, Coef: coef})
	}
	off := g.length.Mul(g.temp.At.Sub(quantity.MustExact("20")))
	if off.IsZero() {
		return
	}
	s.add(budget.Source{Name: g.of, Kind: budget.Expansion, Size: g.material.Doubt(), By: &off, Coef: coef})
}

// expansion says what temperature does to a measured length and whether that
// matters for what it feeds.
func (w *worker) expansion(st *sheet.Step) *Expansion {
	e := w.warm[st.Name]
	if e == nil {
		return nil
	}
	e.Feeds, e.Room = w.room(st)
	u, places := w.sheet.Unit, w.sheet.Places
	if e.Feeds == "" {
		e.Words = e.effect(u, places) + "."
		return e
	}
	matters, err := e.Brought.Matters(e.Room)
	if err != nil {
		e.Words = e.effect(u, places) + "."
		return e
	}
	e.Matters = matters
	allowed := fmt.Sprintf("of the %s that %s leaves it", e.Room.ShowUnit(u, places), e.Feeds)
	switch {
	case e.Correction.IsZero():
		e.Words = e.effect(u, places) + "."
	case !matters && e.Corrected:
		e.Words = fmt.Sprintf("%s, less than a tenth %s; it is corrected all the same.", e.effect(u, places), allowed)
	case !matters:
		e.Words = fmt.Sprintf("%s, less than a tenth %s: it does not matter.", e.effect(u, places), allowed)
	case e.Corrected:
		e.Words = fmt.Sprintf("%s, a tenth or more %s: it matters, and is corrected.", e.effect(u, places), allowed)
	default:
		e.Words = fmt.Sprintf("%s, a tenth or more %s: IT MATTERS, and this sheet only tells it. Let all come to one temperature and measure again, or have the sheet correct for it.",
			e.effect(u, places), allowed)
	}
	return e
}

// effect says the correction in words.
func (e *Expansion) effect(u quantity.Unit, places int32) string {
	way := "longer"
	if e.Correction.Sign() > 0 {
		way = "shorter"
	}
	if e.Correction.IsZero() {
		return "Temperature changes nothing here"
	}
	return fmt.Sprintf("At %s °C it measures %s %s than it is at %d °C", e.At.Round(1), e.Correction.Abs().ShowUnit(u, places+1), way, correct.Reference)
}

// room is the least width that what a length feeds leaves it: twice what a
// pack may be off, by how often the length counts in it, or twice the limit of
// the loop that it closes.
func (w *worker) room(st *sheet.Step) (feeds string, room quantity.Exact) {
	length, _, _ := st.Gives()
	two := quantity.Whole(2)
	note := func(what string, width quantity.Exact) {
		if width.Sign() > 0 && (feeds == "" || width.Less(room)) {
			feeds, room = what, width
		}
	}
	if st.Measure.AsCheck {
		note("the limit of its loop", st.Measure.Closes.Exact().Times(two))
	}
	for _, p := range w.sheet.Steps() {
		if p.Pack == nil || p.Pack.Before || p.Pack.Makes == "" {
			continue
		}
		loop, ok := w.loopOf(p)
		if !ok {
			continue
		}
		for _, t := range loop.Rest.Lengths {
			if t.Name != length {
				continue
			}
			if per, err := t.Coef.Inverse(); err == nil {
				note("the "+strings.TrimPrefix(p.Name, "the "), w.tolerance(p).Times(two).Times(per).Abs())
			}
		}
	}
	return feeds, room
}

// loopOf is the loop that gives a pack.
func (w *worker) loopOf(st *sheet.Step) (network.Loop, bool) {
	wd, _ := w.sheet.WantedNamed(st.Pack.Makes)
	form, err := w.sheet.Target(wd)
	if err != nil {
		return network.Loop{}, false
	}
	loop, err := network.Solve(form, st.Pack.Length)
	return loop, err == nil
}
