package record

import (
	"fmt"
	"strconv"
	"strings"

	"shimwright/calc/overhaul"
	"shimwright/ingest/bench"
	"shimwright/ingest/carried"
	"shimwright/ingest/fact"
	"shimwright/ingest/job"
)

// judgements works the job anew as it stood at each verdict that was stored, and
// holds all that the verdict says to what comes out, but its sentences, which a
// later version may word otherwise.
func (v *Verification) judgements(c carried.Job, facts []fact.Fact) {
	head, _ := facts[0].(fact.Opened)
	j, err := job.Begin(c.ID, c.Facts[0].Seq, head)
	if err != nil {
		return // From said it
	}
	agree := 0
	for i, f := range facts {
		if i == 0 {
			continue
		}
		seq := c.Facts[i].Seq
		if was, ok := f.(fact.Judged); ok && was.Step != "" {
			res, err := j.Work()
			if err != nil {
				v.differs("fact %d: the job cannot be worked as it stood at this verdict: %s", seq, err)
				continue
			}
			if v.judgement(seq, was, j, res) {
				agree++
			}
		}
		if j, err = j.Then(seq, f); err != nil {
			return // From said it
		}
	}
	if agree > 0 {
		v.Proved = append(v.Proved, fmt.Sprintf("%d verdicts stored on the way come out the same, each from the facts before it", agree))
	}
}

// judgement holds one stored verdict to what comes out; what its form had no place
// for, or what has no figure, it does not say and is held to nothing.
func (v *Verification) judgement(seq int64, was fact.Judged, j *job.Job, res *overhaul.Results) bool {
	now, ok := bench.JudgementOf(res.Of(was.Step))
	if !ok {
		v.differs("fact %d: %s was judged %q by version %s; from the facts before it nothing is judged there", seq, was.Step, was.Verdict, was.Program)
		return false
	}
	var leaves []string
	for _, l := range j.Leaves(was.Step) {
		leaves = append(leaves, l.String())
	}
	agrees := true
	for _, x := range []struct{ what, was, now string }{
		{"kind", was.What, now.What}, {"verdict", was.Verdict, now.Verdict}, {"figure", was.Value, now.Value},
		{"lower limit", was.Low, now.Low}, {"upper limit", was.High, now.High}, {"uncertainty", was.Uncertainty, now.Uncertainty},
		{"mean", was.Mean, now.Mean}, {"spread", was.Spread, now.Spread},
		{"points", strings.Join(was.Points, ", "), strings.Join(now.Points, ", ")},
		{"change by a move", was.Changed, now.Changed}, {"move", was.Moved, now.Moved},
		{"leaves", strings.Join(was.Leaves, ", "), strings.Join(leaves, ", ")}, {"total", was.Total, now.Total},
		{"sheet", was.Digest, j.Head.Digest}, {"build state", strconv.Itoa(was.Build), strconv.Itoa(res.Build)},
		{"training", strconv.FormatBool(was.Training), strconv.FormatBool(res.Training)},
	} {
		if x.was != "" && x.was != x.now {
			agrees = false
			v.differs("fact %d: the %s of %s is stored as %q by version %s; from the facts before it, it is %q", seq, x.what, was.Step, x.was, was.Program, x.now)
		}
	}
	return agrees
}
