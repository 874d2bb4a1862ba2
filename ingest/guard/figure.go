package guard

import (
	"fmt"

	"shimwright/calc/document"
	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/ingest/fact"
)

// unit refuses a figure of another dimension, and holds a bare figure that
// misses the window and would fit it in another unit. A stated unit is
// converted, exactly.
func unit(c Case) *Decision {
	b, ok := c.Step.Window()
	if !ok {
		return nil
	}
	v := c.Sample.Value
	if want := b.Low.Unit().Dimension(); v.Unit().Dimension() != want {
		return aside(fact.OtherKind, "Is this the right gauge? Press again.", "%s from %s is a %s; the step %q wants a %s.",
			v, c.Sample.Gauge, v.Unit().Dimension(), c.Step.Name, want)
	}
	if c.Sample.UnitStated || inside(v.Exact(), b) {
		return nil
	}
	if other, ok := wouldFit(v, b); ok {
		return held(fact.UnitMissed, "Press the gauge's unit key, check its zero, press again.",
			"%s from %s, which states no unit, misses %s .. %s. Read in %s it would be %s, which fits.",
			v.Digits(), c.Sample.Gauge, b.Low, b.High, unitWords(other), shown(v.In(other), b.Low.Unit()))
	}
	return nil
}

// unitWords names a unit of length where its sign would be taken for a word.
func unitWords(u quantity.Unit) string {
	switch u {
	case quantity.Inch:
		return "inches"
	case quantity.Hundredth:
		return "hundredths of a mm"
	case quantity.Micron:
		return "thousandths of a mm"
	}
	return u.String()
}

// shown converts a figure for people.
func shown(v quantity.Value, as quantity.Unit) string { return asExact(v.Exact(), as) }

// asExact shows a figure in full where that takes six decimals or fewer, as it
// always does from inches to millimetres as gauges show them.
func asExact(e quantity.Exact, as quantity.Unit) string {
	const most = 6
	if x := e.In(as); x.IsDecimal() && x.Decimal().Exponent() >= -most {
		return x.String() + " " + as.String()
	}
	return e.ShowUnit(as, 4)
}

// wouldFit tries the units in which a length gauge may have been left.
func wouldFit(v quantity.Value, b document.Band) (quantity.Unit, bool) {
	if v.Unit().Dimension() != quantity.Length {
		return quantity.Bare, false
	}
	for _, u := range []quantity.Unit{quantity.MM, quantity.Inch, quantity.Thou, quantity.Hundredth, quantity.Micron} {
		if u != v.Unit() && inside(v.In(u).Exact(), b) {
			return u, true
		}
	}
	return quantity.Bare, false
}

func inside(x quantity.Exact, b document.Band) bool {
	return !x.Less(b.Low.Exact()) && !b.High.Exact().Less(x)
}

// mostFits is how many other steps are named that a press would fit.
const mostFits = 2

func window(c Case) *Decision {
	b, ok := c.Step.Window()
	if !ok || inside(c.Sample.Value.Exact(), b) {
		return nil
	}
	d := held(fact.OutOfWindow, "Foot on the face? Right step? Press again.", "%s from %s misses %s .. %s, which the step %q wants.",
		c.Sample.Value, c.Sample.Gauge, b.Low, b.High, c.Step.Name)
	fits := fitting(c)
	if len(fits) > mostFits {
		fits = fits[:mostFits]
	}
	for ; len(fits) > 0; fits = fits[:len(fits)-1] {
		if long := joined(d.Sentence, wouldFitStep(fits)); long != d.Sentence {
			d.Sentence = long
			break
		}
	}
	return d
}

func wouldFitStep(names []string) string {
	if len(names) == 1 {
		return fmt.Sprintf("It would fit the step %s.", names[0])
	}
	return fmt.Sprintf("It would fit the steps %s and %s.", names[0], names[1])
}

// fitting are the other steps that wait for such a gauge and whose window the
// press keeps, in the order of work.
func fitting(c Case) []string {
	var out []string
	for _, st := range c.Waiting {
		b, ok := st.Window()
		if !ok || st.Name == c.Step.Name || st.Gauge != c.Kind || b.Low.Unit().Dimension() != c.Sample.Value.Unit().Dimension() {
			continue
		}
		if inside(c.Sample.Value.Exact(), b) {
			out = append(out, st.Name)
		}
	}
	return out
}

// WaitingFor are the steps of a job that still want presses of a kind of gauge,
// in the order of work.
func WaitingFor(res *overhaul.Results, kind string) []*sheet.Step {
	var out []*sheet.Step
	for _, r := range res.Steps {
		if r.Step.Gauge == kind && kind != "" && r.Left > 0 {
			out = append(out, r.Step)
		}
	}
	return out
}
