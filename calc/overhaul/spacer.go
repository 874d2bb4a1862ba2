package overhaul

import (
	"shimwright/calc/remedy"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
)

// nextSpacer says what spacer to try, from the trials made so far.
func (w *worker) nextSpacer(r *Result, rough bool) string {
	st := w.setBy(r.Step.Name)
	if st == nil || r.Check.Band == nil {
		return ""
	}
	shaft, _ := w.sheet.ShaftNamed(st.Pack.Shaft)
	row, err := w.sheet.Net.Row(st.Pack.Length, shaft.Name, st.Pack.RowState(shaft))
	if err != nil || row.Float.IsZero() {
		return ""
	}
	advice, err := remedy.NextSpacer(remedy.Spacer{Name: st.Name, Float: row.Float, Trials: w.trials(r, st), Band: *r.Check.Band,
		U: r.Check.U, Rule: w.rule(), Rough: rough, Step: st.Pack.Graded.Exact(), Cap: st.Pack.AtOnce.Exact(), Show: w.display()})
	if err != nil {
		return ""
	}
	r.Check.Spacer = &advice
	if advice.Way == 0 && advice.Verdict == ring.Good {
		return ""
	}
	return advice.Words
}

// setBy is the pack that a check sets by trial.
func (w *worker) setBy(check string) *sheet.Step {
	for _, st := range w.sheet.Steps() {
		if st.Pack != nil && st.Pack.SetBy == check {
			return st
		}
	}
	return nil
}

// trials are the spacers tried, each with the torque pressed before the next
// one went in.
func (w *worker) trials(r *Result, st *sheet.Step) []remedy.Trial {
	in, fits := w.in[r.Step.Name], w.in[st.Name].fits
	arm, ok := armOf(r.Step.Check)
	drag, known := w.sealDrag(r.Step, arm)
	if !ok || !known {
		return nil
	}
	var out []remedy.Trial
	for n, fit := range fits {
		until := len(w.entries.List)
		if n+1 < len(fits) {
			until = fits[n+1]
		}
		var pulls []Press
		for i, p := range in.presses {
			if in.index[i] > fit && in.index[i] < until {
				pulls = append(pulls, p)
			}
		}
		figure := w.fitFigure(st, fit)
		if len(pulls) < r.Step.Check.Each || figure == nil || r.Check.Figure == nil {
			continue
		}
		torque := meanPress(pulls).Value.Mul(arm)
		if drag.figure != nil {
			torque = torque.Sub(drag.figure.Value)
		}
		out = append(out, remedy.Trial{Thickness: figure.Value, Torque: torque})
	}
	return out
}
