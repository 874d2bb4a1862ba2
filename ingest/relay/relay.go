// Package relay ships a bench's facts to the shop's PostgreSQL: in order, in
// batches, each exactly once. RELAY.md tells how a shop is set up, what happens
// when something goes wrong, and what was measured.
//
// The bench never waits for it. It reads the journal beside the writer, holds one
// batch at a time, and tells how it stands in a State that anyone may look at.
// Where to go on is asked of the shop at every connection and follows from nothing
// else: the head of this bench there, its last fact and its hash. So a commit
// whose answer was lost, a program killed, a shop restored from a backup and a
// copied disk are all one question: is the shop's last fact this journal's fact of
// that number?
package relay

import (
	"context"
	"errors"
	"sync/atomic"
	"time"

	"shimwright/ingest/journal"
	"shimwright/ingest/relay/shop"
	"shimwright/ingest/store"
)

// A Source is the journal as the relay reads it; *journal.Reader is one.
type Source interface {
	Bench() string
	Read(ctx context.Context, subject string, after int64, f func(journal.Stored) error) error
	Last(ctx context.Context) (journal.Stored, bool, error)
	HashBefore(ctx context.Context, seq int64) (journal.Hash, error)
}

// A Link is one connection to the shop, as one bench. An error of any method ends
// it, but for Close, which is called once.
type Link interface {
	Head(ctx context.Context) (Head, error)
	// Kept is the hash of one fact there; false where it is not there.
	Kept(ctx context.Context, seq int64) (journal.Hash, bool, error)
	// Ship stores a batch, all of it or nothing.
	Ship(ctx context.Context, b Batch) error
	// Anew drops the bench's rows, to be made by this version of the rule.
	Anew(ctx context.Context, rule int) error
	// Say tells the shop's boards of a trouble of this bench, of one kind.
	Say(ctx context.Context, kind, words string) error
	Close()
}

// A Head is what the shop has of a bench.
type Head struct {
	Shop   string // tells one shop's database from another
	Begun  bool   // it has had facts; else Origin and Hash are nothing
	Seq    int64
	Hash   journal.Hash
	Origin journal.Hash // what the bench's chain begins with
	Rule   int          // version of the rule by which its rows were made
	Rows   int64        // up to which fact they were made
}

// A Batch is facts that go on from one with the number After and the hash On,
// with the rows that follow from them; or, without facts, rows of facts that are
// there already.
type Batch struct {
	After int64
	On    journal.Hash
	Facts []journal.Stored
	Rows  Rows
}

// Rows are what follows from the facts after one number up to another.
type Rows struct {
	Rule        int
	After, Upto int64
	Opened      []store.Job
	Judged      []store.Judgement
	Ended       []store.End
}

// A Config is what a relay is made of. Source, Rule, Dial, Now and Chance are
// required.
type Config struct {
	Source Source
	Rule   store.Rule[journal.Stored]
	Dial   func(ctx context.Context) (Link, error)
	// Now is the clock that the age of what waits is told by.
	Now func() time.Time
	// Chance gives a number from 0 up to 1, so that benches that lost one server
	// do not all come back at once.
	Chance func() float64
	// Mark keeps what the shop has confirmed, over restarts; nil keeps nothing, and
	// then a shop restored while this program was not running is not noticed.
	Mark Mark
	// Woken tells that facts may be there; nil looks every few seconds.
	Woken <-chan struct{}
	// Told is called at each change of what State gives; nil calls nothing.
	Told func(State)
}

// Limits of the relay (chosen, no source; RELAY.md has what they come to).
const (
	mostFacts  = 1000
	mostBytes  = 2 << 20 // payload bytes of a batch; one fact more may go over
	patience   = 30 * time.Second
	firstWait  = 500 * time.Millisecond
	mostWait   = time.Minute
	longWait   = 5 * time.Minute // where a person must do something
	lookAgain  = 5 * time.Second
	countAgain = time.Second // while one batch follows another
	askAgain   = time.Minute // whether a server that has nothing to do is there
)

// A Relay ships one bench's facts.
type Relay struct {
	cfg     Config
	state   atomic.Pointer[State]
	mark    Confirmed
	found   *found    // what the last look at the head showed, for boards; nil is nothing
	counted time.Time // when the queue was counted last
}

// New makes a relay; Run starts it.
func New(cfg Config) *Relay {
	r := &Relay{cfg: cfg}
	r.state.Store(&State{})
	return r
}

// State is how it stands.
func (r *Relay) State() State { return *r.state.Load() }

// Run ships until ctx is done. It returns nothing, because nothing that happens
// to it may end a bench: troubles are told in its State, and it tries again.
func (r *Relay) Run(ctx context.Context) {
	if r.cfg.Mark != nil {
		mark, err := r.cfg.Mark.Load()
		if err != nil {
			r.tell(func(s *State) { s.Notice = "What the shop had confirmed before cannot be read: " + err.Error() })
		}
		r.mark = mark
	}
	for failed := 0; ctx.Err() == nil; {
		shipped, err := r.session(ctx)
		if ctx.Err() != nil {
			break
		}
		if shipped {
			failed = 0
		}
		failed++
		wait := r.backoff(failed, err)
		r.tell(func(s *State) {
			s.Connected, s.Trouble, s.Person, s.Since, s.Retry = false, err.Error(), needsPerson(err), r.cfg.Now(), wait
		})
		r.pause(ctx, wait)
	}
	r.tell(func(s *State) { s.Connected = false })
}

// backoff doubles from a beginning to an end, between half and the whole of it by
// chance.
func (r *Relay) backoff(failed int, err error) time.Duration {
	wait := mostWait
	if needsPerson(err) {
		wait = longWait
	} else if failed < 10 {
		wait = min(firstWait<<(failed-1), mostWait)
	}
	return wait/2 + time.Duration(r.cfg.Chance()*float64(wait/2))
}

// needsPerson tells of troubles that no waiting ends.
func needsPerson(err error) bool {
	for _, kind := range []error{ErrCopied, ErrBehind, ErrOther, ErrJournal} {
		if errors.Is(err, kind) {
			return true
		}
	}
	return shop.NeedsPerson(err)
}

// pause waits, and keeps the length of the queue up to date meanwhile.
func (r *Relay) pause(ctx context.Context, wait time.Duration) {
	t := time.NewTimer(wait)
	defer t.Stop()
	for {
		r.count(ctx)
		select {
		case <-t.C:
			return
		case <-ctx.Done():
			return
		case _, open := <-r.cfg.Woken:
			if !open {
				return
			}
		}
	}
}
