package record

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
	"shimwright/ui/draw"
)

// step takes from one step's result what it has: a figure found, a pack, a ring,
// a marking, a verdict.
func (w *walked) step(r *Record, x *overhaul.Result) {
	w.found(r, x)
	switch {
	case x.Pack != nil:
		w.pack(r, x)
	case x.Check != nil:
		w.check(r, x)
	}
	if x.Closure != nil {
		w.closure(r, x, x.Closure, x.Step.Name)
	}
}

// length is a length as the sheet shows lengths.
func (w *walked) length(x quantity.Exact) string {
	return x.ShowUnit(w.job.Sheet.Unit, w.job.Sheet.Places)
}

// figure is a step's figure in the unit it is shown in.
func (w *walked) figure(x *overhaul.Result) string {
	switch {
	case x.Check != nil && x.Check.Figure != nil:
		return x.Check.Figure.Value.ShowUnit(w.job.Sheet.CheckShownIn(x.Step.Check))
	case x.Pack != nil && x.Pack.Fitted != nil:
		return w.length(x.Pack.Fitted.Value)
	case x.Figure != nil:
		return w.length(x.Figure.Value)
	}
	return ""
}

// found is what was there before the rebuild: steps of the build before, and
// checks that are looked at and not judged.
func (w *walked) found(r *Record, x *overhaul.Result) {
	st := x.Step
	before := st.Measure != nil && st.Measure.Before || st.Pack != nil && st.Pack.Before ||
		st.Mark != nil && st.Mark.Before || st.Check != nil && st.Check.Before != ""
	looked := x.Check != nil && x.Check.Verdict == ring.NotJudged && x.Status == overhaul.Done
	if !before && !looked {
		return
	}
	f := Figure{Step: st.Name, Value: w.figure(x)}
	switch {
	case f.Value == "" && x.Text != "":
		f.Words = x.Text
	case x.Check != nil:
		f.Words = x.Check.Words
	}
	if f.Value == "" && f.Words == "" {
		f.Words = string(x.Status)
	}
	r.Found = append(r.Found, f)
}

func (w *walked) pack(r *Record, x *overhaul.Result) {
	p := x.Pack
	out := Pack{Step: x.Step.Name, Place: x.Step.Pack.Place, Before: x.Step.Pack.Before, OneMore: p.OneMore}
	if p.Worked != nil {
		out.Wanted = w.length(p.Worked.Value)
	}
	fitted, ok := w.fits[x.Step.Name]
	if ok {
		out.Build = fitted.build
		for _, l := range fitted.Leaves {
			out.Leaves = append(out.Leaves, l.String())
		}
		for _, m := range fitted.Measured {
			out.Measured = append(out.Measured, m.String())
		}
	}
	if len(out.Leaves) == 0 && p.Makeup != nil && len(p.Makeup.Packs) > 0 {
		out.Offered = p.Makeup.Packs[0].String()
	}
	if p.Fitted != nil {
		out.Total, out.Words = w.length(p.Fitted.Value), p.ErrorDoes
	}
	if p.Fitted != nil && p.Worked != nil {
		out.Error = signedLength(w, p.Error)
		r.Verdicts = append(r.Verdicts, w.packVerdict(x))
	}
	if p.Closure != nil {
		w.closure(r, x, p.Closure, x.Step.Name+", other way")
	}
	r.Packs = append(r.Packs, out)
}

func signedLength(w *walked, x quantity.Exact) string {
	say := w.length(x)
	if x.Sign() > 0 {
		say = "+" + say
	}
	return say
}

func (w *walked) packVerdict(x *overhaul.Result) Verdict {
	p := x.Pack
	v := Verdict{Step: x.Step.Name, What: "pack", Value: signedLength(w, p.Error),
		Limits: "±" + w.length(p.Within), Verdict: "GOOD", Words: p.ErrorDoes}
	if x.Budget != nil {
		v.Uncertainty = x.Budget.Expanded.ShowUnit(w.job.Sheet.Unit, w.job.Sheet.Places)
	}
	if x.Status != overhaul.Done {
		v.Verdict, v.Words = strings.ToUpper(string(x.Status)), x.Problem
	}
	// "fitted: " with nothing behind it was written once
	w.conceded(&v, p.ErrorDoes, x.Problem, p.FittedWords(), "fitted: "+p.ErrorDoes)
	return v
}

// conceded adds the concession that lets be what was found.
func (w *walked) conceded(v *Verdict, found ...string) {
	for _, f := range found {
		if c, ok := w.job.Conceded(v.Step, f); ok && f != "" {
			v.Concession = fmt.Sprintf("let be by concession, fact %d, %s: %s", c.Seq, c.By, c.Reason)
			return
		}
	}
}

func (w *walked) closure(r *Record, x *overhaul.Result, c *overhaul.Closure, name string) {
	v := Verdict{Step: name, What: "closure", Value: signedLength(w, c.Value), Limits: "±" + w.length(c.Limit), Verdict: "GOOD",
		Words: "found less predicted"}
	if c.Budget != nil {
		v.Uncertainty = w.length(c.Budget.Expanded)
	}
	if !c.Good {
		v.Verdict = "NOT CLOSED"
	}
	if x.Status == overhaul.Stale {
		v.Verdict = "STALE"
	}
	r.Verdicts = append(r.Verdicts, v)
}

func (w *walked) check(r *Record, x *overhaul.Result) {
	c := x.Check
	unit, places := w.job.Sheet.CheckShownIn(x.Step.Check)
	if c.Ring != nil && len(c.Points) > 0 {
		r.Rings = append(r.Rings, w.ring(x, unit, places))
	}
	for _, flank := range x.Step.Check.Flanks {
		if seen := w.seen(x.Step.Name)[flank]; seen != "" {
			r.Markings = append(r.Markings, Marking{x.Step.Name, flank, seen})
		}
	}
	if c.Verdict == ring.NotJudged && x.Status != overhaul.Stale {
		return
	}
	v := Verdict{Step: x.Step.Name, What: x.Step.Check.What, Verdict: strings.ToUpper(c.Verdict.String()), Words: c.Words}
	if x.Status == overhaul.Stale {
		v.Verdict, v.Words = "STALE", x.Problem
	}
	if c.Figure != nil {
		v.Value = c.Figure.Value.ShowUnit(unit, places)
	} else if c.Ring != nil {
		v.Value = "mean " + c.Ring.Mean.Value().ShowUnit(unit, places)
	}
	if c.Band != nil {
		v.Limits = c.Band.Low.Show(unit, places) + " .. " + c.Band.High.ShowUnit(unit, places)
	}
	if c.U.Sign() > 0 {
		v.Uncertainty = c.U.ShowUnit(unit, places)
	}
	w.conceded(&v, c.Words, x.Problem)
	r.Verdicts = append(r.Verdicts, v)
}

// seen is the contact marking last put in at a step.
func (w *walked) seen(step string) map[string]string {
	for _, e := range slices.Backward(w.job.Entries().List) {
		if e.Step == step && e.Kind == sheet.EntrySeen {
			return e.Seen
		}
	}
	return nil
}

func (w *walked) ring(x *overhaul.Result, unit quantity.Unit, places int32) Ring {
	c := x.Check
	out := Ring{Step: x.Step.Name, Unit: unit.String(), Words: c.Words,
		Mean: c.Ring.Mean.Value().ShowUnit(unit, places), Spread: c.Ring.Spread.ShowUnit(unit, places)}
	for _, p := range c.Points {
		if p.Figure == nil {
			continue
		}
		at := RingPoint{Spot: p.Spot, Value: p.Figure.Value.Show(unit, places), Stale: p.Stale}
		if p.Verdict != ring.NotJudged {
			at.Verdict = p.Verdict.String()
		}
		out.Points = append(out.Points, at)
		out.drawing.angles = append(out.drawing.angles, p.Angle.Float())
		out.drawing.values = append(out.drawing.values, p.Figure.Value.Float())
	}
	if c.Band != nil {
		out.Low, out.High = c.Band.Low.ShowUnit(unit, places), c.Band.High.ShowUnit(unit, places)
		out.drawing.low, out.drawing.high, out.drawing.banded = c.Band.Low.Float(), c.Band.High.Float(), true
	}
	fit := c.Ring.Fit
	if fit.Once.Sight == ring.Unseen {
		return out
	}
	out.FitLow = fit.Low.Value.ShowUnit(unit, places)
	if fit.Low.At.Known {
		out.FitLow += fmt.Sprintf(" at %.0f deg", fit.Low.At.Degrees)
		out.drawing.lowestAt, out.drawing.lowestKnown = fit.Low.At.Degrees, true
	}
	for d := range 360 {
		a := float64(d) * math.Pi / 180
		out.drawing.curve = append(out.drawing.curve, fit.Constant+fit.Once.Cos*math.Cos(a)+fit.Once.Sin*math.Sin(a)+
			fit.Twice.Cos*math.Cos(2*a)+fit.Twice.Sin*math.Sin(2*a))
	}
	return out
}

func (w *walked) standings(r *Record, res *overhaul.Results) {
	for _, p := range res.Places {
		f := Figure{Step: p.Wanted, Value: w.length(p.Low.Value), Words: p.State}
		if !p.Low.Value.Equal(p.High.Value) {
			f.Value += " .. " + w.length(p.High.Value)
		}
		r.Standing = append(r.Standing, f)
	}
}

// workings are all figures with their arithmetic, as lines: first each length
// measured, then the whole job stage by stage.
func workings(res *overhaul.Results) ([]string, error) {
	var b strings.Builder
	page := draw.PageFor(res.Sheet)
	page.Width = columns
	if err := draw.Results(&b, page, res, draw.Full); err != nil {
		return nil, err
	}
	measured := false
	for _, x := range res.Steps {
		if x.Step.Measure == nil || x.Figure == nil {
			continue
		}
		if !measured {
			b.WriteString("\nthe measured lengths, each by itself\n")
			measured = true
		}
		if err := draw.Sum(&b, page, x.Figure); err != nil {
			return nil, err
		}
	}
	return strings.Split(strings.TrimRight(b.String(), "\n"), "\n"), nil
}

// sums are the figures as the trail prints them: each once, as a sum.
func sums(res *overhaul.Results) ([]string, error) {
	var b strings.Builder
	page := draw.PageFor(res.Sheet)
	page.Width = columns
	err := draw.Pencil(&b, page, res)
	return strings.Split(strings.TrimRight(b.String(), "\n"), "\n"), err
}
