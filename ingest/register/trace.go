package register

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"shimwright/devices"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/store"
)

// mostUses is the most jobs one trace gives.
const mostUses = 100_000

// A Use is one job in which a gauge or a piece was used.
type Use struct {
	Job         store.Job
	First, Last time.Time
	Presses     int // of the gauge, or with the piece in the setup; held and set aside too
	Drawn       int // how often the piece was drawn
}

// A Trace is where a gauge or a piece was used.
type Trace struct {
	Jobs   []Use    // by first use
	Checks []string // gauges that were checked on the piece, by number
	Cut    string   // what was not looked through, in words; "" where all was
}

// ErrMany: more jobs than one trace gives.
var ErrMany = errors.New("too many jobs")

// UsedBetween gives the jobs whose facts, stored from one time until before
// another, drew the piece or took presses of the gauge that is called name. It
// reads every fact, because the clock of a journal may have been set back and a
// job that was missed would be the one that matters; only facts that match are
// kept, and of a job only its first and last use. Errors: ErrMany, those of the
// journal, the context's own.
func UsedBetween(ctx context.Context, r *journal.Reader, name string, from, to time.Time) (Trace, error) {
	t, err := newTracer(name, from, to)
	if err != nil {
		return Trace{}, err
	}
	if err := r.Read(ctx, "", 0, func(s journal.Stored) error { return t.look(r.Bench(), s) }); err != nil {
		return Trace{}, err
	}
	if err := t.heads(ctx, r); err != nil {
		return Trace{}, err
	}
	return t.trace(func(_, gauge string) string { return gauge }), nil
}

// Gather gives the same of the facts of many benches: read calls look for each
// fact that may matter, with its bench. Of the jobs only bench and number are
// filled in; a gauge that was checked on the piece is called with its bench.
func Gather(name string, from, to time.Time, read func(look func(bench string, s journal.Stored) error) error) (Trace, error) {
	t, err := newTracer(name, from, to)
	if err != nil {
		return Trace{}, err
	}
	if err := read(t.look); err != nil {
		return Trace{}, err
	}
	return t.trace(func(bench, gauge string) string { return gauge + " of " + bench }), nil
}

// Quoted is a name as it stands in the payload of a fact that speaks of it.
func Quoted(name string) ([]byte, error) { return json.Marshal(name) }

func newTracer(name string, from, to time.Time) (*tracer, error) {
	quoted, err := Quoted(name)
	if err != nil {
		return nil, err
	}
	return &tracer{name: name, quoted: quoted, from: from, to: to, uses: map[place]*Use{}, checks: map[place]bool{}}, nil
}

// trace is what was gathered; called names a gauge of a bench.
func (t *tracer) trace(called func(bench, gauge string) string) Trace {
	var out Trace
	for at := range t.checks {
		out.Checks = append(out.Checks, called(at.bench, at.id))
	}
	slices.Sort(out.Checks)
	for _, u := range t.uses {
		out.Jobs = append(out.Jobs, *u)
	}
	slices.SortFunc(out.Jobs, func(a, b Use) int {
		return cmp.Or(a.First.Compare(b.First), cmp.Compare(a.Job.Bench, b.Job.Bench), cmp.Compare(len(a.Job.ID), len(b.Job.ID)), cmp.Compare(a.Job.ID, b.Job.ID))
	})
	return out
}

// A place is a job or a gauge of a bench.
type place struct{ bench, id string }

// tracer gathers uses while a journal is read.
type tracer struct {
	name     string
	quoted   []byte
	from, to time.Time
	uses     map[place]*Use
	checks   map[place]bool
}

// look takes one fact in. Most are passed over unread.
func (t *tracer) look(bench string, s journal.Stored) error {
	if s.UTC.Before(t.from) || !s.UTC.Before(t.to) {
		return nil
	}
	switch s.Kind {
	case fact.Pressed{}.Kind(), fact.Drew{}.Kind(), fact.Checked{}.Kind():
	default:
		return nil
	}
	if !bytes.Contains(s.Payload, t.quoted) {
		return nil
	}
	f, err := fact.Decode(s)
	if err != nil {
		return err
	}
	if id, ok := strings.CutPrefix(s.Subject, gauges); ok {
		if c, ok := f.(fact.Checked); ok && c.Piece == t.name {
			t.checks[place{bench, id}] = true
		}
		return nil
	}
	id, ok := strings.CutPrefix(s.Subject, "job/")
	if !ok {
		return nil
	}
	switch f := f.(type) {
	case fact.Pressed:
		if f.Gauge == t.name || slices.Contains(f.Pieces, t.name) {
			return t.used(place{bench, id}, s.UTC, func(u *Use) { u.Presses++ })
		}
	case fact.Drew:
		if f.Piece == t.name {
			return t.used(place{bench, id}, s.UTC, func(u *Use) { u.Drawn++ })
		}
	}
	return nil
}

func (t *tracer) used(job place, at time.Time, count func(*Use)) error {
	u, ok := t.uses[job]
	if !ok {
		if len(t.uses) >= mostUses {
			return fmt.Errorf("%s was used in more than %d jobs: %w for one list: choose days closer together", devices.Quote([]byte(t.name)), mostUses, ErrMany)
		}
		u = &Use{Job: store.Job{Bench: job.bench, ID: job.id}, First: at, Last: at}
		t.uses[job] = u
	}
	if at.Before(u.First) {
		u.First = at
	}
	if at.After(u.Last) {
		u.Last = at
	}
	count(u)
	return nil
}

// heads finds what each job was. A journal without rows, which an old program
// kept, is asked job by job.
func (t *tracer) heads(ctx context.Context, r *journal.Reader) error {
	missing := maps.Clone(t.uses)
	q := store.JobQuery{}
	for len(missing) > 0 {
		page, err := r.Jobs(ctx, q)
		if err != nil {
			return err
		}
		for i, j := range page {
			if u, ok := missing[place{j.Bench, j.ID}]; ok {
				u.Job = j
				delete(missing, place{j.Bench, j.ID})
			}
			q.Before = &page[i]
		}
		if len(page) == 0 {
			break
		}
	}
	for at, u := range missing {
		job, err := head(ctx, r, at.id)
		if err != nil {
			return err
		}
		u.Job = job
	}
	return nil
}

var errFound = errors.New("found")

// head reads a job's first fact.
func head(ctx context.Context, r *journal.Reader, id string) (store.Job, error) {
	job := store.Job{Bench: r.Bench(), ID: id}
	err := r.Read(ctx, "job/"+id, 0, func(s journal.Stored) error {
		f, err := fact.Decode(s)
		if err != nil {
			return err
		}
		if o, ok := f.(fact.Opened); ok {
			job.Drive, job.Serial, job.Sheet, job.Issue, job.Digest, job.Opened = o.Drive, o.Serial, o.Sheet, o.Issue, o.Digest, s.UTC
		}
		return errFound
	})
	if errors.Is(err, errFound) {
		err = nil
	}
	return job, err
}
