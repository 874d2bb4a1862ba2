package fitter

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
	"shimwright/ingest/fact"
	"shimwright/ingest/job"
)

// The columns of the block figures: five digits and a point fit the narrow
// ones. The repeats stand right of them.
const (
	blockNarrow = 36
	blockWide   = 44
	setupWide   = 50 // of a setup's drawing
)

func refOf(p job.Press) string { return strconv.FormatInt(p.Seq, 10) }

// stepHead is the step's name and place, what to do at it, and its pieces.
func stepHead(v *view, r *overhaul.Result) []line {
	where := fmt.Sprintf("%s   step %d of %d", r.Step.Stage, v.number(r), len(v.snap.Results.Steps))
	name := line{{strings.ToUpper(r.Step.Name), strong}, {"  ", plain}, statusSpan(r)}
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
// believed have words of their own.
func statusWord(r *overhaul.Result) string {
	switch {
	case r.Status != overhaul.Held:
		return strings.ToUpper(string(r.Status))
	case r.Check != nil:
		return "NOT PASSED"
	case r.Pack != nil:
		return "PACK NOT RIGHT"
	}
	return "IN DOUBT"
}

// statusSpan is a step's word with its shape.
func statusSpan(r *overhaul.Result) span {
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

// readingLines are the block figures of the last press, what it came to, and
// the repeats beside it; of a pack, its figure and make-up; of a ring that is
// judged, the ring.
func readingLines(v *view, r *overhaul.Result) []line {
	switch {
	case r.Status == overhaul.Stopped:
		return bigWith(v, "STOP", "", "", stop, freshLines(v))
	case r.Pack != nil:
		return packLines(v, r)
	case len(r.Step.Slots()) == 0:
		if fresh := freshLines(v); fresh != nil {
			return sideBySide(nil, fresh, 2, v.width)
		}
		return nil
	}
	return pressLines(v, r, repeatLines(v, r))
}

// pressLines are the last press at a step with lines beside it, and what it
// came to; of a check that is judged, its figure or its ring and the verdict.
func pressLines(v *view, r *overhaul.Result, side []line) []line {
	if fresh := freshLines(v); fresh != nil && v.scale() == 1 {
		side = fresh
	} else if fresh != nil {
		side = append(side, fresh...)
	}
	p, stray, ok := v.shownPress(r)
	if !ok {
		return append(notPressed(v, r, side), strayLines(v, stray)...)
	}
	judged := r.Check != nil && r.Check.Verdict != ring.NotJudged && r.Status != overhaul.Stale && p.Now == fact.Taken && !p.Struck
	if judged {
		return append(judgedLines(v, r, side), strayLines(v, stray)...)
	}
	label := "last press, " + p.Fact.Gauge + " at " + clock(p)
	figure, unit := "-----", ""
	if p.Fact.Value != nil {
		figure, unit = v.asSent(*p.Fact.Value), p.Fact.Value.Unit().String()
		if figure != p.Fact.Value.Digits() {
			u, _ := v.lengthUnit()
			unit, label = u.String(), label+", sent "+p.Fact.Value.String()
		}
	}
	if p.Now == fact.Held && p.Fact.Value != nil && !p.Fact.UnitStated && !p.Fact.Keyed() {
		unit = "no unit"
	}
	old := staleAt(r, p)
	t := outcomeTone(p)
	if old || r.Status == overhaul.Held {
		t = warn
	}
	out := bigWith(v, figure, unit, label, t, side)
	if old {
		return append(out, hanging(span{statusShape(overhaul.Stale) + " STALE", warn}, "Metal was changed after this press.", v.width, 1)...)
	}
	return append(append(out, outcomeLines(v, p)...), strayLines(v, stray)...)
}

// shownPress is the press whose figure is shown at a step: the newest that
// counts or wants a decision. One that was put aside after it is told below; it
// does not take the figure's place.
func (v *view) shownPress(r *overhaul.Result) (shown job.Press, stray *job.Press, ok bool) {
	last, ok := v.lastAt(r.Step.Name)
	if !ok || last.Now != fact.Aside || last.Struck {
		return last, nil, ok
	}
	begun := v.snap.Job.Begun(r.Step.Name)
	for _, p := range slices.Backward(v.snap.Job.Presses) {
		if p.Fact.Step == r.Step.Name && p.Seq > begun && counts(p) && !v.begunAnew(r.Step.Name, p) {
			return p, &last, true
		}
	}
	return last, nil, true
}

// strayLines tell of a press that was put aside after the one shown.
func strayLines(v *view, p *job.Press) []line {
	if p == nil {
		return nil
	}
	return outcomeLines(v, *p)
}

// notPressed is a step before its first press: how it is set up, where that
// can be drawn.
func notPressed(v *view, r *overhaul.Result, side []line) []line {
	if draws := setupLines(v, r, setupWide-1); draws != nil {
		return sideBySide(draws, side, setupWide, v.width)
	}
	if d, ok := v.ring(r); ok && v.height >= 36 {
		return sideBySide(drawn(d.Rows(v.look(ringWide, ringHigh))), side, ringWide+1, v.width)
	}
	return sideBySide([]line{say("no press at this step yet")}, side, blockNarrow, v.width)
}

// judgedLines are a check that is judged: its ring, or the figure that was
// judged in block figures, and the verdict.
func judgedLines(v *view, r *overhaul.Result, side []line) []line {
	word := verdictSpan(r.Check.Verdict)
	verdict := hanging(word, capital(r.Check.Words)+".", v.width, 2)
	if d, ok := v.ring(r); ok {
		wide := max(ringWide-8, v.width-46)
		rows := drawn(d.Wheel(v.look(wide, min(ringHigh+2, max(9, v.height-25)))))
		return append(sideBySide(rows, append(side, lowLine(v, r)...), wide+1, v.width), verdict...)
	}
	f := r.Check.Figure
	if f == nil {
		return append(side, verdict...)
	}
	u, places := v.unitOf(f)
	return append(bigWith(v, f.Value.Show(u, bigPlaces(u, places)), u.String(), f.Name, word.tone, side), verdict...)
}

// lowLine is where the curve of a ring is lowest, marked L in its drawing.
func lowLine(v *view, r *overhaul.Result) []line {
	f := r.Check.Ring
	if f == nil || f.Fit.Once.Sight != ring.Whole {
		return nil
	}
	u, places := v.bandUnit(r)
	at := ""
	if f.Fit.Low.At.Known {
		at = fmt.Sprintf(" at %.0f deg", f.Fit.Low.At.Degrees)
	}
	return []line{say("L lowest " + f.Fit.Low.Value.ShowUnit(u, places) + at)}
}

// bigPlaces is how many decimals a block figure has: two are enough for a
// torque or a force; the sum shows them all.
func bigPlaces(u quantity.Unit, places int32) int32 {
	if u.Dimension() != quantity.Length {
		return min(places, 2)
	}
	return places
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

// scale is how large the block figures are: twice where the window has the room.
func (v *view) scale() int {
	if v.width >= 2*blockWide && v.height >= 36 {
		return 2
	}
	return 1
}

// bigWith puts a label and block figures left and other lines right of them, or
// below them where they are large.
func bigWith(v *view, text, unit, label string, t tone, side []line) []line {
	var left []line
	if label != "" {
		left = append(left, say(label).cut(v.width))
	}
	if v.scale() > 1 {
		if rows, ok := blocks(text, unit, v.width, 2, v.ascii); ok {
			for _, row := range rows {
				left = append(left, toned(t, row))
			}
			return append(left, side...)
		}
	}
	wide := blockNarrow
	rows, ok := blocks(text, unit, wide-1, 1, v.ascii)
	if !ok {
		wide = blockWide
		rows, ok = blocks(text, unit, wide-1, 1, v.ascii)
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

// aSecond is how long the word of a press stays large.
const aSecond = time.Second

// freshLines are what the newest press came to, in block letters, while it is
// not a second old; nil after that.
func freshLines(v *view) []line {
	last := v.snap.Last
	if last == nil || v.saidAt.IsZero() || v.now.Sub(v.saidAt) >= aSecond || v.now.Before(v.saidAt) {
		return nil
	}
	p := job.Press{Seq: last.Seq, Fact: last.Press, Now: last.Press.Outcome}
	word := map[fact.Outcome]string{fact.Taken: "TAKEN", fact.Held: "HELD", fact.Aside: "ASIDE"}[p.Now]
	rows, ok := blocks(word, "", blockNarrow, 1, v.ascii)
	if !ok {
		return nil
	}
	out := []line{say(shapeOf(p.Now) + " " + pressFigure(p) + ", " + beepWords(p.Now))}
	for _, row := range rows {
		out = append(out, toned(outcomeTone(p), row))
	}
	return append(out, say("at "+strings.TrimSpace(last.Press.Step+" "+last.Press.Spot)))
}

func shapeOf(o fact.Outcome) string {
	switch o {
	case fact.Taken:
		return "(o)"
	case fact.Held:
		return "/!\\"
	}
	return "[-]"
}

func beepWords(o fact.Outcome) string {
	if n := beeps(o); n > 1 {
		return fmt.Sprintf("%d beeps", n)
	}
	return "1 beep"
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
