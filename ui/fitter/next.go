package fitter

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"shimwright/calc/overhaul"
	"shimwright/calc/sheet"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ingest/job"
)

// next is the one thing to do now, in one sentence.
func next(v *view) string {
	s := v.snap
	switch {
	case v.leaving:
		if v.leavingWords != "" {
			return "Leave the screen? y leaves, n stays. " + v.leavingWords
		}
		return "Leave the screen? y leaves, n stays. Nothing is lost; the job is taken up where it is."
	case v.striking != 0:
		return strikeWords(v)
	case s.Job == nil:
		if len(s.Open) > 0 {
			return "j chooses a job to go on with; o opens another one."
		}
		return "Press o to open a job."
	case s.Trouble != "":
		return "That press was NOT RECORDED. See to what is said above, then press again."
	case v.shown() == nil:
		return "All done. w shows the whole job with its sums, o opens the next job."
	}
	return nextAt(v, v.shown())
}

func strikeWords(v *view) string {
	p, ok := v.snap.Job.Press(v.striking)
	if !ok {
		return "Backspace again strikes the last press."
	}
	return fmt.Sprintf("Backspace again STRIKES %s at %s. Any other key leaves it.", pressFigure(p), p.Fact.Step)
}

func pressFigure(p job.Press) string {
	if p.Fact.Value == nil {
		return "no number"
	}
	return p.Fact.Value.String()
}

// nextAt is what the open step wants.
func nextAt(v *view, r *overhaul.Result) string {
	if p, ok := v.lastAt(r.Step.Name); ok && !p.Struck && p.Now != fact.Taken && p.Fact.Do != "" && isLast(v, p) && (p.Now == fact.Held || r.Left > 0) {
		return p.Fact.Do
	}
	if _, missing := v.pieces(r); missing != "" {
		return missingWords(v, r, missing)
	}
	if w := beforePress(v, r); w != "" {
		return w
	}
	switch r.Status {
	case overhaul.Done:
		return doneWords(v, r)
	case overhaul.Stopped:
		return "STOP here. Find the wrong reading, mark or piece (s shows the sum, ↑ goes back to it)."
	case overhaul.Held:
		return heldWords(v, r)
	}
	return wantsWords(v, r)
}

// beforePress is what keeps a press from counting, or what it is for; "" where
// nothing does.
func beforePress(v *view, r *overhaul.Result) string {
	if h, held := v.snap.Job.HoldOn(r.Step.Name); held {
		return "ON HOLD: " + strings.TrimSuffix(h.Reason, ".") + ". h lifts the hold."
	}
	if r != v.snap.Step || r.Left == 0 {
		return ""
	}
	if g := v.gauge(r.Step.Gauge); g != nil && g.Next == "zero" {
		return fmt.Sprintf("ZERO CHECK: set %s to nought as the sheet says and press. z takes that back.", g.ID)
	}
	if n, ok := v.need(); ok && n.Said.IsZero() {
		return strings.TrimSuffix(n.Words, ".") + " b says so."
	}
	return ""
}

// need is what a person is to say of the open step: the first that nobody said
// yet, else the first; false where it asks nothing.
func (v *view) need() (bench.Need, bool) {
	for _, n := range v.snap.Needs {
		if n.Said.IsZero() {
			return n, true
		}
	}
	if len(v.snap.Needs) > 0 {
		return v.snap.Needs[0], true
	}
	return bench.Need{}, false
}

// needLine says what was said of the bearings and when; nil where nothing was.
func needLine(v *view, r *overhaul.Result) []line {
	if r != v.snap.Step {
		return nil
	}
	var out line
	for _, n := range v.snap.Needs {
		if !n.Said.IsZero() {
			out = append(out, span{n.Need + ": yes, " + ago(v.now.Sub(n.Said)) + "  ", plain})
		}
	}
	if out == nil {
		return nil
	}
	return []line{out}
}

// doneWords are for a step that was chosen though it is done.
func doneWords(v *view, r *overhaul.Result) string {
	on := nextOpen(v.snap.Results, r)
	if on == nil {
		return "This step is done, and so is every other."
	}
	out := "This step is done. Enter goes on to " + on.Step.Name
	if r.Step.Pack != nil && r.Step.Gauge != "" {
		return out + "; a press begins to measure another pack."
	}
	return out + "; a takes it again."
}

// nextOpen is the next step that is not done, from a step on and round; nil
// where there is none.
func nextOpen(res *overhaul.Results, from *overhaul.Result) *overhaul.Result {
	at := slices.Index(res.Steps, from)
	for n := range res.Steps {
		if r := res.Steps[(at+n)%len(res.Steps)]; r.Status != overhaul.Done {
			return r
		}
	}
	return nil
}

func isLast(v *view, p job.Press) bool { return v.snap.Last == nil || v.snap.Last.Seq == p.Seq }

func missingWords(v *view, r *overhaul.Result, missing string) string {
	if _, piece := v.snap.Job.InUse(r.Step); piece != "" || v.packAsked() == "" {
		return missing + ": Enter, then the number."
	}
	return fmt.Sprintf("Is the %s IN while this is measured? y or n", v.packAsked())
}

func heldWords(v *view, r *overhaul.Result) string {
	switch {
	case r.Check != nil && r.Check.Ring != nil && r.Check.Ring.Window.Empty():
		return "No shim will do. Mend the spread (run-out, burrs, bolts), then a takes it again."
	case r.Check != nil && r.Check.Ring != nil:
		if c := r.Check; c.Reshim != nil && len(c.Reshim.Plans) > 0 {
			return "Decide: v shows the re-shim in full, g asks for it, a takes the backlash again."
		}
		return "Decide: v shows the ring, g moves a gear by its packs, a takes it again."
	case r.Check != nil && len(r.Step.Check.Flanks) > 0:
		return "Decide: g moves a gear by its packs, Enter says anew what is seen."
	case r.Check != nil && r.Check.Advice != "":
		first, _, _ := strings.Cut(r.Check.Advice, ". ")
		return strings.TrimSuffix(first, ".") + ". ↑ ↓ chooses its step; a takes this one again."
	case r.Pack != nil && r.Pack.Fitted != nil:
		return "Make the pack up again, measure it, fit it: Enter."
	case r.Step.Measure != nil && strings.Contains(r.Problem, "which piece"):
		return "Read the number on the piece: d says which one stands there, then a takes this step again."
	case r.Step.Gauge != "":
		return "Clean and reseat, then key a: take this step again."
	}
	return "See to what is said above (w shows the sum)."
}

// wantsWords is what a step wants that nothing is wrong with.
func wantsWords(v *view, r *overhaul.Result) string {
	switch r.Step.Kind {
	case sheet.KindMark:
		return "Read the mark, then Enter to write it down."
	case sheet.KindRecord:
		if strings.HasSuffix(r.Wants, " first") {
			return "First " + strings.TrimSuffix(r.Wants, " first") + ": ↑ ↓ chooses it."
		}
		return "Read it, then Enter to write it down."
	case sheet.KindConfirm:
		return "Do it, then Enter."
	case sheet.KindPack:
		return packWants(v, r)
	}
	if r.Step.Gauge == "" {
		return "Look at the flanks, then Enter to say what is seen."
	}
	if r.Left == 0 {
		return "First " + strings.TrimPrefix(r.Wants, "its limits: ") + ": ↑ ↓ chooses it."
	}
	return pressWords(v, r)
}

func packWants(v *view, r *overhaul.Result) string {
	p, makeup := r.Pack, "Make up the pack"
	if p.Makeup != nil && len(p.Makeup.Packs) > 0 {
		makeup = "Make up " + p.Makeup.Packs[0].String()
	}
	known := r.Step.Pack.Before || r.Step.Pack.Makes == ""
	if known {
		makeup = "Fit it"
	}
	none := p.Makeup != nil && len(p.Makeup.Packs) == 0 && len(r.Presses) == 0
	switch {
	case !known && none:
		return "No pack of this stock will do: v shows what comes near. Order the leaf, have one ground, or ask the lead."
	case !known && p.Worked == nil:
		return capital(r.Wants) + ": ↑ ↓ chooses it."
	case r.Step.Pack.Presses == 0 && known:
		return "Fit it and measure it, then Enter to write it down."
	case r.Step.Pack.Presses == 0:
		return makeup + ", measure it, fit it, then Enter."
	case r.Left > 0 && len(r.Presses) == 0 && !known:
		return makeup + ", then " + pressWords(v, r)
	case r.Left > 0:
		return pressWords(v, r)
	}
	return "FIT this pack" + fitWords(r.Wants) + ", then Enter."
}

// fitWords is what the pack measured, out of what the step wants.
func fitWords(wants string) string {
	if m, ok := strings.CutPrefix(wants, "fit it: measured "); ok {
		return " of " + m
	}
	return ""
}

// pressWords say which gauge to press, where, and how often still.
func pressWords(v *view, r *overhaul.Result) string {
	g := v.gauge(r.Step.Gauge)
	switch {
	case g == nil:
		return fmt.Sprintf("This bench has no %s: add it to the bench file, or k keys a reading in.", r.Step.Gauge)
	case g.State == "gone" || g.State == "refused":
		return fmt.Sprintf("%s, the %s, is %s: %s", g.ID, r.Step.Gauge, strings.ToUpper(g.State), gaugeAdvice(*g))
	}
	all := len(r.Step.Slots())
	out := "PRESS the " + r.Step.Gauge
	if r.Spot != "" {
		out += " at " + r.Spot
	}
	if r.Step.Pack != nil {
		out += " over the pack"
	}
	if all > 1 {
		out += fmt.Sprintf(": press %d of %d", all-r.Left+1, all)
	}
	if r.Status == overhaul.Stale && r.Pack == nil {
		out = "Take it again: " + out
	}
	return out + "."
}

func gaugeAdvice(g bench.GaugeState) string {
	if g.State == "gone" {
		return "plug it in and check its zero. Nothing is lost."
	}
	if g.Words != "" {
		return g.Words
	}
	return "look at its cable and the bench file."
}

// footLines are what is next, the gauges, the last press, the form or what the
// bench answered, and the keys.
func footLines(v *view) []line {
	var out []line
	words, most := next(v), 2
	if v.form != nil {
		words, most = v.form.question(), 5 // a choice may be long
	}
	for i, s := range wrap(words, v.width-5, most) {
		mark := ">>> "
		if i > 0 {
			mark = "    "
		}
		out = append(out, line{{" " + mark + s, bar}}.pad(v.width))
	}
	out = append(out, gaugeLines(v)...)
	out = append(out, answerLine(v))
	return append(out, keyLines(v)...)
}

// answerLine is what is being typed, what the bench answered, or else the last
// press.
func answerLine(v *view) line {
	switch {
	case v.form != nil:
		return v.form.line(v.width)
	case v.busy && !v.note.bad:
		return say("... writing it down")
	case v.note.bad:
		return line{{"/!\\ " + v.note.text, warn}}
	case v.note.text != "":
		return say("Bench: " + v.note.text)
	}
	return lastLine(v)
}

// gaugeLines say how the gauges stand: the wanted one first.
func gaugeLines(v *view) []line {
	kind := ""
	if r := v.shown(); r != nil {
		kind = r.Step.Gauge
	}
	var first line
	var others []line
	for _, g := range v.snap.Gauges {
		l := gaugeWords(v, g, g.Kind == kind)
		if g.Kind == kind {
			first = append(first, l...)
		} else {
			others = append(others, l)
		}
	}
	if kind == "" {
		return flow("Gauges: ", others, v.width, 2)
	}
	if first == nil {
		first = line{{statusShape(overhaul.Stopped) + " none on this bench", warn}}
	}
	return append([]line{append(line{{"Wanted: ", plain}, {kind + "  ", strong}}, first...)}, flow("Others: ", others, v.width, 1)...)
}

// flow sets lines one behind the other on so many rows; what does not fit on
// the last is cut there.
func flow(head string, of []line, width, rows int) []line {
	out := []line{{{head, plain}}}
	for _, l := range of {
		at := &out[len(out)-1]
		if at.cells()+l.cells() > width && len(out) < rows {
			out = append(out, line{{strings.Repeat(" ", cells(head)), plain}})
			at = &out[len(out)-1]
		}
		*at = append(*at, l...)
	}
	return out
}

// gaugeWords is one gauge: its name, how it stands, and for the wanted one when
// it was last heard.
func gaugeWords(v *view, g bench.GaugeState, wanted bool) line {
	state, t := "(o) connected", good
	switch g.State {
	case "gone":
		state, t = "/!\\ GONE", warn
	case "refused":
		state, t = "[X] REFUSED", warn
	case "quiet":
		state, t = "(-) quiet", plain
	case "starting":
		state, t = "... starting", plain
	}
	switch {
	case !wanted && g.State == "connected":
		state = "(o)"
	case !wanted && g.State == "starting":
		state = "... start" // four of them stand on one line
	}
	out := line{{g.ID + " ", strong}, {state, t}}
	if g.Battery {
		out = append(out, span{" BATTERY LOW", warn})
	}
	if wanted && g.State == "connected" && !g.LastAt.IsZero() {
		out = append(out, span{", heard " + age(v, g), plain})
	}
	return append(out, span{"   ", plain})
}

// age is how long ago a gauge was heard.
func age(v *view, g bench.GaugeState) string { return ago(v.now.Sub(g.LastAt)) }

func ago(d time.Duration) string {
	switch {
	case d < 0:
		return "just now"
	case d.Seconds() < 120:
		return fmt.Sprintf("%.0f s ago", d.Seconds())
	case d.Minutes() < 120:
		return fmt.Sprintf("%.0f min ago", d.Minutes())
	}
	return fmt.Sprintf("%.0f h ago", d.Hours())
}

// lastLine is the last press of the bench and where it went.
func lastLine(v *view) line {
	p, ok := v.newest()
	if !ok {
		return say("Last: no press yet")
	}
	stray := ""
	if before, hides := v.before(p); hides {
		// One put aside does not take the place of the press that counts.
		p, stray = before, ", then "+outcomeWord(p)
	}
	f := p.Fact
	out := line{{"Last: " + clock(p) + " ", plain}, {pressFigure(p), strong}, {" from " + f.Gauge, plain}}
	if f.Step != "" {
		out = append(out, span{" at " + strings.TrimSpace(f.Step+" "+f.Spot), plain})
	}
	out = append(out, span{"  ", plain}, span{outcomeWord(p), outcomeTone(p)})
	if stray != "" {
		return append(out, span{stray, plain})
	}
	return append(out, span{" [" + beepWords(f.Outcome) + "]", plain})
}

// before is the press that counts directly before one that was put aside at the
// same step; false where there is none.
func (v *view) before(p job.Press) (job.Press, bool) {
	if p.Now != fact.Aside || p.Struck || p.Fact.Step == "" || v.snap.Job == nil {
		return job.Press{}, false
	}
	for _, x := range slices.Backward(v.snap.Job.Presses) {
		switch {
		case x.Seq >= p.Seq || x.Now == fact.Aside && !x.Struck:
		default:
			return x, x.Fact.Step == p.Fact.Step && counts(x)
		}
	}
	return job.Press{}, false
}

// newest is the last press of the bench as it counts now; where the bench was
// started since, that of the job.
func (v *view) newest() (job.Press, bool) {
	last := v.snap.Last
	if last == nil {
		if v.snap.Job == nil || len(v.snap.Job.Presses) == 0 {
			return job.Press{}, false
		}
		return v.snap.Job.Presses[len(v.snap.Job.Presses)-1], true
	}
	if v.snap.Job != nil {
		if now, ok := v.snap.Job.Press(last.Seq); ok {
			return now, true
		}
	}
	return job.Press{Seq: last.Seq, Fact: last.Press, Now: last.Press.Outcome}, true
}
