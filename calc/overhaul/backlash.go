package overhaul

import (
	"fmt"
	"slices"
	"strings"

	"shimwright/calc/quantity"
	"shimwright/calc/ring"
)

// ringInput gathers the points of a check that goes round the wheel.
func ringPoints(c *Check) []ring.Point {
	var out []ring.Point
	for _, p := range c.Points {
		rp := ring.Point{Angle: p.Angle}
		for _, pr := range p.Pressed {
			rp.Repeats = append(rp.Repeats, pr.Entry.Value.Exact())
		}
		out = append(out, rp)
	}
	return out
}

// backlash judges every point, the fitted low and the spread.
func (w *worker) backlash(r *Result) {
	c := r.Check
	if c.Band == nil {
		r.Wants = "its limits: " + w.bandWants(r.Step.Check.Band)
		return
	}
	in := ring.Input{Points: ringPoints(c), Band: *c.Band}
	in.U, in.SpreadU = w.ringGuards(r)
	c.U = in.U
	if s := r.Step.Check.Spread.Exact(); s.Sign() > 0 {
		in.SpreadLimit = &s
	}
	res, err := ring.Judge(in)
	if err != nil {
		r.Status, r.Problem = Held, err.Error()
		return
	}
	c.Ring = &res
	for i := range c.Points {
		c.Points[i].Verdict = res.Points[i].Verdict
	}
	c.Verdict = worst(append(pointVerdicts(res), res.LowVerdict, res.SpreadVerdict))
	c.Words = w.ringWords(r.Step.Check.Reads+" backlash", res, in.SpreadLimit)
	c.Words += ": " + strings.ToUpper(c.Verdict.String())
	if c.Verdict != ring.Good {
		r.Status, r.Problem = Held, c.Words
	}
	w.learn(r)
	w.compare(r)
	if c.Verdict != ring.Good {
		w.reshim(r)
		w.doubtFirst(c)
	}
	c.Window = w.windowWords(c)
	c.LookFor, c.Asks = w.lookFor(r), w.asks(r)
}

// doubtFirst puts a move that was not found as predicted before any further
// one: what follows rests on packs that are not what they were said to be.
func (w *worker) doubtFirst(c *Check) {
	if c.Compared == nil || c.Compared.Agrees {
		return
	}
	c.Advice = c.Compared.Words + " Make no other move before that is known."
	if c.Reshim != nil && len(c.Reshim.Plans) > 0 {
		c.Reshim.Words = "Should the packs prove right: " + c.Reshim.Plans[0].Words
	}
}

// ringGuards are the guard bands of a point and of the spread: in the spread
// what all points share drops out.
func (w *worker) ringGuards(r *Result) (point, spread quantity.Exact) {
	c, p := r.Step.Check, r.Check.Points
	point, r.Budget = w.guardOf(c, p[0].Figure)
	if b := w.budget(sum("spread", Term{quantity.Whole(1), p[0].Figure}, Term{quantity.Whole(-1), p[1].Figure})); b != nil && !w.entries.Simple {
		spread = b.Guard
	}
	return point, spread
}

func pointVerdicts(res ring.Result) []ring.Verdict {
	var out []ring.Verdict
	for _, p := range res.Points {
		out = append(out, p.Verdict)
	}
	return out
}

// worst is the verdict that counts for the whole: out before too close before
// good; what was not judged does not count.
func worst(of []ring.Verdict) ring.Verdict {
	for _, v := range []ring.Verdict{ring.NotGood, ring.OutLow, ring.OutHigh, ring.TooClose, ring.Good} {
		if slices.Contains(of, v) {
			return v
		}
	}
	return ring.NotJudged
}

func (w *worker) ringWords(what string, res ring.Result, limit *quantity.Exact) string {
	u, p := w.sheet.Unit, w.sheet.Places
	out := fmt.Sprintf("%s, mean %s, spread %s", what, res.Mean.Value().ShowUnit(u, p), res.Spread.ShowUnit(u, p))
	if limit != nil {
		out += fmt.Sprintf(" of %s allowed", limit.ShowUnit(u, p))
	}
	return out
}

// ringAdvice says what change of the mean would pass, or that none does.
func (w *worker) ringAdvice(c *Check, res ring.Result) {
	if c.Verdict == ring.Good {
		return
	}
	u, p := w.sheet.Unit, w.sheet.Places
	if res.Window.Empty() {
		c.Advice = "No shim can pass: the points lie too far apart. Fix the spread first: run-out of the wheel's back face, burrs, bolts."
		return
	}
	c.Advice = fmt.Sprintf("A change of the mean from %s to %s passes at every point.",
		signed(res.Window.From, u, p), signed(res.Window.To, u, p))
}

func signed(v quantity.Exact, u quantity.Unit, p int32) string {
	s := v.ShowUnit(u, p)
	if v.Sign() > 0 {
		return "+" + s
	}
	return s
}

// runOut is highest less lowest over the turn.
func (w *worker) runOut(r *Result) {
	c := r.Check
	var high, low *Figure
	for _, p := range c.Points {
		if high == nil || high.Value.Less(p.Figure.Value) {
			high = p.Figure
		}
		if low == nil || p.Figure.Value.Less(low.Value) {
			low = p.Figure
		}
	}
	c.Figure = sum("run-out", Term{quantity.Whole(1), high}, Term{quantity.Whole(-1), low})
	limit := r.Step.Check.Spread.Exact()
	c.U, r.Budget = w.guardOf(r.Step.Check, c.Figure)
	c.Verdict = ring.JudgeMost(c.Figure.Value, limit, c.U, ring.Guarded)
	u, p := w.sheet.Unit, w.sheet.Places
	c.Words = fmt.Sprintf("run-out is %s of %s allowed: %s", c.Figure.Value.ShowUnit(u, p), limit.ShowUnit(u, p), strings.ToUpper(c.Verdict.String()))
	if c.Verdict != ring.Good {
		r.Status, r.Problem = Held, c.Words
		c.Advice = "Look for burrs, dirt or uneven bolts under the wheel before anything else."
	}
}
