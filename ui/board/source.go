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
// database. Its methods may be called from several goroutines.
type Source interface {
	store.Store
	// Name is what is looked at, in words.
	Name() string
	// Since tells what changed above a fact's number.
	Since(ctx context.Context, after int64) (Since, error)
	// Decisions are the newest above a fact's number, newest first, at most
	// MostDecisions.
	Decisions(ctx context.Context, after int64) ([]Decision, error)
	// Register is what the bench has, as it stands.
	Register(ctx context.Context) (*register.Register, error)
	// Opened is how a job was opened.
	Opened(ctx context.Context, of store.Job) (fact.Opened, error)
	// Job folds one job.
	Job(ctx context.Context, of store.Job) (*job.Job, error)
	// Used gives the jobs that used a gauge or a piece between two times.
	Used(ctx context.Context, name string, from, until time.Time) (register.Trace, error)
}

// Since is what changed.
type Since struct {
	Newest   int64    // number of the newest fact
	Jobs     []string // ids of the jobs that have new facts
	Register bool     // something was said of gauges, pieces, stock or sheets
	Many     bool     // more than is worth telling one by one: read all anew
}

// A Decision is a hold, its lifting, a concession or a keyed figure.
type Decision struct {
	Seq  int64
	Job  string
	At   time.Time
	Fact fact.Fact
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
