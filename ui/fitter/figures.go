package fitter

import (
	"fmt"
	"strings"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
	"shimwright/ingest/fact"
	"shimwright/ingest/job"
)

// packLines are a pack's figure in block figures with what it is made up of
// beside it; once it is measured by presses, the last of them.
func packLines(v *view, r *overhaul.Result) []line {
	p := r.Pack
	side := packSide(v, r)
	if r.Step.Pack.Presses > 0 && (r.Left > 0 || len(r.Presses) > 0) && r.Status != overhaul.Done {
		slots := slotLines(v, r, r.Step.Pack.Agree)
		if at, ok := v.lastAt(r.Step.Name); ok && sinceFit(r, at) {
			if p.Worked != nil {
				side = []line{{{"to make ", plain}, {v.figure(p.Worked), strong}}}
				if p.Makeup != nil && len(p.Makeup.Packs) > 0 {
					side = append(side, lines(plain, p.Makeup.Packs[0].String(), v.width-blockNarrow, 1)...)
				}
			}
			return pressLines(v, r, append(side, slots...))
		}
		side = append(side, slots...)
	}
	f, label := p.Worked, "make this pack"
	if p.Fitted != nil && (r.Status == overhaul.Done || p.Worked == nil) {
		f, label = p.Fitted, "fitted"
	}
	if f == nil && len(side) > 0 {
		return sideBySide([]line{say("not measured yet")}, side, blockNarrow, v.width)
	}
	if f == nil {
		return nil
	}
	u, places := v.unitOf(f)
	return bigWith(v, f.Value.Show(u, places), u.String(), label, strong, side)
}

// sinceFit tells whether a press belongs to the pack that is being measured
// now: one that counts there, or one that is newer than those.
func sinceFit(r *overhaul.Result, p job.Press) bool {
	return len(r.Presses) > 0 || r.Pack.Fitted == nil || p.Now != fact.Taken
}

// packSide is the make-up and what is fitted.
func packSide(v *view, r *overhaul.Result) []line {
	p := r.Pack
	wide := v.width - blockNarrow
	var out []line
	if p.Worked != nil && p.Fitted != nil {
		out = append(out, say("worked "+v.figure(p.Worked)), say("fitted "+v.figure(p.Fitted)+", "+offWords(v, p.Error)))
	}
	switch {
	case p.NoTray:
		out = append(out, lines(warn, "The stock that the sheet names is not on this bench: no make-up.", wide, 3)...)
	case p.Makeup == nil:
	case len(p.Makeup.Packs) == 0:
		out = append(out, toned(stop, "NO PACK of this stock will do"))
		if o := p.Makeup.Order; o != nil {
			out = append(out, say("a leaf of "+v.length(o.Size)+" would make it"))
		}
	default:
		best := p.Makeup.Packs[0]
		out = append(out, lines(strong, best.String(), wide, 2)...)
		out = append(out, say("is "+v.length(best.Total)+", "+offWords(v, best.Error)))
		if p.Effect != "" && !best.Error.IsZero() {
			out = append(out, lines(plain, p.Effect, wide, 2)...)
		}
	}
	return out
}

func offWords(v *view, e quantity.Exact) string {
	switch e.Sign() {
	case 1:
		return v.length(e) + " too thick"
	case -1:
		return v.length(e.Neg()) + " too thin"
	}
	return "exact"
}

// troubleLines say why the last press was not recorded, that the computer's
// clock was set, and where the bench file and the register differ.
func troubleLines(v *view) []line {
	var out []line
	if v.snap.Trouble != "" {
		out = lines(stop, v.snap.Trouble, v.width, 2)
	}
	out = append(out, besideLines(v)...)
	if v.snap.Clock != "" {
		out = append(out, lines(warn, v.snap.Clock, v.width, 2)...)
	}
	if n := len(v.snap.Differs); n > 0 && v.snap.Job == nil {
		out = append(out, lines(warn, v.snap.Differs[0], v.width, 2)...)
		if n > 1 {
			out = append(out, toned(warn, fmt.Sprintf("and %d more such.", n-1)))
		}
	}
	return out
}

// urgentLines are what is wrong.
func urgentLines(v *view, r *overhaul.Result) []line {
	return append(troubleLines(v), problemLines(v, r)...)
}

// restLines are what stands below the readings: what a check says, then the
// arithmetic; nought lines of room are no bound. Words that have not room are
// marked as cut, a sum stands whole or not at all: it would read as if it were
// all.
func restLines(v *view, r *overhaul.Result, room int) []line {
	var out []line
	put := func(of []line) {
		if room > 0 {
			of = within(of, room-len(out), v.width)
		}
		out = append(out, of...)
	}
	if r.Check != nil {
		put(checkLines(v, r, room))
	}
	if sum := sumLines(v, r); room <= 0 || len(out)+len(sum) <= room {
		out = append(out, sum...)
	}
	if r.Pack != nil && r.Status != overhaul.Stopped && r.Pack.OneMore != "" {
		put(lines(plain, "Thicker, "+r.Step.Pack.Place+": "+r.Pack.OneMore+".", v.width, 2))
	}
	if p := r.Pack; p != nil && p.Keep != nil {
		put(lines(plain, "Asked about another setting: "+p.Keep.Words, v.width, 4))
	} else if p != nil && p.KeepWaits != "" {
		put(lines(plain, "Asked about another setting: "+p.KeepWaits+".", v.width, 2))
	}
	if r.Text != "" && r.Check == nil {
		put(lines(plain, capital(r.Text)+".", v.width, 2))
	}
	if len(out) == 0 && len(urgentLines(v, r)) == 0 {
		put(beforeLines(v, r))
	}
	for _, n := range r.Notes {
		put(lines(warn, "Note: "+n, v.width, 2))
	}
	if r.Expansion != nil && (r.Expansion.Matters || r.Expansion.Corrected) {
		put(lines(plain, capital(r.Expansion.Words)+".", v.width, 2))
	}
	return out
}

// within keeps lines to so many, the last of them marked where more are left out.
func within(of []line, most, width int) []line {
	if len(of) <= most {
		return of
	}
	if most < 1 {
		return nil
	}
	out := append([]line{}, of[:most]...)
	last := out[most-1].cut(width - 2)
	if n := len(last); n == 0 || !strings.HasSuffix(last[n-1].text, "…") {
		last = append(last, span{" …", plain})
	}
	out[most-1] = last
	return out
}

// problemLines say in words what stops or holds the step.
func problemLines(v *view, r *overhaul.Result) []line {
	return append(concededLines(v, r), wrongLines(v, r)...)
}

// concededLines say that what is wrong was let be, by whom and why.
func concededLines(v *view, r *overhaul.Result) []line {
	c := v.conceded(r)
	if c == nil {
		return nil
	}
	return hanging(span{"[c] LET BE", strong}, fmt.Sprintf("by concession of %s: %s. It stays shown as it was found.", c.By, strings.TrimSuffix(c.Reason, ".")), v.width, 3)
}

// wrongLines say what is wrong.
func wrongLines(v *view, r *overhaul.Result) []line {
	if r.Problem == "" || r.Check != nil && r.Check.Words != "" && strings.Contains(r.Problem, r.Check.Words) && r.Text == "" {
		return nil // a verdict stands beside its shape already
	}
	if r.Status == overhaul.Stale && r.Check != nil && len(r.Check.Points) > 0 {
		// Each point says which build it is from.
		return hanging(v.statusSpan(r), fmt.Sprintf("Metal was changed since, now build %d. Take again what is STALE.", v.snap.Results.Build), v.width, 2)
	}
	word := ""
	if r.Status == overhaul.Held || r.Status == overhaul.Stale {
		word = statusWord(r) + ". "
	}
	return lines(statusTone(r.Status), word+capital(r.Problem)+endOf(r.Problem), v.width, 5)
}

func endOf(s string) string {
	if strings.HasSuffix(s, "?") {
		return ""
	}
	return "."
}

// checkLines are a check's verdict and advice; nought lines of room are no bound.
func checkLines(v *view, r *overhaul.Result, room int) []line {
	c := r.Check
	var out []line
	if c.Words != "" && len(r.Step.Check.Flanks) > 0 && r.Problem == "" {
		out = append(out, lines(good, capital(c.Words)+".", v.width, 2)...)
	}
	if c.Rough != nil && c.Verdict != ring.NotJudged {
		out = append(out, lines(plain, capital(c.Rough.Name+" "+c.Rough.Rule)+".", v.width, 1)...)
	}
	if room > 0 {
		room = max(1, room-len(out))
	}
	switch plan := planLines(v, c, v.width, room); {
	case plan != nil:
		out = append(out, plan...)
	case c.Advice != "":
		out = append(out, lines(strong, capital(c.Advice)+".", v.width, 3)...)
	}
	if c.Expected != nil {
		out = append(out, lines(plain, c.Expected.Words, v.width, 3)...)
	}
	if c.Follow != nil {
		out = append(out, lines(plain, capital(c.Follow.Words)+".", v.width, 3)...)
	}
	for _, m := range c.Moves {
		out = append(out, lines(strong, "Moved on purpose: "+m.Words+".", v.width, 1)...)
	}
	if c.Band != nil && c.Verdict == ring.NotJudged && r.Step.Check.What == sheet.TurningTorque {
		u, places := v.bandUnit(r)
		out = append(out, say(fmt.Sprintf("Limits %s .. %s %s", limit(c.Band.Low, u, places), limit(c.Band.High, u, places), u)))
	}
	if len(r.Step.Check.Flanks) > 0 && r.Text == "" {
		out = append(out, lines(plain, "Good: "+strings.Join(r.Step.Check.Good, ", ")+". The manual's pictures rule.", v.width, 2)...)
	}
	return out
}

// beforeLines show how the step came out that the last press finished, because
// the screen has gone on from it.
func beforeLines(v *view, r *overhaul.Result) []line {
	last := v.snap.Last
	if last == nil || last.Press.Step == r.Step.Name || last.Press.Outcome != fact.Taken {
		return nil
	}
	was := v.snap.Results.Of(last.Press.Step)
	if was == nil || was.Status != overhaul.Done || v.nextOpen(was) != r {
		return nil
	}
	var words string
	switch f := shortOf(was); {
	case was.Check != nil && was.Check.Ring != nil:
		words = "Backlash " + ringWords(v, was)
	case was.Check != nil && was.Check.Words != "":
		words = capital(was.Check.Words)
	case f != nil:
		words = v.sum(f)
	}
	return lines(good, "(o) DONE before this: "+words, v.width, 3)
}

// cautionLines are the sheet's cautions, each whole or not at all; where some
// have no room it says where they are.
func cautionLines(v *view, r *overhaul.Result, room int) []line {
	var out []line
	left := false
	for _, c := range cautionsHere(v, r) {
		one := lines(warn, "Caution: "+c, v.width, 20)
		if len(out)+len(one)+1 > room {
			left = true
			continue
		}
		out = append(out, one...)
	}
	if left && room > len(out) {
		out = append(out, toned(warn, "There are cautions for this stage: w shows them."))
	}
	return out
}

// cautionsHere are those that stand on the work screen: of the step's stage, and
// in the first stage the sheet's own. Said at every step they would not be read;
// w has them all at each.
func cautionsHere(v *view, r *overhaul.Result) []string {
	for i, stage := range v.snap.Job.Sheet.Stages {
		if stage.Name == r.Step.Stage && i > 0 {
			return stage.Cautions
		}
	}
	return cautions(v, r)
}

// cautions are those of a step's stage, then the sheet's own.
func cautions(v *view, r *overhaul.Result) []string {
	s := v.snap.Job.Sheet
	for _, stage := range s.Stages {
		if stage.Name == r.Step.Stage {
			return append(append([]string{}, stage.Cautions...), s.Cautions...)
		}
	}
	return s.Cautions
}
