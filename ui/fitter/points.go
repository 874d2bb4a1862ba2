package fitter

import (
	"fmt"
	"slices"
	"strings"

	"shimwright/calc/overhaul"
	"shimwright/calc/ring"
)

// mostPoints is how many spots of a check are shown at once.
const mostPoints = 6

// pointLines are a check's spots; where it has many, those round the next one.
func pointLines(v *view, r *overhaul.Result) []line {
	c := r.Check
	from := 0
	if len(c.Points) > mostPoints {
		for i, p := range c.Points {
			if p.Spot == r.Spot {
				from = min(max(0, i-2), len(c.Points)-mostPoints)
			}
		}
	}
	var out []line
	for _, p := range c.Points[from:min(len(c.Points), from+mostPoints)] {
		out = append(out, pointLine(v, r, p))
	}
	if len(c.Points) > mostPoints {
		out = append(out, say(fmt.Sprintf("%d to %d of %d spots", from+1, from+mostPoints, len(c.Points))))
	}
	return append(out, agreeLine(v, r)...)
}

func agreeLine(v *view, r *overhaul.Result) []line {
	c := r.Step.Check
	var words []string
	if c.Each > 1 && c.Agree.Exact().Sign() > 0 && r.Check.Verdict == ring.NotJudged {
		words = append(words, "presses agree to "+v.inUnit(c.Agree))
	}
	var out []line
	switch g := r.Check.Ring; {
	case c.Spread.Exact().Sign() <= 0:
	case g != nil && g.SpreadVerdict != ring.NotJudged && r.Check.Verdict != ring.NotJudged:
		u, places := v.bandUnit(r)
		out = append(out, line{{(line{{"spread", plain}}).pad(9).text(), plain}, {g.Spread.ShowUnit(u, places), strong}, {"  ", plain}, verdictSpan(g.SpreadVerdict)})
	default:
		words = append(words, "spread at most "+v.inUnit(c.Spread))
	}
	for _, w := range words {
		out = append(out, say(w))
	}
	return out
}

// pointLine is one spot: its presses, or its figure with its verdict.
func pointLine(v *view, r *overhaul.Result, p overhaul.Point) line {
	spot := p.Spot
	if spot != "" {
		spot = (line{{spot, plain}}).pad(9).text()
	}
	out := line{{spot, plain}}
	each := r.Step.Check.Each
	if p.Verdict != ring.NotJudged {
		out = append(out, span{v.figure(p.Figure), strong}, span{"  ", plain}, verdictSpan(p.Verdict))
		if slices.ContainsFunc(p.Pressed, func(x overhaul.Press) bool { return x.Entry.Keyed }) {
			out = append(out, span{" KEYED", plain})
		}
		return out
	}
	for _, x := range p.Pressed {
		if p.Stale && x.Build != p.Build {
			continue // of a build before that
		}
		out = append(out, span{v.asSent(x.Entry.Value) + " ", strong})
		if x.Entry.Keyed {
			out = append(out, span{"KEYED ", plain})
		}
	}
	have := len(p.Pressed)
	if p.Stale {
		out = append(out, span{fmt.Sprintf(" (~) STALE, build %d", p.Build), warn})
		have = 0
	}
	next := r.Left > 0 && p.Spot == r.Spot
	if !p.Stale {
		out = append(out, span{strings.Repeat("____ ", max(0, each-have)), plain})
	}
	switch {
	case next && p.Stale:
		out = append(out, span{" <==", strong})
	case next:
		out = append(out, span{" <== next", strong})
	}
	return out
}

// judgedWords say in a sentence what was judged, behind the verdict's own word.
func judgedWords(v *view, r *overhaul.Result) string {
	if r.Check.Ring == nil {
		return capital(r.Check.Words) + "."
	}
	return capital(ringWords(v, r)) + "."
}

// ringWords are a ring's mean and spread, and in plain words which backlash that
// is: "normal" would read as if nothing were wrong.
func ringWords(v *view, r *overhaul.Result) string {
	u, places := v.bandUnit(r)
	g, what := r.Check.Ring, r.Step.Check.Reads
	if what == "normal" {
		what = "square to the flank"
	}
	out := fmt.Sprintf("%s: mean %s, spread ", what, g.Mean.Value().Show(u, places))
	if most := r.Step.Check.Spread.Exact(); most.Sign() > 0 {
		return out + fmt.Sprintf("%s of %s allowed", g.Spread.Show(u, places), most.ShowUnit(u, places))
	}
	return out + g.Spread.ShowUnit(u, places)
}

// verdictSpan is a verdict as shape and word.
func verdictSpan(v ring.Verdict) span {
	word := strings.ToUpper(v.String())
	switch v {
	case ring.Good:
		return span{"(o) " + word, good}
	case ring.TooClose:
		return span{"(?) " + word, warn}
	case ring.NotGood:
		return span{"[X] " + word, stop}
	case ring.OutLow:
		return span{"vvv " + word, stop}
	case ring.OutHigh:
		return span{"^^^ " + word, stop}
	}
	return span{word, plain}
}
