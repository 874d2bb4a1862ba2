// Package store is what boards, charts, metrics and exports read: one row a job
// and one row a judgement, over one bench's journal or a shop's database alike.
//
// The rows say nothing that the facts do not say: they follow from them, can be
// made anew from them, and are there so that nobody who looks at many jobs has
// to fold them. Figures are exact decimals as text, in the base units (mm, N·m),
// as they were when they were judged; "" where a judgement has no such figure.
package store

import (
	"context"
	"time"
)

// A State is how far a job has come.
type State string

// The states of a job.
const (
	Open      State = "open"
	Signed    State = "signed"
	Finished  State = "finished" // as training: never released
	Abandoned State = "abandoned"
)

// A Job is one drive on one bench, from its opening to its end.
type Job struct {
	Bench    string
	ID       string
	Drive    string
	Serial   string
	Sheet    string
	Issue    int
	Digest   string // SHA-256 of the sheet's text
	Opened   time.Time
	State    State
	Ended    time.Time // zero while it is open
	Training bool      // it was opened as training, or a judgement of it rests on a virtual reading
}

// A Judgement is the figures of one check, fitted pack or sign-off as they were
// judged. Seq is its fact's sequence number in its bench's journal.
type Judgement struct {
	Bench       string
	Seq         int64
	Job         string
	Sheet       string
	Step        string
	What        string
	Verdict     string
	Words       string
	Advice      string
	Value       string
	Low         string
	High        string
	Uncertainty string
	Mean        string
	Spread      string
	Points      []string // "spot figure", in the order of the sheet
	Leaves      []string // of a pack, as they were said, with their unit
	Total       string   // of a pack as it counts; Value is Total less the worked size
	Build       int
	Training    bool
	Program     string // version that judged
	At          time.Time
}

// Most is how many rows one query gives at most, and where Limit is 0.
const Most = 1000

// JobQuery chooses jobs; a zero field chooses all. They come newest opened
// first. Before goes on behind the last row of an earlier answer.
type JobQuery struct {
	Bench       string // of a shop's; one bench's journal has its own alone
	State       State
	Sheet       string
	From, Until time.Time // opened at or after, and before
	Before      *Job
	Limit       int
}

// JudgementQuery chooses judgements; a zero field chooses all. They come newest
// first. Before, where not 0, goes on below that sequence number of the bench,
// which a shop's store must be told. Behind goes on behind the last row of an
// earlier answer, over many benches too.
type JudgementQuery struct {
	Bench       string
	Job         string
	Sheet       string
	What        string
	From, Until time.Time
	Before      int64
	Behind      *Judgement
	Limit       int
}

// A Store answers both. Its methods may be called from several goroutines.
type Store interface {
	Jobs(ctx context.Context, q JobQuery) ([]Job, error)
	Judgements(ctx context.Context, q JudgementQuery) ([]Judgement, error)
}

// A Change is what one fact changes in the rows; the zero Change is nothing.
type Change struct {
	Opens  *Job       // a job that begins; Bench is left to the journal
	Ends   *End       // a job that is over
	Judged *Judgement // Bench, Seq, Sheet and At are left to the journal
}

// An End is how and when a job was over.
type End struct {
	Job   string
	State State
	At    time.Time
}

// A Rule says which change a fact makes. Version goes up whenever Of would give
// other rows for the same facts; a journal whose rows were made by another
// version makes them anew when it is opened.
type Rule[F any] struct {
	Version int
	Of      func(F) (Change, error)
}

// Bounded is a query's limit between 1 and Most.
func Bounded(limit int) int {
	if limit < 1 || limit > Most {
		return Most
	}
	return limit
}
