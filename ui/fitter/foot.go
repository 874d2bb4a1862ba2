package fitter

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"shimwright/calc/overhaul"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ingest/job"
)

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
	out = append(out, shopBeside(v, gaugeLines(v))...)
	out = append(out, answerLines(v)...)
	return append(out, keyLines(v)...)
}

// shopBeside puts how the shop stands at the right end of the last line of some,
// or on lines of its own where a person must see to it or there is not room.
func shopBeside(v *view, of []line) []line {
	last := len(of) - 1
	words := say(v.shop.Words)
	switch {
	case v.shop.Words == "":
		return of
	case v.shop.Look:
		most := 2 // at work it is not to hide the work: ? tells it whole
		if v.snap.Job == nil {
			most = mostShop
		}
		return append(of, lines(warn, "/!\\ "+v.shop.Words, v.width, most)...)
	case of[last].cells()+2+words.cells() <= v.width:
		return append(of[:last:last], ends(of[last], words, v.width))
	}
	return append(of, lines(plain, v.shop.Words, v.width, 2)...)
}

// mostShop is how many lines the shop's trouble has where it stands whole.
const mostShop = 6

// mostAnswer is how many lines the bench's answer has, or why it refused.
const mostAnswer = 3

// answerLines are what is being typed, what the bench answered, or else the last
// press.
func answerLines(v *view) []line {
	switch {
	case v.form != nil:
		return v.form.lines(v.width)
	case v.busy && !v.note.bad:
		return []line{say("... writing it down")}
	case v.note.bad:
		return lines(warn, "/!\\ "+v.note.text, v.width, mostAnswer)
	case v.note.text != "":
		return lines(plain, "Bench: "+v.note.text, v.width, mostAnswer)
	}
	return []line{lastLine(v)}
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
	switch g.Next {
	case "":
	case "zero":
		out = append(out, span{" next: its ZERO", strong})
	default:
		out = append(out, span{" next: a CHECK on " + g.Next, strong})
	}
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

// lastLine is the last press of the bench and where it went. What it came to is
// never cut: where there is not room for all, the beeps go first, then the gauge.
func lastLine(v *view) line {
	p, ok := v.newest()
	if !ok {
		return say("Last: no press since the bench was started")
	}
	stray := ""
	if before, hides := v.before(p); hides {
		// One put aside does not take the place of the press that counts.
		p, stray = before, ", then "+outcomeWord(p)
	}
	f := p.Fact
	from, beeped := " from "+f.Gauge, ""
	if stray == "" {
		beeped = " [" + beepWords(f.Outcome) + "]"
	}
	at := ""
	if f.Step != "" {
		at = " at " + strings.TrimSpace(f.Step+" "+f.Spot)
	}
	last := func(from, beeped string) line {
		return line{{"Last: " + clock(p) + " ", plain}, {pressFigure(p), strong}, {from + at, plain},
			{"  ", plain}, {outcomeWord(p), outcomeTone(p)}, {stray + beeped, plain}}
	}
	for _, l := range []line{last(from, beeped), last(from, ""), last("", "")} {
		if l.cells() <= v.width {
			return l
		}
	}
	came := span{outcomeWord(p) + stray, outcomeTone(p)}
	return ends(line{{"Last: " + clock(p) + " ", plain}, {pressFigure(p), strong}, {at, plain}}, line{came}, v.width)
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

// saidBeside is the newest press where it was no reading of the job: on a zero or
// on a check piece, or one put aside while no job was there; nil where it was one,
// or belongs to another step.
func (v *view) saidBeside() *bench.Said {
	last := v.snap.Last
	if last == nil || last.Press.Sentence == "" {
		return nil
	}
	if v.snap.Job != nil {
		if _, of := v.snap.Job.Press(last.Seq); of {
			return nil
		}
		if r := v.shown(); last.Press.Step != "" && (r == nil || r.Step.Name != last.Press.Step) {
			return nil
		}
	}
	return last
}

// besideLines tell what such a press came to.
func besideLines(v *view) []line {
	said := v.saidBeside()
	if said == nil {
		return nil
	}
	return outcomeLines(v, job.Press{Seq: said.Seq, Fact: said.Press, Now: said.Press.Outcome})
}
