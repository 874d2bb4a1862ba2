package relay

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"shimwright/ingest/journal"
)

// A State is how a relay stands.
type State struct {
	Connected bool
	Sent      int64         // the last fact that the shop confirmed
	Last      int64         // the journal's last fact
	Oldest    time.Time     // of the facts that wait; zero where none does
	Trouble   string        // why nothing is shipped, and what to do; "" while it is
	Person    bool          // a person must see to Trouble: waiting mends nothing
	Since     time.Time     // when Trouble was met last
	Retry     time.Duration // how long after that it is tried again
	Notice    string        // what a person should know though facts are shipped
	Noticed   time.Time
}

// Queue is how many facts wait.
func (s State) Queue() int64 { return max(0, s.Last-s.Sent) }

// Lag is how old the oldest fact that waits is.
func (s State) Lag(now time.Time) time.Duration {
	if s.Oldest.IsZero() || s.Queue() == 0 {
		return 0
	}
	return max(0, now.Sub(s.Oldest))
}

// Words say it for a person.
func (s State) Words(now time.Time) string {
	queue := fmt.Sprintf("%d facts wait, the oldest for %s", s.Queue(), s.Lag(now).Round(time.Second))
	switch s.Queue() {
	case 0:
		queue = "no fact waits"
	case 1:
		queue = "1 fact waits, for " + s.Lag(now).Round(time.Second).String()
	}
	out := "Shop: not yet connected, " + queue + "."
	switch {
	case s.Trouble != "":
		out = fmt.Sprintf("Shop: %s: %s. Tried again after %s.", queue, s.Trouble, s.Retry.Round(time.Second))
	case s.Connected:
		out = "Shop: connected, " + queue + "."
	}
	if s.Notice != "" {
		out += " " + s.Notice
	}
	return out
}

func (r *Relay) tell(change func(*State)) {
	s := *r.state.Load()
	change(&s)
	if s == *r.state.Load() {
		return
	}
	r.state.Store(&s)
	if r.cfg.Told != nil {
		r.cfg.Told(s)
	}
}

// errFirst ends a reading at its first fact.
var errFirst = errors.New("enough")

// count looks how much waits.
func (r *Relay) count(ctx context.Context) { r.countFrom(ctx, r.State().Sent, func(*State) {}) }

// countFrom looks how much waits behind a fact, and tells that with a change.
func (r *Relay) countFrom(ctx context.Context, sent int64, change func(*State)) {
	r.counted = r.cfg.Now()
	last, _, err := r.cfg.Source.Last(ctx)
	if err != nil {
		r.tell(change) // the journal's trouble is the bench's to tell
		return
	}
	oldest := time.Time{}
	if last.Seq > sent {
		_ = r.cfg.Source.Read(ctx, "", sent, func(s journal.Stored) error {
			oldest = s.UTC
			return errFirst
		})
	}
	r.tell(func(s *State) {
		s.Last, s.Oldest = last.Seq, oldest
		change(s)
	})
}

// Confirmed is what a shop last confirmed.
type Confirmed struct {
	Shop  string `json:"shop"`
	Bench string `json:"bench"`
	Seq   int64  `json:"seq"`
	Hash  string `json:"hash"`
}

// A Mark keeps what was confirmed, over restarts. It decides nothing of what is
// shipped: it is what a loss at the shop is noticed by.
type Mark interface {
	Load() (Confirmed, error)
	Save(Confirmed) error
}

// FileMark keeps it in a file.
type FileMark string

const mostMark = 4096 // bytes

// Load reads the file; none is nothing confirmed.
func (m FileMark) Load() (Confirmed, error) {
	info, err := os.Stat(string(m))
	if errors.Is(err, fs.ErrNotExist) {
		return Confirmed{}, nil
	}
	if err != nil {
		return Confirmed{}, err
	}
	if info.Size() > mostMark {
		return Confirmed{}, fmt.Errorf("%s has %d bytes and was not made by this program: take it away", string(m), info.Size())
	}
	text, err := os.ReadFile(string(m))
	if err != nil {
		return Confirmed{}, err
	}
	var c Confirmed
	if err := json.Unmarshal(text, &c); err != nil {
		return Confirmed{}, fmt.Errorf("%s cannot be read, take it away: %w", string(m), err)
	}
	return c, nil
}

// Save writes it, whole or not at all. It is not forced to the disk: an older one
// notices less and harms nothing.
func (m FileMark) Save(c Confirmed) error {
	text, err := json.Marshal(c)
	if err != nil {
		return err
	}
	next := string(m) + ".new"
	if err := os.WriteFile(next, append(text, '\n'), 0o600); err != nil {
		return err
	}
	return os.Rename(next, filepath.Clean(string(m)))
}
