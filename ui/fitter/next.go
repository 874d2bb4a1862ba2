package fitter

import (
	"fmt"
	"slices"
	"strings"

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
	case s.Job == nil && v.checking() != nil:
		return pieceCheckWords(*v.checking())
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
	if p.Now == fact.Held && unitless(p) {
		return p.Fact.Value.Digits() + " no unit"
	}
	return p.Fact.Value.String()
}

// unitless tells whether the gauge said no unit with a press; what unit it then
// counts in is the bench file's word.
func unitless(p job.Press) bool {
	return p.Fact.Value != nil && !p.Fact.UnitStated && !p.Fact.Keyed()
}

// nextAt is what the open step wants.
func nextAt(v *view, r *overhaul.Result) string {
	if g := v.checking(); g != nil {
		return pieceCheckWords(*g)
	}
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
		if v.conceded(r) != nil {
			return letBeWords(v, r)
		}
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
	if said := v.saidBeside(); said != nil && said.Press.Outcome == fact.Held && said.Press.Do != "" {
		return said.Press.Do
	}
	if g := v.gauge(r.Step.Gauge); g != nil && g.Next == "zero" {
		return fmt.Sprintf("ZERO CHECK: set %s to nought as the sheet says and press. z takes that back.", g.ID)
	}
	if n, ok := v.need(); ok && n.Said.IsZero() {
		return strings.TrimSuffix(n.Words, ".") + " b says so."
	}
	return ""
}

// pieceCheckWords: the next press of a gauge is a reading on a certified piece.
func pieceCheckWords(g bench.GaugeState) string {
	return fmt.Sprintf("PIECE CHECK: set %s on %s and press. m p takes that back.", g.ID, g.Next)
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
	on := v.nextOpen(r)
	if on == nil {
		return "This step is done, and so is every other."
	}
	out := "This step is done. Enter goes on to " + on.Step.Name
	if r.Step.Pack != nil && r.Step.Gauge != "" {
		return out + "; a press begins to measure another pack."
	}
	return out + "; a takes it again."
}

// nextOpen is the next step that wants something, from a step on and round; nil
// where there is none.
func (v *view) nextOpen(from *overhaul.Result) *overhaul.Result {
	steps := v.snap.Results.Steps
	at := slices.Index(steps, from)
	for n := range steps {
		if r := steps[(at+n)%len(steps)]; !v.settled(r) {
			return r
		}
	}
	return nil
}

// settled tells whether a step wants nothing more: it is done, or was let be.
func (v *view) settled(r *overhaul.Result) bool {
	return r.Status == overhaul.Done || v.conceded(r) != nil
}

func isLast(v *view, p job.Press) bool { return v.snap.Last == nil || v.snap.Last.Seq == p.Seq }

func missingWords(v *view, r *overhaul.Result, missing string) string {
	if _, piece := v.snap.Job.InUse(r.Step); piece != "" || v.packAsked() == "" {
		return missing + ": Enter, then the number."
	}
	return fmt.Sprintf("Is the %s IN while this is measured? y or n", v.packAsked())
}

// letBeWords are for a step that a concession lets be.
func letBeWords(v *view, r *overhaul.Result) string {
	if on := v.nextOpen(r); on != nil {
		return "Let be by concession. Enter goes on to " + on.Step.Name + "; a takes it again."
	}
	return "Let be by concession, and every other step is done. a takes it again."
}

func heldWords(v *view, r *overhaul.Result) string {
	switch {
	case r.Check != nil && r.Check.Ring != nil && r.Check.Ring.Window.Empty():
		return "No shim will do. Mend the spread (run-out, burrs, bolts), then a takes it again."
	case r.Check != nil && r.Check.Ring != nil:
		if c := r.Check; c.Reshim != nil && len(c.Reshim.Plans) > 0 {
			return "Decide: v shows the re-shim in full, g makes that move, a takes it again."
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
	if waitsForWarmth(r) && v.snap.Job.Entries().Temperatures == nil {
		return "Say how warm part and standards are: m, then Enter."
	}
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
	if r.Left == 0 && wantsSeal(v) {
		return "Pull once with the seal in and once without, then Enter to write both down."
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
