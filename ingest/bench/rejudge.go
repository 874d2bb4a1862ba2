package bench

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"shimwright/calc/overhaul"
	"shimwright/ingest/fact"
	"shimwright/ingest/job"
	"shimwright/ingest/journal"
)

// A Difference is where a judgement that was stored is not what this program
// works out from the same facts.
type Difference struct {
	Job     string
	Seq     int64 // of the judgement; 0 where none was stored
	Step    string
	Field   string // what of it differs; "" where all of it does
	Stored  string
	Now     string
	Program string // version that judged
}

// String is the difference in one sentence.
func (d Difference) String() string {
	switch {
	case d.Seq == 0:
		return fmt.Sprintf("job %s, %s: no judgement was stored; this program works out %q.", d.Job, d.Step, d.Now)
	case d.Field == "":
		return fmt.Sprintf("job %s, fact %d, %s: judged %q by version %s; this program judges nothing there.", d.Job, d.Seq, d.Step, d.Stored, d.Program)
	}
	return fmt.Sprintf("job %s, fact %d, %s: its %s is stored as %q by version %s; this program works out %q.",
		d.Job, d.Seq, d.Step, d.Field, d.Stored, d.Program, d.Now)
}

// Rejudge folds a job from its facts, works it anew at each of its judgements and
// gives how many there are and where they differ. Nothing is written.
func Rejudge(ctx context.Context, r *journal.Reader, id string) (judged int, out []Difference, err error) {
	var j *job.Job
	var res *overhaul.Results
	err = r.Read(ctx, "job/"+id, 0, func(s journal.Stored) error {
		f, err := fact.Decode(s)
		if err != nil {
			return err
		}
		if head, ok := f.(fact.Opened); ok && j == nil {
			j, err = job.Begin(id, s.Seq, head)
			return err
		}
		if j == nil {
			return fmt.Errorf("job %s does not begin by being opened", id)
		}
		if old, ok := f.(fact.Judged); ok && old.Step != "" {
			if res == nil {
				if res, err = j.Work(); err != nil {
					return fmt.Errorf("job %s cannot be worked at fact %d: %w", id, s.Seq, err)
				}
			}
			judged++
			out = append(out, differences(j, res, s, old)...)
		} else {
			res = nil
		}
		j, err = j.Then(s.Seq, f)
		return err
	})
	if err != nil {
		return judged, out, err
	}
	if j == nil {
		return 0, nil, fmt.Errorf("there is no job %s in %s", id, r.Path())
	}
	missing, err := unjudged(j)
	return judged, append(out, missing...), err
}

// unjudged are the judgements that a job that has ended should have and has not.
// An open one may still get them, when its bench takes it up.
func unjudged(j *job.Job) ([]Difference, error) {
	if j.Ended() == "" {
		return nil, nil
	}
	res, err := j.Work()
	if err != nil {
		return nil, fmt.Errorf("job %s cannot be worked: %w", j.ID, err)
	}
	var out []Difference
	for _, f := range judgements(j, res, "") {
		if d, ok := f.(fact.Judged); ok {
			out = append(out, Difference{Job: j.ID, Step: d.Step, Now: d.Words})
		}
	}
	return out, nil
}

// The first versions of a judgement's form that carry what a re-shim moved, and of a
// pack its leaves, its total and how sure its worked size is.
const (
	moveFigures = 2
	packFigures = 3
)

// differences holds a stored judgement to the one worked out now, field by field,
// as far as its form has them.
func differences(j *job.Job, res *overhaul.Results, s journal.Stored, old fact.Judged) []Difference {
	d := Difference{Job: j.ID, Seq: s.Seq, Step: old.Step, Program: old.Program}
	now, ok := JudgementOf(res.Of(old.Step))
	if !ok {
		d.Stored = old.Words
		return []Difference{d}
	}
	now.Build, now.Training, now.Digest, now.Leaves = res.Build, res.Training, j.Head.Digest, leavesAt(j, now)
	if now.What == whatPack && s.Version < packFigures {
		now.Leaves, now.Total, now.Uncertainty = nil, "", ""
	}
	if s.Version < moveFigures {
		now.Moved, now.Changed = "", ""
	}
	var out []Difference
	for _, f := range []struct{ field, stored, now string }{
		{"kind", old.What, now.What}, {"verdict", old.Verdict, now.Verdict}, {"figure", old.Value, now.Value},
		{"lower limit", old.Low, now.Low}, {"upper limit", old.High, now.High}, {"uncertainty", old.Uncertainty, now.Uncertainty},
		{"mean", old.Mean, now.Mean}, {"spread", old.Spread, now.Spread}, {"points", strings.Join(old.Points, ", "), strings.Join(now.Points, ", ")},
		{"move", old.Moved, now.Moved}, {"change by a move", old.Changed, now.Changed},
		{"leaves", strings.Join(old.Leaves, ", "), strings.Join(now.Leaves, ", ")}, {"total", old.Total, now.Total},
		{"build state", strconv.Itoa(old.Build), strconv.Itoa(now.Build)}, {"training", strconv.FormatBool(old.Training), strconv.FormatBool(now.Training)},
		{"sheet", old.Digest, now.Digest}, {"sentence", old.Words, now.Words}, {"advice", old.Advice, now.Advice},
	} {
		if f.stored != f.now {
			d.Field, d.Stored, d.Now = f.field, f.stored, f.now
			out = append(out, d)
		}
	}
	return out
}
