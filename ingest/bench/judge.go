package bench

import (
	"shimwright/calc/overhaul"
	"shimwright/calc/ring"
	"shimwright/ingest/fact"
	"shimwright/ingest/job"
)

// judgements are the facts that say how a check or a fitted pack came out,
// where that is new since the last one stored: the figures as they were judged.
// It rests on the job alone, so a bench that was stopped between a press and
// its judgement finds what is missing.
func judgements(j *job.Job, now *overhaul.Results, program string) []fact.Fact {
	var out []fact.Fact
	for _, r := range now.Steps {
		f, ok := JudgementOf(r)
		if !ok {
			continue
		}
		old, had := j.Judged(r.Step.Name)
		if had && old.Fact.Words == f.Words && old.Fact.Value == f.Value && j.Entered(r.Step.Name) < old.Seq {
			continue
		}
		f.Leaves = leavesAt(j, f)
		f.Build, f.Training = now.Build, now.Training
		f.Digest, f.Program = j.Head.Digest, program
		out = append(out, f)
	}
	return out
}

// following are the facts that follow from a job as it stands and are not there
// yet: judgements, and holds by rule. Of a job that has ended nothing follows.
func following(j *job.Job, now *overhaul.Results, program string) []fact.Fact {
	if j.Ended() != "" {
		return nil
	}
	return append(judgements(j, now, program), ruled(j, now)...)
}

// asFound is the verdict on what is only looked at: before the strip, say. It has
// no limits, so it is neither good nor out.
const asFound = "as found"

// JudgementOf is a step's judgement as a bench stores it, but for what its job and
// its program tell: leaves, build state, training, digest, version. False where
// there is none.
func JudgementOf(r *overhaul.Result) (fact.Judged, bool) {
	switch {
	case r == nil:
		return fact.Judged{}, false
	case r.Check != nil && r.Check.Verdict != ring.NotJudged:
		return checkJudgement(r), true
	case r.Check != nil && r.Status == overhaul.Done && r.Step.Check.Band == nil && r.Check.Words != "":
		f := checkJudgement(r)
		f.Verdict = asFound
		return f, true
	case r.Pack != nil && r.Pack.Fitted != nil && r.Pack.Worked != nil && (r.Status == overhaul.Done || r.Status == overhaul.Held):
		return packJudgement(r), true
	}
	return fact.Judged{}, false
}

func checkJudgement(r *overhaul.Result) fact.Judged {
	c := r.Check
	f := fact.Judged{Step: r.Step.Name, What: r.Step.Check.What, Verdict: c.Verdict.String(), Words: c.Words, Advice: c.Advice}
	if c.Figure != nil {
		f.Value = c.Figure.Value.String()
	}
	if c.Band != nil {
		f.Low, f.High = c.Band.Low.String(), c.Band.High.String()
	}
	if !c.U.IsZero() {
		f.Uncertainty = c.U.String()
	}
	if c.Ring != nil {
		f.Mean, f.Spread = c.Ring.Mean.Value().String(), c.Ring.Spread.String()
	}
	if c.Compared != nil && c.Compared.Gear == "wheel" && c.Ring != nil {
		f.Moved, f.Changed = c.Compared.Predicted.String(), c.Compared.Change.String()
	}
	for _, p := range c.Points {
		if p.Figure != nil {
			f.Points = append(f.Points, p.Spot+" "+p.Figure.Value.String())
		}
	}
	return f
}

func packJudgement(r *overhaul.Result) fact.Judged {
	p := r.Pack
	f := fact.Judged{Step: r.Step.Name, What: whatPack, Verdict: ring.Good.String(), Words: p.FittedWords(), Value: p.Error.String(),
		Total: p.Fitted.Value.String()}
	f.Low, f.High = p.Within.Neg().String(), p.Within.String()
	if r.Budget != nil && r.Budget.Expanded.Sign() > 0 {
		f.Uncertainty = r.Budget.Expanded.String()
	}
	if r.Status == overhaul.Held {
		f.Verdict, f.Words = "out", r.Problem
	}
	return f
}

// whatPack is what a judgement of a fitted pack says that it is of.
const whatPack = "pack"

// leavesAt are the leaves of the pack that a judgement is of, as they were said;
// none where it is of no pack, or where they were not said.
func leavesAt(j *job.Job, f fact.Judged) []string {
	if f.What != whatPack {
		return nil
	}
	var out []string
	for _, l := range j.Leaves(f.Step) {
		out = append(out, l.String())
	}
	return out
}
