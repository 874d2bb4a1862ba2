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
	"unicode/utf8"

	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/devices"
	"shimwright/ingest/fact"
)

// Windows are the times the guards go by; bench data. Nought of one means that
// its guard is not asked.
type Windows struct {
	// Double is how soon a second press of one gauge is too soon to be a
	// reading of its own.
	Double time.Duration
	// Idle is how long a gauge may lie unused before its zero is checked anew.
	Idle time.Duration
	// Seated is how long it holds that bearings were said to be rolled or
	// seated.
	Seated time.Duration
}

// Usual are the windows used unless the bench says otherwise (common practice,
// no source).
func Usual() Windows {
	return Windows{Double: 800 * time.Millisecond, Idle: 30 * time.Minute, Seated: 10 * time.Minute}
}

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
	OnHold  bool   // the step or the job is on hold, as Missing says
	Before  *Before
	Looks   []fact.Looked // how the gauge looks; none where it was never taught
	Windows Windows

	// What the guards below look at. Left empty, nothing is known of it and
	// nothing is objected.

	Zero    *Zero                // of the gauge; nil where the bench keeps no zeros
	Said    map[string]time.Time // when bearings were last said to be rolled or seated, by the sheet's word; nil where nobody is asked
	Paper   Paper                // of the gauge
	Pieces  []Piece              // the certified pieces in the setup
	Repeats []quantity.Value     // presses that count at the step and spot before this one, oldest first, as RepeatsOf gives them
	Waiting []*sheet.Step        // steps that wait for a gauge of this kind, as WaitingFor gives them
	// Unexplained: the figure was typed and nobody said why.
	Unexplained bool
}

// A Decision is what a press comes to.
type Decision struct {
	Outcome  fact.Outcome
	Cause    fact.Cause // why it does not count, in a word; "" where it does
	Sentence string
	Do       string
	// HoldBefore: the press before must be held too, for nobody can tell
	// which of the two is right.
	HoldBefore bool
}

func aside(cause fact.Cause, do, sentence string, args ...any) *Decision {
	return &Decision{Outcome: fact.Aside, Cause: cause, Sentence: fmt.Sprintf(sentence, args...), Do: do}
}

func held(cause fact.Cause, do, sentence string, args ...any) *Decision {
	return &Decision{Outcome: fact.Held, Cause: cause, Sentence: fmt.Sprintf(sentence, args...), Do: do}
}

// guards are all guards in their order. Where a press comes from and whether
// the step wants one at all come first, then what must be done before any press
// is worth looking at, then the figure itself. What a person is likeliest to let
// pass comes last: who lets a press count for that must not let through what a
// guard behind it would have said.
func guards() []func(Case) *Decision {
	return []func(Case) *Decision{
		known, number, open, kind, double, full,
		zeroed, rolled,
		said, unit, same, window,
		dated, explained,
	}
}

// Decide runs the guards in their order.
func Decide(c Case) Decision {
	for _, g := range guards() {
		if d := g(c); d != nil {
			return *d
		}
	}
	return taken(c)
}

// Behind is what the guards say that stand behind the one for what is missing:
// who lets a held press count must have been told of it. It is false where none
// objects.
func Behind(c Case) (Decision, bool) {
	for _, g := range []func(Case) *Decision{unit, same, window, dated, explained} {
		if d := g(c); d != nil {
			return *d, true
		}
	}
	return Decision{}, false
}

func known(c Case) *Decision {
	switch {
	case c.Known:
		return nil
	case c.Stray && c.Bad == nil:
		return aside(fact.UnknownGauge, "Lay that gauge aside, or give its channel a gauge in the bench file.",
			"%s came on channel %s, which has no gauge on this bench.", c.Sample.Value, c.Sample.Channel)
	case c.Stray:
		return aside(frameCause(c.Bad), "Look at the gauges on that port, then press again.", "From %s: %s.", c.Sample.Gauge, why(c.Bad))
	}
	return aside(fact.UnknownGauge, "Use a gauge of this bench, or add this one to the bench file.", "%s is no gauge of this bench.", c.Sample.Gauge)
}

func number(c Case) *Decision {
	if c.Bad == nil {
		return nil
	}
	return aside(frameCause(c.Bad), "Look at the gauge: over travel, dirt or battery? Press again.", "From %s: %s.", c.Sample.Gauge, why(c.Bad))
}

// frameCause is a bad frame's reason as a cause.
func frameCause(err error) fact.Cause {
	var frame *devices.FrameError
	if !errors.As(err, &frame) {
		return fact.OtherCause
	}
	return fact.Cause(frame.Reason)
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
		return aside(fact.NoJob, "Open a job first.", "%s from %s: no job is open.", c.Sample.Value, c.Sample.Gauge)
	case c.Step == nil:
		return aside(fact.NoStep, "Choose a step, or leave it.", "%s from %s: nothing was waiting.", c.Sample.Value, c.Sample.Gauge)
	case c.Step.Gauge == "":
		return aside(fact.NoStep, instruction(c.Step), "%s from %s: the step %q waits for no gauge.", c.Sample.Value, c.Sample.Gauge, c.Step.Name)
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
	return aside(fact.OtherKind, fmt.Sprintf("Press on a %s.", c.Step.Gauge), "That was %s, a %s; the step %q wants a %s.", c.Sample.Gauge, c.Kind, c.Step.Name, c.Step.Gauge)
}

func full(c Case) *Decision {
	if !c.Full {
		return nil
	}
	return aside(fact.StepFull, "Go on to the next step, or take this one again.", "%s from %s: the step %q has all its presses.", c.Sample.Value, c.Sample.Gauge, c.Step.Name)
}

// double counts a press that follows too soon as the same one, and holds two
// that differ.
func double(c Case) *Decision {
	if c.Before == nil || !c.Windows.TooSoon(c.Before.At, c.Sample.At) {
		return nil
	}
	if c.Before.Value.Exact().Equal(c.Sample.Value.Exact()) {
		return aside(fact.Double, "Lift, reseat and press for the next spot.", "One press counted: %s came again from %s within %g s.", c.Sample.Value, c.Sample.Gauge, c.Windows.Double.Seconds())
	}
	d := held(fact.Double, "Strike both and press once, or take the one that is right.",
		"%s and %s came from %s within %g s: which is right?", c.Before.Value, c.Sample.Value, c.Sample.Gauge, c.Windows.Double.Seconds())
	d.HoldBefore = !c.Before.Held
	return d
}

func said(c Case) *Decision {
	if c.Missing == "" {
		return nil
	}
	cause := fact.SayFirst
	if c.OnHold {
		cause = fact.StepOnHold
	}
	return held(cause, stopped(c.Missing), "%s from %s is kept: it cannot count yet.", c.Sample.Value, c.Sample.Gauge)
}

// line is how many characters of a sentence stand on two lines of a small
// screen.
const line = 160

// joined adds parts to a sentence as long as the whole can be read at a glance.
func joined(sentence string, parts ...string) string {
	for _, p := range parts {
		if p == "" {
			continue
		}
		if long := strings.TrimSpace(sentence + " " + p); utf8.RuneCountInString(long) <= line {
			sentence = long
		}
	}
	return sentence
}

// taken says what counts and where. What the presses of a spot say together
// matters more than the unit that the gauge is on.
func taken(c Case) Decision {
	where := fmt.Sprintf("%s from %s at %s", c.Sample.Value, c.Sample.Gauge, c.Step.Name)
	if c.Spot != "" {
		where += " at " + c.Spot
	}
	apart, do := unlike(c)
	keyed, look := typed(c)
	battery := ""
	if c.Sample.Battery {
		battery = fmt.Sprintf("Battery low on %s: change it now, then check its zero.", c.Sample.Gauge)
	}
	d := Decision{Outcome: fact.Taken, Sentence: joined(where+".", keyed, apart), Do: joined("", do, look, battery)}
	if b, ok := c.Step.Window(); ok && b.Low.Unit() != c.Sample.Value.Unit() {
		on := fmt.Sprintf("%s: the gauge is on %s, that is %s.", where, c.Sample.Value.Unit(), shown(c.Sample.Value, b.Low.Unit()))
		if long := on + strings.TrimPrefix(d.Sentence, where+"."); utf8.RuneCountInString(long) <= line {
			d.Sentence = long
		}
	}
	return d
}
