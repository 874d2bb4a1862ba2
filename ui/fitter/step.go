package fitter

import (
	"fmt"
	"strings"

	"shimwright/calc/overhaul"
	"shimwright/calc/sheet"
)

// stepHead is the step's name and place, what to do at it, and its pieces.
func stepHead(v *view, r *overhaul.Result) []line {
	where := fmt.Sprintf("%s   step %d of %d", r.Step.Stage, v.number(r), len(v.snap.Results.Steps))
	name := line{{strings.ToUpper(r.Step.Name), strong}, {"  ", plain}, v.statusSpan(r)}
	if name.cells()+2+cells(where) > v.width { // a step's name goes before its place
		where = fmt.Sprintf("%d of %d", v.number(r), len(v.snap.Results.Steps))
	}
	out := []line{ends(name, say(where), v.width)}
	sayWords := r.Step.Say
	if w := facesWords(v, r); w != "" && r.Step.Kind == sheet.KindMeasure {
		if sayWords != "" {
			sayWords += ": "
		}
		sayWords += w
	}
	if sayWords != "" {
		out = append(out, lines(plain, sayWords, v.width, 2)...)
	}
	if l := pieceLine(v, r); l != nil {
		out = append(out, l)
	}
	return append(out, needLine(v, r)...)
}

func statusTone(s overhaul.Status) tone {
	switch s {
	case overhaul.Done:
		return good
	case overhaul.Stopped:
		return stop
	case overhaul.Held, overhaul.Stale:
		return warn
	}
	return plain
}

// statusShape stands beside the word, for a look from afar.
func statusShape(s overhaul.Status) string {
	switch s {
	case overhaul.Done:
		return "(o)"
	case overhaul.Stopped:
		return "[X]"
	case overhaul.Held:
		return "[?]"
	case overhaul.Stale:
		return "(~)"
	}
	return "..."
}

// statusWord is how a step stands, in a word. HELD is said of presses alone: a
// check that failed, a pack that is not the one wanted and a figure that is not
// believed, of a pack not made yet too, have words of their own.
func statusWord(r *overhaul.Result) string {
	switch {
	case r.Status != overhaul.Held:
		return strings.ToUpper(string(r.Status))
	case r.Check != nil:
		return "NOT PASSED"
	case r.Pack != nil && (r.Pack.Fitted != nil || len(r.Presses) > 0):
		return "PACK NOT RIGHT"
	}
	return "IN DOUBT"
}

// statusSpan is a step's word with its shape.
func (v *view) statusSpan(r *overhaul.Result) span {
	if v.onHold(r) {
		return span{"/!\\ ON HOLD", warn}
	}
	return span{statusShape(r.Status) + " " + statusWord(r), statusTone(r.Status)}
}

// pieceLine says which pieces stand in the setup and which packs are in; nil
// where the step has neither.
func pieceLine(v *view, r *overhaul.Result) line {
	if r.Step.Measure == nil {
		return nil
	}
	var out line
	gap := func() {
		if len(out) > 0 {
			out = append(out, span{"  ", plain})
		}
	}
	in, missing := v.pieces(r)
	role := ""
	for _, id := range in {
		p, ok := v.snap.Job.Piece(id)
		if !ok {
			continue
		}
		gap()
		if p.Standard != role { // twins share the word
			role = p.Standard
			out = append(out, span{role + " ", plain})
		}
		out = append(out, span{id + " " + v.inUnit(p.Size), strong})
	}
	said := v.packsSaid(r.Step.Name)
	for _, pack := range r.Step.Measure.AskIn {
		if is, ok := said[pack]; ok {
			word := "NOT IN"
			if is {
				word = "IN"
			}
			gap()
			out = append(out, span{pack + " ", plain}, span{word, strong})
		}
	}
	if missing != "" && v.packAsked() == "" {
		gap()
		return append(out, span{"/!\\ ", plain}, span{missing, warn})
	}
	return out
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + strings.TrimSuffix(s[1:], ".")
}

// onHold tells whether a step that is not done, or its whole job, is on hold.
func (v *view) onHold(r *overhaul.Result) bool {
	_, held := v.snap.Job.HoldOn(r.Step.Name)
	return held && r.Status != overhaul.Done
}
