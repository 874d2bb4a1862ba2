// Package guard decides what a press comes to: taken, held or aside, with one
// plain sentence and the one thing to do next.
//
// Each guard is a small pure function over the press and where it would land.
// They stand in one ordered list; the first that objects decides. Guards see
// arrival times and windows of time as data, never a clock. A press that is
// held or aside changes no figure.
package guard

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"shimwright/calc/document"
	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/devices"
	"shimwright/ingest/fact"
)

// Windows are the times the guards go by; bench data.
type Windows struct {
	// Double is how soon a second press of one gauge is too soon to be a
	// reading of its own.
	Double time.Duration
}

// Usual are the windows used unless the bench says otherwise (common practice,
// no source).
func Usual() Windows { return Windows{Double: 800 * time.Millisecond} }

// TooSoon tells whether a press follows one of the same gauge so soon that it
// cannot be a reading of its own. A clock that went back tells nothing.
func (w Windows) TooSoon(before, at time.Time) bool {
	return !at.Before(before) && at.Sub(before) < w.Double
}

// Before is the last press of the same gauge that counts or is held.
type Before struct {
	Seq   int64
	Value quantity.Value
	At    time.Time
	Held  bool
}

// A Case is a press and where it would land.
type Case struct {
	Sample  devices.Sample
	Bad     error  // why the frame is no reading; nil for a good one
	Known   bool   // the gauge is one of this bench
	Stray   bool   // it is no gauge's: it came on a port that carries several
	Kind    string // the kind of gauge it is
	Open    bool   // a job is open
	Step    *sheet.Step
	Spot    string
	Full    bool   // the step has all its presses
	Missing string // what must be said before this press can count: a piece, a pack in or not
	Before  *Before
	Looks   []fact.Looked // how the gauge looks; none where it was never taught
	Windows Windows
}

// A Decision is what a press comes to.
type Decision struct {
	Outcome  fact.Outcome
	Sentence string
	Do       string
	// HoldBefore: the press before must be held too, for nobody can tell
	// which of the two is right.
	HoldBefore bool
}

func aside(do, sentence string, args ...any) *Decision {
	return &Decision{Outcome: fact.Aside, Sentence: fmt.Sprintf(sentence, args...), Do: do}
}

func held(do, sentence string, args ...any) *Decision {
	return &Decision{Outcome: fact.Held, Sentence: fmt.Sprintf(sentence, args...), Do: do}
}

// Decide runs the guards in their order.
func Decide(c Case) Decision {
	for _, g := range []func(Case) *Decision{known, number, open, kind, double, full, said, unit, same, window} {
		if d := g(c); d != nil {
			return *d
		}
	}
	return taken(c)
}

func known(c Case) *Decision {
	switch {
	case c.Known:
		return nil
	case c.Stray && c.Bad == nil:
		return aside("Lay that gauge aside, or give its channel a gauge in the bench file.",
			"%s came on channel %s, which has no gauge on this bench.", c.Sample.Value, c.Sample.Channel)
	case c.Stray:
		return aside("Look at the gauges on that port, then press again.", "From %s: %s.", c.Sample.Gauge, why(c.Bad))
	}
	return aside("Use a gauge of this bench, or add this one to the bench file.", "%s is no gauge of this bench.", c.Sample.Gauge)
}

func number(c Case) *Decision {
	if c.Bad == nil {
		return nil
	}
	return aside("Look at the gauge: over travel, dirt or battery? Press again.", "From %s: %s.", c.Sample.Gauge, why(c.Bad))
}

// why says what is wrong with a frame in a line; the fact keeps all its bytes.
func why(err error) string {
	var frame *devices.FrameError
	if !errors.As(err, &frame) {
		return err.Error()
	}
	words := string(frame.Reason)
	if frame.Detail != "" {
		words += ": " + frame.Detail
	}
	return words + " (received " + beginning(frame.Raw) + ")"
}

// beginning quotes as many bytes of a frame as stand beside a reason in a line.
func beginning(raw []byte) string {
	const most = 24 // characters, quotes included
	for n := len(raw); n > 0; n-- {
		if s := strconv.QuoteToASCII(string(raw[:n])); len(s) <= most {
			if n < len(raw) {
				s += fmt.Sprintf(" and %d more bytes", len(raw)-n)
			}
			return s
		}
	}
	return strconv.QuoteToASCII("")
}

func open(c Case) *Decision {
	switch {
	case !c.Open:
		return aside("Open a job first.", "%s from %s: no job is open.", c.Sample.Value, c.Sample.Gauge)
	case c.Step == nil:
		return aside("Choose a step, or leave it.", "%s from %s: nothing was waiting.", c.Sample.Value, c.Sample.Gauge)
	case c.Step.Gauge == "":
		return aside(instruction(c.Step), "%s from %s: the step %q waits for no gauge.", c.Sample.Value, c.Sample.Gauge, c.Step.Name)
	}
	return nil
}

func instruction(st *sheet.Step) string {
	if st.Say != "" {
		return stopped(strings.Join(strings.Fields(st.Say), " "))
	}
	return "See to the step " + st.Name + "."
}

// stopped ends a sentence, unless it is ended.
func stopped(s string) string {
	if strings.HasSuffix(s, ".") || strings.HasSuffix(s, "?") || strings.HasSuffix(s, "!") {
		return s
	}
	return s + "."
}

func kind(c Case) *Decision {
	if c.Kind == c.Step.Gauge {
		return nil
	}
	return aside(fmt.Sprintf("Press on a %s.", c.Step.Gauge), "That was %s, a %s; the step %q wants a %s.", c.Sample.Gauge, c.Kind, c.Step.Name, c.Step.Gauge)
}

func full(c Case) *Decision {
	if !c.Full {
		return nil
	}
	return aside("Go on to the next step, or take this one again.", "%s from %s: the step %q has all its presses.", c.Sample.Value, c.Sample.Gauge, c.Step.Name)
}

// double counts a press that follows too soon as the same one, and holds two
// that differ.
func double(c Case) *Decision {
	if c.Before == nil || !c.Windows.TooSoon(c.Before.At, c.Sample.At) {
		return nil
	}
	if c.Before.Value.Exact().Equal(c.Sample.Value.Exact()) {
		return aside("Lift, reseat and press for the next spot.", "One press counted: %s came again from %s within %s.", c.Sample.Value, c.Sample.Gauge, c.Windows.Double)
	}
	d := held("Strike both and press once, or take the one that is right.",
		"%s and %s came from %s within %s: which is right?", c.Before.Value, c.Sample.Value, c.Sample.Gauge, c.Windows.Double)
	d.HoldBefore = !c.Before.Held
	return d
}

func said(c Case) *Decision {
	if c.Missing == "" {
		return nil
	}
	return held(stopped(c.Missing), "%s from %s is kept: it cannot count yet.", c.Sample.Value, c.Sample.Gauge)
}

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
		return aside("Is this the right gauge? Press again.", "%s from %s is a %s; the step %q wants a %s.",
			v, c.Sample.Gauge, v.Unit().Dimension(), c.Step.Name, want)
	}
	if c.Sample.UnitStated || inside(v.Exact(), b) {
		return nil
	}
	if other, ok := wouldFit(v, b); ok {
		return held("Press the gauge's unit key, check its zero, press again.",
			"%s from %s, which states no unit, misses %s .. %s. Read as %s it would be %s, which fits.",
			v.Digits(), c.Sample.Gauge, b.Low, b.High, other, shown(v.In(other), b.Low.Unit()))
	}
	return nil
}

// shown converts a figure for people: in full where that takes six decimals or
// fewer, as it always does from inches to millimetres as gauges show them.
func shown(v quantity.Value, as quantity.Unit) string {
	const most = 6
	if x := v.Exact().In(as); x.IsDecimal() && x.Decimal().Exponent() >= -most {
		return x.String() + " " + as.String()
	}
	return v.Exact().ShowUnit(as, 4)
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

func window(c Case) *Decision {
	b, ok := c.Step.Window()
	if !ok || inside(c.Sample.Value.Exact(), b) {
		return nil
	}
	return held("Foot on the face? Right step? Press again.", "%s from %s misses %s .. %s, which the step %q wants.",
		c.Sample.Value, c.Sample.Gauge, b.Low, b.High, c.Step.Name)
}

func taken(c Case) Decision {
	where := c.Step.Name
	if c.Spot != "" {
		where += " at " + c.Spot
	}
	s := fmt.Sprintf("%s from %s at %s.", c.Sample.Value, c.Sample.Gauge, where)
	if b, ok := c.Step.Window(); ok && b.Low.Unit() != c.Sample.Value.Unit() {
		s = strings.TrimSuffix(s, ".") + fmt.Sprintf(": the gauge is on %s, that is %s.", c.Sample.Value.Unit(), shown(c.Sample.Value, b.Low.Unit()))
	}
	d := Decision{Outcome: fact.Taken, Sentence: s}
	if c.Sample.Battery {
		d.Do = fmt.Sprintf("Battery low on %s: change it now, then check its zero.", c.Sample.Gauge)
	}
	return d
}
