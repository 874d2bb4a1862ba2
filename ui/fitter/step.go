package fitter

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/ingest/fact"
	"shimwright/ingest/job"
)

// The columns of the block figures: five digits and a point fit the narrow
// ones. The repeats stand right of them.
const (
	blockNarrow = 36
	blockWide   = 44
)

func refOf(p job.Press) string { return strconv.FormatInt(p.Seq, 10) }

// stepHead is the step's name and place, what to do at it, and its pieces.
func stepHead(v *view, r *overhaul.Result) []line {
	where := fmt.Sprintf("%s   step %d of %d", r.Step.Stage, v.number(r), len(v.snap.Results.Steps))
	name := line{{strings.ToUpper(r.Step.Name), strong}, {"  " + statusShape(r.Status) + " ", plain}, {strings.ToUpper(string(r.Status)), statusTone(r.Status)}}
	out := []line{ends(name, say(where), v.width)}
	if r.Step.Say != "" {
		out = append(out, lines(plain, r.Step.Say, v.width, 2)...)
	}
	if l := pieceLine(v, r); l != nil {
		out = append(out, l)
	}
	return out
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
		return "/!\\"
	case overhaul.Stale:
		return "(~)"
	}
	return "..."
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
		out = append(out, span{id + " " + p.Size.String(), strong})
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
		return append(out, span{statusShape(overhaul.Held) + " ", plain}, span{missing, warn})
	}
	return out
}

// readingLines are the block figures of the last press, what it came to, and
// the repeats beside it; of a pack, its figure and make-up.
func readingLines(v *view, r *overhaul.Result) []line {
	switch {
	case r.Status == overhaul.Stopped:
		return bigWith(v, "STOP", "", "", stop, nil)
	case r.Pack != nil:
		return packLines(v, r)
	case len(r.Step.Slots()) == 0:
		return nil
	}
	return pressLines(v, r, repeatLines(v, r))
}

// pressLines are the last press at a step with lines beside it, and what it
// came to; of a check that is judged, the verdict.
func pressLines(v *view, r *overhaul.Result, side []line) []line {
	p, ok := v.lastAt(r.Step.Name)
	if !ok {
		return sideBySide([]line{say("no press at this step yet")}, side, blockNarrow, v.width)
	}
	label := "last press, " + p.Fact.Gauge + " at " + clock(p)
	figure, unit := "-----", ""
	if p.Fact.Value != nil {
		figure, unit = p.Fact.Value.Digits(), p.Fact.Value.Unit().String()
	}
	judged := r.Check != nil && r.Check.Verdict != ring.NotJudged && r.Status != overhaul.Stale && p.Now == fact.Taken && !p.Struck
	t := outcomeTone(p)
	if judged {
		t = verdictSpan(r.Check.Verdict).tone
	}
	old := staleAt(r, p)
	if old {
		t = warn
	}
	out := bigWith(v, figure, unit, label, t, side)
	if old {
		return append(out, hanging(span{statusShape(overhaul.Stale) + " STALE", warn}, "Metal was changed after this press.", v.width, 1)...)
	}
	if judged {
		word := verdictSpan(r.Check.Verdict)
		return append(out, hanging(word, capital(r.Check.Words)+".", v.width, 2)...)
	}
	return append(out, outcomeLines(v, p)...)
}

// staleAt tells whether a press was made before metal of its step was changed.
func staleAt(r *overhaul.Result, p job.Press) bool {
	return slices.ContainsFunc(r.Presses, func(x overhaul.Press) bool { return x.Stale && x.Entry.Ref == refOf(p) })
}

// hanging puts words behind a word that stands out; further lines hang under
// them.
func hanging(word span, words string, width, most int) []line {
	n := cells(word.text) + 2
	var out []line
	for i, s := range wrap(words, width-n, most) {
		if i == 0 {
			out = append(out, line{word, {"  " + s, plain}})
			continue
		}
		out = append(out, say(strings.Repeat(" ", n)+s))
	}
	return out
}

func clock(p job.Press) string { return p.Fact.Arrived.Format("15:04:05") }

// bigWith puts a label and block figures left and other lines right of them.
func bigWith(v *view, text, unit, label string, t tone, side []line) []line {
	var left []line
	if label != "" {
		left = append(left, say(label))
	}
	wide := blockNarrow
	rows, ok := blocks(text, unit, wide-1)
	if !ok {
		wide = blockWide
		rows, ok = blocks(text, unit, wide-1)
	}
	if !ok {
		left = append(left, nil, nil, toned(strong, strings.TrimSpace(text+" "+unit)), nil, nil)
		return sideBySide(left, side, wide, v.width)
	}
	for _, row := range rows {
		left = append(left, toned(t, row))
	}
	return sideBySide(left, side, wide, v.width)
}

// sideBySide puts lines right of others, which have a number of columns.
func sideBySide(left, right []line, wide, width int) []line {
	out := make([]line, max(len(left), len(right)))
	for i := range out {
		if i < len(left) {
			out[i] = left[i]
		}
		if i < len(right) {
			out[i] = append(out[i].pad(wide), right[i].cut(width-wide)...)
		}
	}
	return out
}

func outcomeTone(p job.Press) tone {
	switch {
	case p.Struck || p.Now == fact.Aside:
		return plain
	case p.Now == fact.Held:
		return warn
	}
	return good
}

// outcomeWord is what a press came to, as shape and word.
func outcomeWord(p job.Press) string {
	switch {
	case p.Struck:
		return "[=] STRUCK"
	case p.Now == fact.Taken:
		return "(o) TAKEN"
	case p.Now == fact.Held:
		return "/!\\ HELD"
	}
	return "[-] ASIDE"
}

// outcomeLines are the word and the sentence of a press.
func outcomeLines(v *view, p job.Press) []line {
	word := outcomeWord(p)
	sentence := p.Fact.Sentence
	if p.Reason != "" {
		sentence += " " + capital(p.Reason) + "."
	}
	if p.Fact.Keyed() {
		sentence = "KEYED by hand: " + sentence
	}
	return hanging(span{word, outcomeTone(p)}, sentence, v.width, 2)
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + strings.TrimSuffix(s[1:], ".")
}

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
	var fresh, stale []string
	for _, p := range r.Presses {
		if p.Stale {
			stale = append(stale, p.Entry.Value.Digits())
		} else {
			fresh = append(fresh, p.Entry.Value.Digits())
		}
	}
	var out []line
	for i := range max(len(r.Step.Slots()), len(fresh)) {
		l := line{{fmt.Sprintf("press %d   ", i+1), plain}}
		switch {
		case i < len(fresh):
			l = append(l, span{fresh[i], strong}, span{"   taken", plain})
		case i == len(fresh):
			l = append(l, span{"____   <== next", strong})
		default:
			l = append(l, span{"____", plain})
		}
		out = append(out, l)
	}
	if len(fresh) > 1 {
		out = append(out, say("range "+rangeOf(v, r.Presses)+", at most "+agree.String()))
	} else if len(r.Step.Slots()) > 1 {
		out = append(out, say("to agree within "+agree.String()))
	}
	if len(stale) > 0 {
		out = append(out, toned(warn, "(~) STALE "+strings.Join(stale, " ")))
	}
	return out
}

// limitLine is the window that a press must keep, and a check's limits.
func limitLine(v *view, r *overhaul.Result) []line {
	w, ok := r.Step.Window()
	if !ok {
		return nil
	}
	if r.Check == nil || r.Check.Band == nil || w.Low.Unit().Dimension() != quantity.Length {
		return []line{say(fmt.Sprintf("window %s .. %s", w.Low.Digits(), w.High))}
	}
	u, places := v.bandUnit(r)
	b := r.Check.Band
	// Two lines: a limit is never cut.
	return []line{say(fmt.Sprintf("window %s .. %s", w.Low.Digits(), w.High)),
		{{fmt.Sprintf("limits %s .. %s", b.Low.Show(u, places), b.High.ShowUnit(u, places)), strong}}}
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
