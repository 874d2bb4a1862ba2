package relay_test

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/go-cmp/cmp"

	"shimwright/ingest/journal"
	"shimwright/ingest/relay"
	"shimwright/ingest/relay/shop"
	"shimwright/ingest/store"
)

// listed is a journal in memory, and a shop that has taken what was shipped.
type listed struct {
	sync.Mutex
	facts []journal.Stored
	head  relay.Head
	fail  error // of dialling
	ship  error
	dials []time.Time
	at    time.Time
}

func (l *listed) Bench() string { return "bay 1" }
func (l *listed) Last(context.Context) (journal.Stored, bool, error) {
	l.Lock()
	defer l.Unlock()
	if len(l.facts) == 0 {
		return journal.Stored{}, false, nil
	}
	return l.facts[len(l.facts)-1], true, nil
}
func (l *listed) HashBefore(_ context.Context, seq int64) (journal.Hash, error) {
	l.Lock()
	defer l.Unlock()
	if seq == 1 {
		return journal.Hash{1}, nil
	}
	return l.facts[seq-2].Hash, nil
}
func (l *listed) Read(_ context.Context, _ string, after int64, f func(journal.Stored) error) error {
	l.Lock()
	facts := l.facts
	l.Unlock()
	for _, s := range facts[after:] {
		if err := f(s); err != nil {
			return err
		}
	}
	return nil
}
func (l *listed) dial(context.Context) (relay.Link, error) {
	l.Lock()
	defer l.Unlock()
	l.dials = append(l.dials, time.Now())
	return l, l.fail
}
func (l *listed) Head(context.Context) (relay.Head, error) {
	l.Lock()
	defer l.Unlock()
	return l.head, nil
}
func (l *listed) Kept(_ context.Context, seq int64) (journal.Hash, bool, error) {
	h, err := l.HashBefore(context.Background(), seq+1)
	return h, true, err
}
func (l *listed) Ship(_ context.Context, b relay.Batch) error {
	l.Lock()
	defer l.Unlock()
	if l.ship == nil {
		l.head.Seq, l.head.Hash, l.head.Begun, l.head.Origin, l.at = b.Rows.Upto, l.facts[b.Rows.Upto-1].Hash, true, journal.Hash{1}, time.Now()
		l.head.Rows = b.Rows.Upto
	}
	return l.ship
}
func (l *listed) Anew(_ context.Context, rule int) error {
	l.Lock()
	defer l.Unlock()
	l.head.Rule = rule
	return nil
}

func (l *listed) Say(context.Context, string, string) error { return nil }

func (l *listed) Close() {}

func (l *listed) config() relay.Config {
	return relay.Config{Source: l, Dial: l.dial, Now: time.Now, Chance: func() float64 { return 0.5 },
		Rule: store.Rule[journal.Stored]{Version: 1, Of: func(journal.Stored) (store.Change, error) { return store.Change{}, nil }}}
}

// start runs a relay in a bubble and gives what ends it.
func start(r *relay.Relay) func() {
	ctx, stop := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() { r.Run(ctx); close(done) }()
	return func() { stop(); <-done }
}

// Waits double from half a second to a minute, at three quarters by this chance;
// where a person must act they are five minutes.
func TestBackoff(t *testing.T) {
	for name, row := range map[string]struct {
		err  error
		want []time.Duration
	}{
		"gone":   {errors.New("nobody there"), []time.Duration{375, 750, 1500, 3000, 6000, 12000, 24000, 45000, 45000, 45000, 45000, 45000}},
		"copied": {relay.ErrCopied, []time.Duration{225000, 225000, 225000}},
		"denied": {fmt.Errorf("connecting: %w: look at user and password", shop.ErrDenied), []time.Duration{225000, 225000, 225000}},
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				l := &listed{fail: row.err}
				r := relay.New(l.config())
				stop := start(r)
				time.Sleep(15 * time.Minute)
				synctest.Wait()
				if st := r.State(); st.Person != (name != "gone") {
					t.Errorf("a person must see to it: %t, of %s", st.Person, st.Trouble)
				}
				stop()
				var got []time.Duration
				for i := range row.want {
					got = append(got, l.dials[i+1].Sub(l.dials[i])/time.Millisecond)
				}
				if d := cmp.Diff(row.want, got); d != "" {
					t.Error(d)
				}
			})
		})
	}
}

// What waits is counted and aged though the shop is away, and said; when it is
// back everything goes at once.
func TestLag(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		woken := make(chan struct{}, 1)
		l := &listed{fail: errors.New("nobody there")}
		c := l.config()
		c.Woken = woken
		r := relay.New(c)
		stop := start(r)
		time.Sleep(10 * time.Minute)
		l.Lock()
		for n := range 3 {
			l.facts = append(l.facts, chained(l.facts, n+1))
		}
		l.Unlock()
		woken <- struct{}{}
		synctest.Wait()
		time.Sleep(20 * time.Second)
		want := "Shop: 3 facts wait, the oldest for 20s: nobody there. Tried again after 45s."
		if got := r.State().Words(time.Now()); got != want {
			t.Error(got)
		}
		l.Lock()
		l.fail = nil
		l.Unlock()
		time.Sleep(time.Minute)
		synctest.Wait()
		if got := r.State().Words(time.Now()); got != "Shop: connected, no fact waits." {
			t.Error(got)
		}
		stop()
	})
}

// A shop that is full is tried again ever more seldom; a journal whose chain is
// broken ships nothing from there on.
func TestStuck(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		l := &listed{ship: errors.New("the disk is full")}
		l.facts = append(l.facts, chained(nil, 1))
		r := relay.New(l.config())
		stop := start(r)
		time.Sleep(10 * time.Minute)
		synctest.Wait()
		l.Lock()
		n := len(l.dials)
		l.Unlock()
		if n > 25 {
			t.Errorf("%d attempts in ten minutes", n)
		}
		l.Lock()
		l.ship = nil
		l.Unlock()
		time.Sleep(time.Minute)
		bad := chained(l.facts, 2)
		bad.Payload = []byte("edited")
		l.Lock()
		l.facts = append(l.facts, bad)
		l.Unlock()
		time.Sleep(10 * time.Second)
		synctest.Wait()
		if s := r.State(); s.Sent != 1 || !strings.Contains(s.Trouble, "damaged at fact 2") {
			t.Errorf("%+v", s)
		}
		stop()
	})
}

// chained is the next fact after some, its hash worked out from the bytes that
// the journal's chain is told to cover.
func chained(before []journal.Stored, seq int) journal.Stored {
	prev := journal.Hash{1}
	if n := len(before); n > 0 {
		prev = before[n-1].Hash
	}
	utc := time.Now().UTC().Truncate(time.Microsecond)
	s := journal.Stored{Record: journal.Record{Subject: "bench", Kind: "k", Version: 1, Payload: []byte("{}")}, Seq: int64(seq), Run: "r", UTC: utc}
	b := append(prev[:], 1)
	b = binary.BigEndian.AppendUint64(b, uint64(seq))
	b = binary.BigEndian.AppendUint64(b, uint64(utc.UnixMicro()))
	b = binary.BigEndian.AppendUint64(b, 0)
	b = binary.BigEndian.AppendUint32(b, 1)
	for _, x := range []string{"r", "bench", "k", "{}"} {
		b = binary.BigEndian.AppendUint32(b, uint32(len(x)))
		b = append(b, x...)
	}
	s.Hash = sha256.Sum256(b)
	return s
}
