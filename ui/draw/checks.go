package draw

import (
	"fmt"
	"strings"

	"github.com/shopspring/decimal"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/ring"
)

// checkLine is a check's one figure and its verdict.
func (j job) checkLine(r *overhaul.Result) (figure, note string) {
	c := r.Check
	if c.Figure != nil {
		figure = j.show(c.Figure)
	}
	switch {
	case r.Status == overhaul.Stale:
		note = "STALE"
	case c.Verdict != ring.NotJudged:
		note = verdictWord(c)
	case r.Status == overhaul.Done:
		note = "looked at, no limits"
	}
	return figure, note
}

// verdictWord is a verdict in capitals. A marking, or a bearing that is rough,
// is no figure beyond a limit: it is not good.
func verdictWord(c *overhaul.Check) string {
	seen := c.Figure == nil && c.Ring == nil
	if c.Verdict == ring.OutHigh && (seen || strings.HasSuffix(c.Words, "NOT GOOD")) {
		return "NOT GOOD"
	}
	return strings.ToUpper(c.Verdict.String())
}

// check writes below a check's line its points, what the ring shows, what to
// do, and the sum of its figure.
func (j job) check(r *overhaul.Result) {
	c := r.Check
	if len(r.Step.Check.Points) > 0 {
		j.points(r)
	}
	if c.Ring != nil {
		j.ring(c)
	}
	if c.U.Sign() > 0 && c.Verdict != ring.NotJudged {
		j.more(fmt.Sprintf("Uncertainty %s (k = 2): nearer to a limit than this is too close to call.", j.inUnit(c.U, r)))
	}
	if c.Rough != nil && c.Verdict != ring.NotJudged && !strings.Contains(c.Words, "rough") {
		j.more(sentence("roughness: " + c.Rough.Rule))
	}
	j.advice(c)
	for _, m := range c.Moves {
		j.more("Moved on purpose: " + m.Words + ".")
	}
	if c.Follow != nil {
		j.more(sentence(c.Follow.Words))
	}
	j.sum(c.Figure)
	if c.Ring != nil && j.detail == Full {
		j.meanAndSpread(c)
	}
}

func (j job) inUnit(x quantity.Exact, r *overhaul.Result) string {
	return x.ShowUnit(j.r.Sheet.CheckShownIn(r.Step.Check))
}

// points writes one line a spot: its figure, its presses, its verdict.
func (j job) points(r *overhaul.Result) {
	for _, p := range r.Check.Points {
		if p.Figure == nil {
			continue
		}
		say := ""
		if p.Verdict != ring.NotJudged {
			say = p.Verdict.String()
		}
		if p.Stale {
			say = fmt.Sprintf("stale, from build state %d", p.Build)
		}
		prefix := strings.Repeat(" ", moreIn) + pad("at "+p.Spot, nameIn+nameWide-moreIn) + padLeft(j.show(p.Figure), figWide) + "  "
		if len(p.Pressed) > 1 && !p.Stale {
			say = join(say, j.pressed(p))
		}
		j.t.wrap(prefix, -1, strings.TrimPrefix(say, ", "))
	}
}

func (j job) pressed(p overhaul.Point) string {
	say := "pressed"
	for _, x := range p.Pressed {
		say += " " + x.Entry.Value.Digits()
	}
	return say
}

// ring says what the smooth curve through the points shows.
func (j job) ring(c *overhaul.Check) {
	if c.Band != nil {
		j.more(fmt.Sprintf("Limits %s .. %s at every point.", c.Band.Low.Show(j.Unit, j.Places), j.length(c.Band.High)))
	}
	fit := c.Ring.Fit
	if fit.Once.Sight == ring.Whole {
		say := fmt.Sprintf("Lowest of the smooth curve through the points: %s", j.length(fit.Low.Value))
		if fit.Low.At.Known {
			say += fmt.Sprintf(" at %.0f deg", fit.Low.At.Degrees)
		}
		if c.Ring.LowVerdict != ring.NotJudged {
			say += ", " + c.Ring.LowVerdict.String()
		}
		j.more(say + ".")
		j.more(j.perTurn(fit))
	}
	for _, n := range fit.Notes {
		j.more(sentence(n))
	}
}

// perTurn says how large the parts of a ring are that come once and twice in a
// turn.
func (j job) perTurn(fit ring.Fit) string {
	say := "Once per turn " + j.part(fit.Once)
	if fit.Twice.Sight != ring.Unseen {
		say += ", twice per turn " + j.part(fit.Twice)
	}
	return say + "."
}

// part is a part's half swing, rounded as the page's lengths are.
func (j job) part(h ring.Harmonic) string {
	return "±" + j.length(quantity.FromDecimal(decimal.NewFromFloat(h.Amplitude).Round(quantity.WorkPlaces)))
}

// meanAndSpread writes the sums of a ring's two figures.
func (j job) meanAndSpread(c *overhaul.Check) { j.sum(ringFigures(c)) }

// ringFigures are a ring's mean and spread as sums of its points.
func ringFigures(c *overhaul.Check) (mean, spread *overhaul.Figure) {
	one := quantity.Whole(1)
	mean = &overhaul.Figure{Name: "mean", Rule: fmt.Sprintf("mean of %d points", len(c.Points)), Value: c.Ring.Mean.Value()}
	var low, high *overhaul.Figure
	for _, p := range c.Points {
		at := &overhaul.Figure{Name: "at " + p.Spot, Value: p.Figure.Value, Terms: []overhaul.Term{{Coef: one, Figure: p.Figure}}}
		mean.Terms = append(mean.Terms, overhaul.Term{Coef: share(len(c.Points)), Figure: at})
		if low == nil || at.Value.Less(low.Value) {
			low = at
		}
		if high == nil || high.Value.Less(at.Value) {
			high = at
		}
	}
	spread = &overhaul.Figure{Name: "spread", Value: high.Value.Sub(low.Value), Terms: []overhaul.Term{
		{Coef: one, Figure: high}, {Coef: one.Neg(), Figure: low},
	}}
	return mean, spread
}
