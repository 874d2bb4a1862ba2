package exchange

import (
	"context"
	"errors"
	"fmt"

	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
	"shimwright/devices"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/store"
)

// Results are one job's, as they were judged: of each step the last judgement,
// in the order in which the steps were first judged.
type Results struct {
	Job    store.Job
	Judged []store.Judgement
	Rule   ring.Rule // by which its verdicts are given
	// Factor is how many standard uncertainties an expanded uncertainty is; nought
	// where the sheet leaves it to Student's t, or cannot be read.
	Factor quantity.Exact
}

// errFound ends a reading early.
var errFound = errors.New("found")

// Results reads those of the job chosen.
func (s Source) Results(ctx context.Context) (Results, error) {
	var out Results
	found := false
	for j, err := range s.jobs(ctx) {
		if err != nil {
			return out, err
		}
		out.Job, found = j, true
	}
	if !found {
		return out, fmt.Errorf("%s is no job of this journal: write the number of one (shimwright export jobs lists them)", devices.Quote([]byte(s.Job)))
	}
	seen := map[string]int{}
	var newest []store.Judgement
	for page, err := range s.judgements(ctx, Steps) {
		if err != nil {
			return out, err
		}
		if newest = append(newest, page...); len(newest) > mostOfJob {
			return out, fmt.Errorf("job %s has more than %d judgements: more than one job can have: look at the journal with shimwright verify", s.Job, mostOfJob)
		}
	}
	for i := len(newest) - 1; i >= 0; i-- {
		d := newest[i]
		at, ok := seen[d.Step]
		if !ok {
			seen[d.Step] = len(out.Judged)
			out.Judged = append(out.Judged, d)
			continue
		}
		out.Judged[at] = d
	}
	if len(out.Judged) == 0 {
		return out, fmt.Errorf("job %s was never judged: no check was made and no pack fitted, so there are no results", s.Job)
	}
	return out, s.rule(ctx, &out)
}

// rule reads by which rule a job is judged from the fact that opened it.
func (s Source) rule(ctx context.Context, r *Results) error {
	if s.Facts == nil {
		return nil
	}
	err := s.Facts.Read(ctx, "job/"+r.Job.ID, 0, func(f journal.Stored) error {
		if f.Kind != (fact.Opened{}).Kind() {
			return nil
		}
		o, err := fact.Decode(f)
		if err != nil {
			return err
		}
		r.take(o.(fact.Opened))
		return errFound
	})
	if errors.Is(err, errFound) {
		return nil
	}
	return err
}

func (r *Results) take(o fact.Opened) {
	r.Job.Training = r.Job.Training || o.Training
	if o.Rule == ring.Simple.String() {
		r.Rule = ring.Simple
	}
	if s, err := sheet.Read(o.Sheet, []byte(o.Text)); err == nil && !s.Guard.Student {
		r.Factor = s.Guard.K
	}
}
