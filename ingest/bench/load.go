package bench

import (
	"context"
	"fmt"

	"shimwright/ingest/fact"
	"shimwright/ingest/job"
	"shimwright/ingest/journal"
)

// Facts are where a job is folded from: a journal, or a shop's database.
type Facts interface {
	// Read calls f for a subject's facts above a number, in their order.
	Read(ctx context.Context, subject string, after int64, f func(journal.Stored) error) error
	// Path is what they are called in a message.
	Path() string
}

// Load folds one job; at is the step of its last entry.
func Load(ctx context.Context, r Facts, id string) (j *job.Job, at string, err error) {
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
		j, err = j.Then(s.Seq, f)
		if step := fact.StepOf(f); step != "" {
			at = step
		}
		if s, ok := f.(fact.Struck); ok && err == nil {
			p, _ := j.Press(s.Press)
			at = p.Fact.Step
		}
		return err
	})
	if err == nil && j == nil {
		err = fmt.Errorf("there is no job %s in %s", id, r.Path())
	}
	return j, at, err
}
