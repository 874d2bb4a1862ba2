package bench

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/devices"
	"shimwright/ingest/fact"
	"shimwright/ingest/guard"
	"shimwright/ingest/job"
	"shimwright/ingest/people"
)

func (c Keyed) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	st, err := b.step(c.Step, sheet.KindMeasure, sheet.KindCheck)
	if err != nil {
		return Reply{}, err
	}
	reason, err := oneLine("the reason", c.Reason)
	if err != nil {
		return Reply{}, err
	}
	v, err := quantity.ParseWithUnit(c.Value)
	if err != nil {
		return Reply{}, err
	}
	if c.Spot != "" && !slices.Contains(st.Slots(), sheet.Slot{Spot: c.Spot}) {
		return Reply{}, fmt.Errorf("%q is no spot of %s: leave it out for the next one", c.Spot, c.Step)
	}
	s := devices.Sample{Gauge: "keyed", Source: devices.SourceKeyed}
	s.Value, s.UnitStated, s.At = v, true, b.cfg.Now()
	f, err := b.press(ctx, s, nil, &landing{c.Step, c.Spot}, reason)
	if err != nil {
		return Reply{}, err
	}
	return Reply{Words: f.Sentence}, nil
}

func (c Take) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	p, reason, err := b.decision(c.Press, c.Reason)
	if err != nil {
		return Reply{}, err
	}
	if p.Now != fact.Held || p.Fact.Value == nil {
		return Reply{}, fmt.Errorf("press %d is %s, not held: only a held press can be taken", p.Seq, p.Now)
	}
	again := b.caseOf(p)
	if again.Missing != "" {
		return Reply{}, fmt.Errorf("press %d, %s, cannot count yet: %s", p.Seq, p.Fact.Value, again.Missing)
	}
	unfit := guard.Unfit(again)
	if err := b.objection(p, again); err != nil {
		return Reply{}, err
	}
	task := people.TakeHeld
	if len(unfit) > 0 {
		task = people.LetDue
	}
	by, err := b.signature(task, false, nil)
	if err != nil {
		return Reply{}, err
	}
	words := fmt.Sprintf("Press %d, %s, counts now.", p.Seq, p.Fact.Value)
	var beside []about
	if f, anew := b.knownAnew(p.Fact, p.Seq, reason); anew {
		beside = of(gaugeSubject(p.Fact.Gauge), f)
		words += fmt.Sprintf(" It is still %s, which may send such figures from now on.", p.Fact.Gauge)
	}
	took := fact.Took{Press: p.Seq, Reason: reason, By: by}
	if st := again.Step; st != nil && len(p.Fact.Pieces) == 0 {
		took.Pieces, _ = b.job.InUse(st)
	}
	facts := []fact.Fact{took}
	if len(unfit) > 0 {
		facts = append(facts, fact.LetCount{What: unfit, Reason: reason, By: by})
		words += fmt.Sprintf(" In this job %s may be used from now on.", strings.Join(unfit, " and "))
	}
	if err := b.recordBeside(ctx, beside, facts...); err != nil {
		return Reply{}, err
	}
	delete(b.told, p.Seq)
	return Reply{Words: words}, nil
}

// caseOf is a press as the guards see it once more, where it landed.
func (b *Bench) caseOf(p job.Press) guard.Case {
	s := devices.Sample{Gauge: p.Fact.Gauge, Source: p.Fact.Source}
	s.Value, s.UnitStated, s.At = *p.Fact.Value, p.Fact.UnitStated, p.Fact.Arrived.In(b.cfg.Now().Location())
	c := guard.Case{Sample: s, Known: true, Open: true, Kind: p.Fact.GaugeKind, Spot: p.Fact.Spot, Windows: b.cfg.Windows, Looks: b.taught[s.Gauge].Looks}
	r := b.results.Of(p.Fact.Step)
	if r == nil {
		return c
	}
	c.Step = r.Step
	if _, c.Missing = b.job.InUse(r.Step); c.Missing == "" {
		c.Missing = b.unanswered(r.Step)
	}
	b.surround(&c, r)
	c.Waiting = nil // what else it would fit was another moment's
	return c
}

// objection says once what a guard would have said of a press that another one
// held before. Who was told it may let the press count.
func (b *Bench) objection(p job.Press, c guard.Case) error {
	if c.Step == nil {
		return nil
	}
	d, objects := guard.Behind(c)
	if !objects || strings.HasPrefix(p.Fact.Sentence, d.Sentence) || b.told[p.Seq] == d.Sentence {
		return nil
	}
	b.told[p.Seq] = d.Sentence
	return fmt.Errorf("%s %s To let it count all the same, take it once more and say why", d.Sentence, d.Do)
}

func (c Strike) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	seq := c.Press
	if seq == 0 {
		seq = b.lastAtOpenStep()
	}
	p, reason, err := b.decision(seq, c.Reason)
	if err != nil {
		return Reply{}, err
	}
	if p.Struck || p.Now == fact.Aside {
		return Reply{}, fmt.Errorf("press %d does not count already", p.Seq)
	}
	if err := b.record(ctx, fact.Struck{Press: p.Seq, Reason: reason}); err != nil {
		return Reply{}, err
	}
	b.at, b.chosen = p.Fact.Step, ""
	return Reply{Words: fmt.Sprintf("Press %d, %s at %s, is struck.", p.Seq, p.Fact.Value, p.Fact.Step)}, nil
}

// lastAtOpenStep is the last press that counts or is held, at the step last
// worked at and since it was last taken again.
func (b *Bench) lastAtOpenStep() int64 {
	if b.job == nil {
		return 0
	}
	begun := b.job.Begun(b.at)
	for _, p := range slices.Backward(b.job.Presses) {
		if p.Seq > begun && p.Fact.Step == b.at && !p.Struck && p.Now != fact.Aside {
			return p.Seq
		}
	}
	return 0
}

// decision finds the press that a person decides on, and holds the reason to a
// line.
func (b *Bench) decision(seq int64, reason string) (job.Press, string, error) {
	if b.job == nil {
		return job.Press{}, "", fmt.Errorf("no job is open: open one first")
	}
	p, ok := b.job.Press(seq)
	if !ok {
		return job.Press{}, "", fmt.Errorf("there is no such press in this job")
	}
	reason, err := oneLine("the reason", reason)
	return p, reason, err
}
