package main

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"time"

	"shimwright/calc/document"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ingest/job"
	"shimwright/ingest/journal"
	"shimwright/ingest/relay/shop"
	"shimwright/ingest/store"
	"shimwright/ingest/store/pg"
	"shimwright/ui/board"
)

// A shopSource is a shop's PostgreSQL as the board looks at it.
type shopSource struct {
	*pg.Board
	name string
}

var _ board.Source = (*shopSource)(nil)

// openShop connects to a shop. Where watched, a server that does not answer is
// said on the board and tried again; what only a person can mend is refused.
func openShop(ctx context.Context, a shop.Address, watched bool) (*shopSource, error) {
	name, err := a.Called()
	if err != nil {
		return nil, shopError(err)
	}
	s := &shopSource{pg.NewBoard(pg.New(a), time.Now), name}
	err = s.Check(ctx)
	passing := errors.Is(err, shop.ErrGone) || errors.Is(err, shop.ErrSlow) || errors.Is(err, shop.ErrFull)
	if err != nil && !(watched && passing) {
		s.Close()
		return nil, shopError(err)
	}
	return s, nil
}

// shopPace is the least time between two looks, whatever is heard.
const shopPace = 200 * time.Millisecond

// watch listens for batches until ctx is done and gives the board's ticks: each
// second, and when something was heard of.
func (s *shopSource) watch(ctx context.Context) (ticks <-chan time.Time, ended <-chan struct{}) {
	out, done := make(chan time.Time), make(chan struct{})
	go func() {
		defer close(done)
		listening := make(chan struct{})
		go func() { defer close(listening); s.Watch(ctx, rand.Float64) }()
		defer func() { <-listening }()
		second := time.NewTicker(time.Second)
		defer second.Stop()
		for {
			var at time.Time
			select {
			case at = <-second.C:
			case <-s.Woken():
				at = time.Now()
			case <-ctx.Done():
				return
			}
			select {
			case out <- at:
			case <-ctx.Done():
				return
			}
			select {
			case <-time.After(shopPace):
			case <-ctx.Done():
				return
			}
		}
	}()
	return out, done
}

func (s *shopSource) Name() string { return s.name }

// Shop tells that there are many benches.
func (s *shopSource) Shop() bool { return true }

// Since tells what changed after a mark.
func (s *shopSource) Since(ctx context.Context, after int64) (board.Since, error) {
	got, err := s.Board.Since(ctx, after)
	out := board.Since{Newest: got.Mark, Register: got.Gauge, Many: got.Many}
	for _, j := range got.Jobs {
		out.Jobs = append(out.Jobs, store.Job{Bench: j.Bench, ID: j.ID})
	}
	return out, err
}

// Decisions are the newest holds, liftings, concessions and keyed figures.
func (s *shopSource) Decisions(ctx context.Context, after int64) ([]board.Decision, error) {
	found, err := s.Decided(ctx, after, board.MostDecisions)
	if err != nil {
		return nil, err
	}
	var out []board.Decision
	for _, x := range found {
		if out, err = decision(out, x.Bench, x.Stored); err != nil {
			return nil, fmt.Errorf("bench %s: %w", x.Bench, err)
		}
	}
	return out, nil
}

// Registers are what the benches have.
func (s *shopSource) Registers(ctx context.Context) ([]board.Registered, bool, error) {
	all, many, err := s.Board.Registers(ctx)
	var out []board.Registered
	for _, r := range all {
		out = append(out, board.Registered{Bench: r.Bench, Register: r.Register})
	}
	return out, many, err
}

// Notes are what benches say of themselves, and whose rows are not to be trusted.
func (s *shopSource) Notes(context.Context) ([]board.Note, error) {
	var out []board.Note
	for _, n := range s.Board.Notes() {
		out = append(out, board.Note{Bench: n.Bench, Says: n.Words, At: n.Since, Last: n.Last, Still: n.Still})
	}
	return append(out, behindNotes(s.Behind(fact.Rows().Version))...), nil
}

// mostBehind is how many benches with such rows are named; of others it is said how
// many there are.
const mostBehind = 5

// behindNotes are of benches whose rows are not to be trusted.
func behindNotes(benches []string) []board.Note {
	if more := len(benches) - mostBehind; more > 0 {
		benches = append(slices.Clone(benches[:mostBehind]), counted(more, "bay more", "bays more"))
	}
	var out []board.Note
	for _, name := range benches {
		out = append(out, board.Note{Bench: name, Still: true,
			Says: "its list of jobs was made by another program, or is being made: run this program's version on that bench, which makes it anew"})
	}
	return out
}

// Opened is how a job was opened.
func (s *shopSource) Opened(ctx context.Context, of store.Job) (fact.Opened, error) {
	return openedIn(ctx, s.Facts(of.Bench), of.ID)
}

// Over tells whether a job has ended.
func (s *shopSource) Over(ctx context.Context, of store.Job) (bool, error) {
	state, err := s.StateOf(ctx, of.Bench, of.ID)
	return state != store.Open, err
}

// Job folds one job.
func (s *shopSource) Job(ctx context.Context, of store.Job) (*job.Job, error) {
	return foldJob(ctx, s.Facts(of.Bench), of.ID)
}

// foldJob folds one job, and says where its sheet is refused.
func foldJob(ctx context.Context, from bench.Facts, id string) (*job.Job, error) {
	j, _, err := bench.Load(ctx, from, id)
	var fault *document.Fault
	if errors.As(err, &fault) {
		return nil, fmt.Errorf("job %s: its frozen sheet is refused: %s", id, fault.Error())
	}
	return j, err
}

// isJob refuses a job of which there is no first fact.
func isJob(id string, head fact.Opened) error {
	if head.Sheet == "" {
		return fmt.Errorf("--job %s: there is no such job: write its number in full, as in 0001 (shimwright board --plain lists them)", quoted(id))
	}
	return nil
}

// openedIn reads a job's first fact; the zero one where there is no such job.
func openedIn(ctx context.Context, from bench.Facts, id string) (fact.Opened, error) {
	var out fact.Opened
	err := from.Read(ctx, "job/"+id, 0, func(x journal.Stored) error {
		f, err := fact.Decode(x)
		if err != nil {
			return err
		}
		head, ok := f.(fact.Opened)
		if !ok {
			return fmt.Errorf("job %s does not begin by being opened", id)
		}
		out = head
		return errEnough
	})
	if errors.Is(err, errEnough) {
		err = nil
	}
	return out, err
}

// decision adds what a fact decided about a job.
func decision(all []board.Decision, bench string, x journal.Stored) ([]board.Decision, error) {
	id, ok := strings.CutPrefix(x.Subject, "job/")
	if !ok {
		return all, nil
	}
	f, err := fact.Decode(x)
	if err != nil {
		return nil, err
	}
	return append(all, board.Decision{Bench: bench, Seq: x.Seq, Job: id, At: x.UTC, Fact: f}), nil
}
