package bench

import (
	"context"
	"fmt"

	"shimwright/calc/overhaul"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
	"shimwright/ingest/fact"
	"shimwright/ingest/guard"
	"shimwright/ingest/job"
	"shimwright/ingest/people"
)

type (
	// Hold stops a step, or the whole job where Step is empty.
	Hold struct{ Step, Reason string }
	// Lift ends a hold; 0 is the oldest one.
	Lift struct {
		Hold   int64
		Reason string
	}
	// Concede lets be a check or a pack that came out wrong, as it was found.
	Concede struct{ Step, Reason string }
	// Look is a second person's look at a press; 0 is the oldest that wants one.
	Look struct{ Press int64 }
)

// pairRule holds a job whose two parts do not bear one number.
const pairRule = "pair numbers"

func (c Hold) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	if b.job == nil {
		return Reply{}, errNoJob()
	}
	if c.Step != "" {
		if _, err := b.step(c.Step); err != nil {
			return Reply{}, err
		}
	}
	reason, err := oneLine("the reason", c.Reason)
	if err != nil {
		return Reply{}, err
	}
	for _, h := range b.job.Holds() {
		if h.Step == c.Step {
			return Reply{}, fmt.Errorf("%s is on hold already: %s", what(c.Step), h.Reason)
		}
	}
	by, err := b.signature(people.PlaceHold, false, nil)
	if err != nil {
		return Reply{}, err
	}
	if err := b.record(ctx, fact.OnHold{Step: c.Step, Reason: reason, By: by}); err != nil {
		return Reply{}, err
	}
	return Reply{Words: fmt.Sprintf("%s is on hold%s: %s.", capital(what(c.Step)), signs(by), trimmed(reason))}, nil
}

// what is what is held.
func what(step string) string {
	if step == "" {
		return "the whole job"
	}
	return step
}

// holdWords say why nothing can be put in at a step, and who lifts the hold.
func holdWords(h job.Hold) string {
	who := "A lead lifts the hold"
	if h.Rule == "" && h.By.Initials != "" {
		who = h.By.Initials + " or a lead lifts the hold"
	}
	return fmt.Sprintf("%s is on hold: %s. %s", capital(what(h.Step)), trimmed(h.Reason), who)
}

// onHold refuses what is put in at a step on hold. The answer that a rule's hold
// waits for is let in.
func (b *Bench) onHold(facts []fact.Fact) error {
	for _, f := range facts {
		step := fact.StepOf(f)
		if step == "" {
			continue
		}
		h, held := b.job.HoldOn(step)
		if _, answer := f.(fact.Answered); held && (h.Rule == "" || !answer) {
			return fmt.Errorf("%s", holdWords(h))
		}
	}
	return nil
}

func (c Lift) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	if b.job == nil {
		return Reply{}, errNoJob()
	}
	var hold job.Hold
	for _, h := range b.job.Holds() {
		if c.Hold == 0 || h.Seq == c.Hold {
			hold = h
			break
		}
	}
	if hold.Seq == 0 {
		return Reply{}, fmt.Errorf("there is no such hold on job %s", b.job.ID)
	}
	reason, err := oneLine("the reason", c.Reason)
	if err != nil {
		return Reply{}, err
	}
	by, err := b.signature(b.lifts(hold), false, nil)
	if err != nil {
		return Reply{}, err
	}
	if err := b.record(ctx, fact.Lifted{Hold: hold.Seq, Reason: reason, By: by}); err != nil {
		return Reply{}, err
	}
	return Reply{Words: fmt.Sprintf("The hold on %s is lifted%s: %s.", what(hold.Step), signs(by), trimmed(reason))}, nil
}

// lifts is the task of lifting a hold: whoever placed it takes it off again, any
// other one a lead.
func (b *Bench) lifts(h job.Hold) people.Task {
	if b.who != nil && h.Rule == "" && h.By.Initials != "" {
		if initials, err := fact.ReadInitials(b.who.Initials); err == nil && initials == h.By.Initials {
			return people.PlaceHold
		}
	}
	return people.LiftHold
}

func (c Concede) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	if _, err := b.step(c.Step); err != nil {
		return Reply{}, err
	}
	reason, err := oneLine("the reason", c.Reason)
	if err != nil {
		return Reply{}, err
	}
	f, ok := JudgementOf(b.results.Of(c.Step))
	switch {
	case !ok:
		return Reply{}, fmt.Errorf("%s is not judged yet: a concession lets be what was found, and nothing is", c.Step)
	case f.Verdict == ring.Good.String() || f.Verdict == asFound:
		return Reply{}, fmt.Errorf("%s is %s: it needs no concession", c.Step, f.Verdict)
	}
	by, err := b.signature(people.Concession, true, nil)
	if err != nil {
		return Reply{}, err
	}
	limit := ""
	if f.Low != "" {
		limit = f.Low + " .. " + f.High
	}
	if err := b.record(ctx, fact.Conceded{Step: c.Step, What: f.What, Limit: limit, Found: f.Words, Reason: reason, By: by}); err != nil {
		return Reply{}, err
	}
	return Reply{Words: fmt.Sprintf("%s is let be by concession of %s: %s. It stays shown as %s.", c.Step, by, trimmed(reason), f.Verdict)}, nil
}

// settled tells whether a step wants nothing more: it is done, or was let be.
// Parts of two pairs are let be by lifting the rule's hold on them.
func settled(j *job.Job, r *overhaul.Result) bool {
	switch r.Status {
	case overhaul.Done:
		return true
	case overhaul.Held:
		_, let := LetBe(j, r)
		return let
	case overhaul.Stopped:
		return j.Lifted(r.Step.Name, pairRule, trimmed(r.Problem))
	}
	return false
}

func (c Look) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	if b.job == nil {
		return Reply{}, errNoJob()
	}
	seq := c.Press
	if wanted := guard.LooksWanted(b.job, b.job.Looked()); seq == 0 && len(wanted) > 0 {
		seq = wanted[0]
	}
	p, ok := b.job.Press(seq)
	switch {
	case c.Press == 0 && seq == 0:
		return Reply{}, fmt.Errorf("no press wants a second look")
	case !ok:
		return Reply{}, fmt.Errorf("there is no such press in this job")
	case p.Now == fact.Aside || p.Fact.Value == nil:
		return Reply{}, fmt.Errorf("press %d does not count: it wants no second look", seq)
	}
	first := b.job.First()
	if len(first) == 0 {
		return Reply{}, fmt.Errorf("nobody said who works at this job, so nobody can be another: say that first")
	}
	by, err := b.signature(people.SecondLook, true, first)
	if err != nil {
		return Reply{}, err
	}
	if err := b.record(ctx, fact.LookedOver{Press: seq, By: by}); err != nil {
		return Reply{}, err
	}
	return Reply{Words: fmt.Sprintf("Press %d, %s at %s, had its second look%s.", seq, p.Fact.Value, p.Fact.Step, signs(by))}, nil
}

// ruled are the holds that rules place and lift as the job stands.
func ruled(j *job.Job, now *overhaul.Results) []fact.Fact {
	var out []fact.Fact
	held := map[string]job.Hold{}
	for _, h := range j.Holds() {
		if h.Rule == pairRule {
			held[h.Step] = h
		}
	}
	for _, r := range now.Steps {
		if r.Step.Kind != sheet.KindRecord || r.Step.Record.Equal == "" {
			continue
		}
		h, is := held[r.Step.Name]
		switch {
		case r.Status == overhaul.Stopped && !is && !j.Lifted(r.Step.Name, pairRule, trimmed(r.Problem)):
			out = append(out, fact.OnHold{Step: r.Step.Name, Reason: trimmed(r.Problem), Rule: pairRule})
		case r.Status == overhaul.Done && is:
			out = append(out, fact.Lifted{Hold: h.Seq, Reason: "the two are equal now", Rule: pairRule})
		}
	}
	return out
}
