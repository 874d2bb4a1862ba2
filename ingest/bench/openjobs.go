package bench

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"shimwright/ingest/fact"
	"shimwright/ingest/store"
)

// mostOpen is how many jobs may be open at once on one bench. Shops have two or
// three (common practice, no source).
const mostOpen = 40

// takeUp reads which jobs are open, and puts the one last used in front. Whatever
// the journal holds of other jobs is not read.
func (b *Bench) takeUp(ctx context.Context) error {
	if !b.journal.KeepsRows() {
		return errors.New("the journal was opened without its rows: a bench finds its open jobs by them")
	}
	last, ok, err := b.journal.Last(ctx)
	if err != nil {
		return err
	}
	if ok {
		b.seq, b.stored = last.Seq, last
	}
	if b.jobs, err = b.journal.CountJobs(ctx); err != nil {
		return err
	}
	if b.open, err = b.journal.Jobs(ctx, store.JobQuery{State: store.Open}); err != nil {
		return err
	}
	front, newest := "", int64(0)
	for _, o := range b.open {
		last, ok, err := b.journal.LastOf(ctx, "job/"+o.ID)
		if err != nil {
			return err
		}
		if ok && last > newest {
			front, newest = o.ID, last
		}
	}
	if front == "" {
		return nil
	}
	// A job that cannot be taken up keeps nobody from the others.
	if err := b.front(ctx, front); err != nil {
		b.trouble = fmt.Sprintf("Job %s is left aside. %s", front, err)
	}
	return nil
}

// front puts an open job in front: it is folded from its facts and worked.
func (b *Bench) front(ctx context.Context, id string) error {
	j, at, err := Load(ctx, b.journal.Reader, id)
	if err != nil {
		return err
	}
	was, wasResults, wasAt, wasChosen := b.job, b.results, b.at, b.chosen
	b.job, b.at, b.chosen = j, at, ""
	if err := b.settle(ctx); err != nil {
		b.job, b.results, b.at, b.chosen = was, wasResults, wasAt, wasChosen
		return err
	}
	return nil
}

// ChooseJob puts another open job in front.
type ChooseJob struct{ Job string }

func (c ChooseJob) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	if b.job != nil && b.job.ID == c.Job {
		return Reply{Words: fmt.Sprintf("Job %s is in front already.", c.Job)}, nil
	}
	if !slices.ContainsFunc(b.open, func(o store.Job) bool { return o.ID == c.Job }) {
		return Reply{}, fmt.Errorf("%s is no open job: %s", shown(c.Job), b.openWords())
	}
	if err := b.front(ctx, c.Job); err != nil {
		return Reply{}, err
	}
	facts := []fact.Fact{fact.Chosen{}}
	if offer := b.offer(); !sameOffer(b.job, offer) {
		facts = append(facts, offer)
	}
	if err := b.record(ctx, facts...); err != nil {
		return Reply{}, err
	}
	return Reply{Words: fmt.Sprintf("Job %s is in front: %s, serial %s.", b.job.ID, b.job.Head.Drive, b.job.Head.Serial)}, nil
}

// openWords names the open jobs.
func (b *Bench) openWords() string {
	if len(b.open) == 0 {
		return "none is open"
	}
	const most = 12
	var out []string
	for _, o := range b.open[:min(len(b.open), most)] {
		out = append(out, fmt.Sprintf("%s (serial %s)", o.ID, o.Serial))
	}
	words := "open are " + strings.Join(out, ", ")
	if n := len(b.open) - most; n > 0 {
		words += fmt.Sprintf(" and %d more", n)
	}
	return words
}

// opened notes an open job, newest first.
func (b *Bench) opened(id string, head fact.Opened) {
	b.open = slices.Insert(slices.Clone(b.open), 0, store.Job{Bench: b.cfg.Name, ID: id, Drive: head.Drive, Serial: head.Serial,
		Sheet: head.Sheet, Issue: head.Issue, Digest: head.Digest, Opened: b.cfg.Now().UTC(), State: store.Open, Training: head.Training})
}

// over takes a job that has ended off the bench; none is in front until one is
// chosen, so that no press lands in a job that nobody looks at.
func (b *Bench) over() {
	id := b.job.ID
	b.open = slices.DeleteFunc(slices.Clone(b.open), func(o store.Job) bool { return o.ID == id })
	b.job, b.results, b.at, b.chosen = nil, nil, "", ""
}

// goesOn says what is still open once a job is over.
func (b *Bench) goesOn() string {
	if len(b.open) == 0 {
		return ""
	}
	return " Choose the job to go on with: " + b.openWords() + "."
}
