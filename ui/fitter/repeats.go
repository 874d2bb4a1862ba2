package fitter

import (
	"fmt"
	"strings"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/ring"
)

// repeatLines are the presses of the step by spot, what they must keep, and
// what is wanted still.
func repeatLines(v *view, r *overhaul.Result) []line {
	if r.Check != nil {
		return append(limitLine(v, r), pointLines(v, r)...)
	}
	return append(limitLine(v, r), slotLines(v, r, r.Step.Measure.Agree)...)
}

// slotLines are the presses that a step without spots wants, with those that
// are in and how far they lie apart.
func slotLines(v *view, r *overhaul.Result, agree quantity.Value) []line {
	var fresh []overhaul.Press
	var stale []string
	for _, p := range r.Presses {
		if p.Stale {
			stale = append(stale, v.asSent(p.Entry.Value))
		} else {
			fresh = append(fresh, p)
		}
	}
	var out []line
	for i := range max(len(r.Step.Slots()), len(fresh)) {
		l := line{{fmt.Sprintf("press %d   ", i+1), plain}}
		switch {
		case i < len(fresh):
			l = append(l, span{v.asSent(fresh[i].Entry.Value), strong}, span{"   " + takenWord(fresh[i]), plain})
		case i == len(fresh):
			l = append(l, span{"____   <== next", strong})
		default:
			l = append(l, span{"____", plain})
		}
		out = append(out, l)
	}
	if len(fresh) > 1 {
		out = append(out, say("range "+rangeOf(v, r.Presses)+", at most "+v.inUnit(agree)))
	} else if len(r.Step.Slots()) > 1 {
		out = append(out, say("to agree within "+v.inUnit(agree)))
	}
	if len(stale) > 0 {
		out = append(out, toned(warn, "(~) STALE "+strings.Join(stale, " ")))
	}
	return out
}

// takenWord is how a press that counts came: KEYED stays with it.
func takenWord(p overhaul.Press) string {
	if p.Entry.Keyed {
		return "KEYED"
	}
	return "taken"
}

// limitLine is the window that a press must keep, and a check's limits.
func limitLine(v *view, r *overhaul.Result) []line {
	w, ok := r.Step.Window()
	if !ok {
		return nil
	}
	if r.Check == nil || r.Check.Band == nil || w.Low.Unit().Dimension() != quantity.Length {
		return []line{say("window " + v.asSent(w.Low) + " .. " + v.inUnit(w.High))}
	}
	u, places := v.bandUnit(r)
	b := r.Check.Band
	limits := line{{fmt.Sprintf("limits %s .. %s", b.Low.Show(u, places), b.High.ShowUnit(u, places)), strong}}
	if r.Check.Verdict != ring.NotJudged {
		return []line{limits}
	}
	// Two lines: a limit is never cut.
	return []line{say("window " + v.asSent(w.Low) + " .. " + v.inUnit(w.High)), limits}
}

// rangeOf is highest less lowest of the presses that are not stale.
func rangeOf(v *view, presses []overhaul.Press) string {
	var low, high quantity.Exact
	first := true
	for _, p := range presses {
		if p.Stale {
			continue
		}
		x := p.Entry.Value.Exact()
		if first || x.Less(low) {
			low = x
		}
		if first || high.Less(x) {
			high = x
		}
		first = false
	}
	return v.length(high.Sub(low))
}
