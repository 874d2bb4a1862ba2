package overhaul

import (
	"fmt"

	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
)

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
			l.Leaf.Ref, l.Leaf.Kind = e.Ref, LeafMark
			f = sum(st.Name, Term{quantity.Whole(1), l})
		default:
			l := leaf("mark", "mark:"+st.Name, "marked on the part", e.Value)
			l.Leaf.Ref, l.Leaf.Kind = e.Ref, LeafMark
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
