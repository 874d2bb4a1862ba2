package bench

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"shimwright/calc/overhaul"
	"shimwright/calc/sheet"
	"shimwright/devices"
	"shimwright/devices/port"
	"shimwright/ingest/fact"
	"shimwright/ingest/guard"
)

// event takes in one event of a port; a sample or a bad frame becomes a fact.
func (b *Bench) event(ctx context.Context, e port.Event) {
	b.gaugeEvent(e)
	var bad error
	switch e.What {
	case port.Sample:
	case port.BadFrame:
		bad = e.Err
	case port.Stray:
		bad = strayBad(e.Err)
	default:
		return
	}
	if err := b.sample(ctx, e.Sample, bad); err != nil {
		b.trouble = fmt.Sprintf("NOT RECORDED: %s from %s. %s", pressWords(e.Sample, bad), e.Sample.Gauge, err)
	}
}

// sample takes in what a gauge sent: what was asked of its next press, or a
// press.
func (b *Bench) sample(ctx context.Context, s devices.Sample, bad error) error {
	n, ok := b.nexts[s.Gauge]
	if ok && bad == nil {
		if n.piece != "" {
			return b.checkPress(ctx, s, n.piece)
		}
		if st, err := b.zeroStep(s.Gauge); err == nil {
			return b.zeroPress(ctx, s, st)
		}
		delete(b.nexts, s.Gauge)
	}
	_, err := b.press(ctx, s, bad, nil, "")
	return err
}

// strayBad is why a stray frame is no reading; nil where it is one.
func strayBad(err error) error {
	var frame *devices.FrameError
	if errors.As(err, &frame) {
		return frame
	}
	return nil
}

// strayName names what a frame of no gauge came from.
func strayName(s devices.Sample) string {
	if s.Channel == "" {
		return "a shared port"
	}
	return "channel " + s.Channel
}

func pressWords(s devices.Sample, bad error) string {
	if bad != nil {
		return devices.Quote(s.Raw)
	}
	return s.Value.String()
}

// A landing says where a keyed press goes, or one that follows another too
// soon; nil for any other, which goes to the open step.
type landing struct{ step, spot string }

// press decides what a press comes to and records it.
func (b *Bench) press(ctx context.Context, s devices.Sample, bad error, to *landing, reason string) (fact.Pressed, error) {
	c := b.guardCase(s, bad, to)
	d := guard.Decide(c)
	f := fact.Pressed{
		Spot: c.Spot, Gauge: c.Sample.Gauge, GaugeKind: c.Kind, UnitStated: s.UnitStated, Battery: s.Battery,
		Raw: s.Raw, Arrived: s.At.UTC(), Source: s.Source,
		Outcome: d.Outcome, Cause: d.Cause, Sentence: d.Sentence, Do: d.Do, Reason: reason,
	}
	if bad == nil {
		v := s.Value
		f.Value = &v
	}
	if c.Step != nil {
		f.Step = c.Step.Name
	}
	if g, ok := b.gauge(s.Gauge); ok {
		f.CountsIn, f.Limit = g.CountsIn, b.limit(g)
	}
	if b.job == nil {
		return f, b.stray(ctx, f)
	}
	if c.Step != nil {
		f.Pieces, _ = b.job.InUse(c.Step)
	}
	var facts []fact.Fact
	if known, anew := b.untold(s.Gauge); anew {
		facts = append(facts, known)
	}
	facts = append(facts, f)
	seq := b.seq + int64(len(facts))
	if d.HoldBefore && c.Before != nil {
		facts = append(facts, fact.HeldBack{Press: c.Before.Seq, Sentence: d.Sentence})
	}
	if err := b.keep(ctx, nil, facts...); err != nil {
		return f, err
	}
	b.used(s, bad, d.Outcome)
	if d.Outcome != fact.Aside {
		b.arrived[s.Gauge] = arrival{seq, s.At}
	}
	b.last = &Said{Press: f, Seq: seq}
	return f, nil
}

// stray keeps a press that came while no job was open.
func (b *Bench) stray(ctx context.Context, f fact.Pressed) error {
	if err := b.store(ctx, of("bench", f)); err != nil {
		return err
	}
	b.last, b.trouble = &Said{Press: f, Seq: b.seq}, ""
	return nil
}

// guardCase gathers what the guards look at.
func (b *Bench) guardCase(s devices.Sample, bad error, to *landing) guard.Case {
	c := guard.Case{Sample: s, Bad: bad, Open: b.job != nil, Windows: b.cfg.Windows, Looks: b.taught[s.Gauge].Looks}
	if g, ok := b.gauge(s.Gauge); ok {
		c.Known, c.Kind = true, g.Kind
	} else if s.Gauge == "" {
		c.Stray, c.Sample.Gauge = true, strayName(s)
	}
	if b.job == nil {
		return c
	}
	r, _ := b.openStep()
	if to != nil {
		r, c.Known = b.results.Of(to.step), true
		c.Kind = r.Step.Gauge
	} else if c.Before = b.before(s); c.Before != nil {
		p, _ := b.job.Press(c.Before.Seq)
		r, to = b.results.Of(p.Fact.Step), &landing{p.Fact.Step, p.Fact.Spot}
	} else if z := b.zeros[s.Gauge]; z != nil && b.cfg.Windows.TooSoon(z.at, s.At) {
		c.Before = &guard.Before{Value: z.shown, At: z.at, Held: true} // it is no press to hold back
	}
	if r == nil {
		return c
	}
	c.Step, c.Spot, c.Full = r.Step, r.Spot, full(r)
	if to != nil && to.spot != "" {
		c.Spot = to.spot
		c.Full = c.Full || fullAt(r, to.spot)
	}
	_, c.Missing = b.job.InUse(r.Step)
	switch {
	case r.Step.Pack != nil && c.Full && len(r.Presses) == 0:
		c.Full, c.Missing = false, "See to this first: "+r.Wants
	case c.Missing == "":
		c.Missing = b.unanswered(r.Step)
	}
	if h, held := b.job.HoldOn(r.Step.Name); held {
		c.Missing, c.OnHold = holdWords(h), true
	}
	b.surround(&c, r)
	return c
}

// surround fills what the guards look at around a press.
func (b *Bench) surround(c *guard.Case, r *overhaul.Result) {
	gauge := c.Sample.Gauge
	if c.Sample.Source != devices.SourceKeyed {
		c.Zero, c.Paper = b.zeroOf(gauge), b.gaugePaper(gauge, c.Sample.At)
	}
	c.Said = b.job.Said(r.Step.Name)
	pieces, _ := b.job.InUse(r.Step)
	c.Pieces = b.papers(pieces, c.Sample.At)
	c.Repeats = guard.RepeatsOf(r, c.Spot, gauge, pieces)
	c.Waiting = guard.WaitingFor(b.results, c.Kind)
}

// fullAt tells whether one spot of a check has all its presses.
func fullAt(r *overhaul.Result, spot string) bool {
	if r.Check == nil {
		return false
	}
	return slices.ContainsFunc(r.Check.Points, func(p overhaul.Point) bool {
		return p.Spot == spot && !p.Stale && len(p.Pressed) >= r.Step.Check.Each
	})
}

// before is the gauge's press just before this one, where this one follows too
// soon to be a reading of its own. It lands where that one did: by then the
// bench may wait for another step's.
func (b *Bench) before(s devices.Sample) *guard.Before {
	p, ok := b.job.LastBy(s.Gauge)
	if !ok {
		return nil
	}
	out := &guard.Before{Seq: p.Seq, Value: *p.Fact.Value, At: p.Fact.Arrived, Held: p.Now == fact.Held}
	if a := b.arrived[s.Gauge]; a.seq == p.Seq {
		out.At = a.at // with its monotonic clock, which no stepped wall clock upsets
	}
	if !b.cfg.Windows.TooSoon(out.At, s.At) {
		return nil
	}
	return out
}

// full tells whether a step that a gauge feeds has all its presses. At a pack
// that is fitted, a press begins to measure the next one.
func full(r *overhaul.Result) bool {
	if r.Step.Pack != nil && r.Status == overhaul.Done {
		return false
	}
	return len(r.Step.Slots()) > 0 && r.Left == 0
}

// unanswered says what the fitter must say of packs before a press can count.
func (b *Bench) unanswered(st *sheet.Step) string {
	if st.Measure == nil || len(st.Measure.AskIn) == 0 {
		return ""
	}
	said := b.saidIn(st)
	var open []string
	for _, pack := range st.Measure.AskIn {
		if _, ok := said[pack]; !ok {
			open = append(open, pack)
		}
	}
	if len(open) == 0 {
		return ""
	}
	return "Say whether it is measured with the " + strings.Join(open, " and the ") + " in or not"
}

// saidIn is which packs were said to be in or not while a step is measured,
// since it was last begun.
func (b *Bench) saidIn(st *sheet.Step) map[string]bool {
	said := map[string]bool{}
	for _, e := range b.job.Entries().List {
		switch {
		case e.Step == st.Name && e.Kind == sheet.EntryAgain:
			clear(said)
		case e.Step == st.Name && e.Kind == sheet.EntryIn:
			maps.Copy(said, e.In)
		}
	}
	return said
}
