package board

import (
	"context"
	"time"

	"shimwright/ingest/fact"
	"shimwright/ingest/job"
	"shimwright/ingest/register"
	"shimwright/ingest/store"
)

// A Source is what the board looks at: one bench's journal, or a shop's
// database. Its methods may be called from several goroutines. A mark is a number
// that goes up whenever the source grows: of a journal, its newest fact's.
type Source interface {
	store.Store
	// Name is what is looked at, in words.
	Name() string
	// Shop tells whether it is of many benches. Each of them numbers its jobs and
	// facts by itself, so that a job is then called by its bay too.
	Shop() bool
	// Since tells what changed after a mark.
	Since(ctx context.Context, after int64) (Since, error)
	// Decisions are the newest after a mark, newest first, at most MostDecisions;
	// some that are known already may be among them.
	Decisions(ctx context.Context, after int64) ([]Decision, error)
	// Registers are what the benches have, as it stands, by bench; many tells that
	// those of more benches are left out.
	Registers(ctx context.Context) (all []Registered, many bool, err error)
	// Notes are what is to be known of benches that do not ship as they should.
	Notes(ctx context.Context) ([]Note, error)
	// Over tells whether a job has ended.
	Over(ctx context.Context, of store.Job) (bool, error)
	// Opened is how a job was opened.
	Opened(ctx context.Context, of store.Job) (fact.Opened, error)
	// Job folds one job.
	Job(ctx context.Context, of store.Job) (*job.Job, error)
	// Used gives the jobs that used a gauge or a piece between two times.
	Used(ctx context.Context, name string, from, until time.Time) (register.Trace, error)
}

// Since is what changed.
type Since struct {
	Newest   int64       // the mark of now
	Jobs     []store.Job // that have new facts: bench and number of each
	Register bool        // something was said of gauges, pieces, stock or sheets
	Many     bool        // more than is worth telling one by one: read all anew
}

// A Decision is a hold, its lifting, a concession or a keyed figure.
type Decision struct {
	Bench string
	Seq   int64
	Job   string
	At    time.Time
	Fact  fact.Fact
}

// job is whose decision it is.
func (d Decision) job() store.Job { return store.Job{Bench: d.Bench, ID: d.Job} }

// A Registered is what one bench has.
type Registered struct {
	Bench string
	*register.Register
}

// A Note is what is to be known of a bench that does not ship as it should.
type Note struct {
	Bench string
	Says  string
	At    time.Time // since when
	Last  time.Time // when it was said last
	Still bool      // it is so now, as far as is known
}

// Bounds of what is read.
const (
	// MostDecisions is how many holds, concessions and keyed figures are looked
	// at, the newest.
	MostDecisions = 2000
	// MostJobs is how many jobs one list holds, the newest that match.
	MostJobs = store.Most

	mostSheets  = 50  // texts of sheets kept in hand
	mostSeries  = 20  // sheets' rings that are charted
	mostPages   = 200 // pages of jobs gone through in looking for a text
	closureJobs = 25  // jobs of a sheet folded for their closure errors
)
