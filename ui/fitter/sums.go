package fitter

import (
	"fmt"
	"slices"
	"strings"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/ingest/fact"
)

// sumLines are the step's figure as a short sum; while its presses are not all
// in, what the reading will be added to.
func sumLines(v *view, r *overhaul.Result) []line {
	switch f := shortOf(r); {
	case f != nil:
		return unbroken(v.terms(f), v.width, 3)
	case r.Step.Measure != nil && r.Status != overhaul.Stopped:
		return lines(plain, v.sumSoFar(r), v.width, 2)
	}
	return nil
}

// shortOf is the figure whose sum is shown.
func shortOf(r *overhaul.Result) *overhaul.Figure {
	switch {
	case r.Pack != nil && r.Pack.Worked != nil:
		return r.Pack.Worked
	case r.Check != nil && r.Check.Figure != nil:
		return r.Check.Figure
	case r.Check != nil:
		return nil
	}
	return r.Figure
}

// sum writes a figure's own terms on one line: "53.630 mm = + 75.004 piece S-31
// + 12.006 piece E-02 - 33.380 reading".
func (v *view) sum(f *overhaul.Figure) string { return strings.Join(v.terms(f), " ") }

// unbroken sets parts one behind the other and begins a line only between two of
// them, so that a figure stays with its sign and its name.
func unbroken(parts []string, width, most int) []line {
	var out []line
	at := ""
	for _, p := range parts {
		if at != "" && cells(at)+1+cells(p) > width {
			out = append(out, say(at).cut(width))
			at = "  " + p
			continue
		}
		if at != "" {
			p = at + " " + p
		}
		at = p
	}
	out = append(out, say(at).cut(width))
	return out[:min(len(out), most)]
}

// terms are the parts of a sum, each a sign, a figure and its name.
func (v *view) terms(f *overhaul.Figure) []string {
	u, places := v.unitOf(f)
	if len(f.Terms) == 0 {
		return []string{f.Name, v.figure(f)}
	}
	if f.By != nil {
		return []string{f.Name, "= " + v.figure(f.Terms[0].Figure), fmt.Sprintf("× %s m", f.By.Decimal()), "= " + v.figure(f)}
	}
	if len(f.Terms) == 1 && f.Terms[0].Coef.Equal(quantity.Whole(1)) {
		return []string{join(f.Name+" = "+v.figure(f), f.Terms[0].Figure.Rule)}
	}
	if f.Rule != "" && strings.HasPrefix(f.Rule, "mean of") {
		return []string{join(f.Name+" = "+v.figure(f), f.Rule)}
	}
	out := []string{f.Name + " ="}
	for _, t := range f.Terms {
		x := t.Figure.Value.Times(t.Coef)
		sign := "+"
		if x.Sign() < 0 {
			sign, x = "-", x.Neg()
		}
		out = append(out, fmt.Sprintf("%s %s %s", sign, x.Show(u, places), termName(t.Figure)))
	}
	return append(out, "= "+v.figure(f))
}

func join(a, b string) string {
	if b == "" {
		return a
	}
	return a + ", " + b
}

func termName(f *overhaul.Figure) string {
	if f.Leaf != nil {
		if id, ok := strings.CutPrefix(f.Leaf.Source, "piece "); ok {
			return id
		}
	}
	return f.Name
}

// sumSoFar is the pieces of the setup and the reading that is still to come.
// Which way the reading counts is known once a gauge has pressed.
func (v *view) sumSoFar(r *overhaul.Result) string {
	m := r.Step.Measure
	if m.Setup.Name == "direct" {
		return m.Length + " = the reading"
	}
	in, missing := v.pieces(r)
	if missing != "" && len(in) == 0 {
		return ""
	}
	out := m.Length + " ="
	for _, leg := range m.Setup.Walk {
		switch {
		case leg.What == sheet.AlongReading:
			out += " " + v.readingSign(r, leg.Up) + " the reading"
		case leg.What == sheet.AlongStandard:
			out += " " + v.standardTerms(leg, in)
		}
	}
	return out
}

func (v *view) standardTerms(leg sheet.Move, in []string) string {
	sign := map[bool]string{true: "+", false: "-"}[leg.Up]
	std, _ := v.snap.Job.Sheet.StandardNamed(leg.Standard)
	var out []string
	for _, id := range in {
		if p, ok := v.snap.Job.Piece(id); ok && p.Standard == leg.Standard {
			one := sign + " "
			if each := std.Each(); !each.Equal(quantity.Whole(1)) {
				one += each.String() + " × "
			}
			out = append(out, one+v.asSent(p.Size)+" "+id)
		}
	}
	return strings.Join(out, " ")
}

func (v *view) readingSign(r *overhaul.Result, up bool) string {
	for _, p := range slices.Backward(v.snap.Job.Presses) {
		if p.Fact.Step == r.Step.Name && p.Now == fact.Taken {
			return map[bool]string{true: "+", false: "-"}[up != p.Fact.CountsIn]
		}
	}
	return "with"
}
