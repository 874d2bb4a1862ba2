//go:build soak

package relay_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/relay"
	"shimwright/ingest/relay/shop"
	"shimwright/ingest/relay/shop/shoptest"
)

// TestSoakRelays ships prepared journals into one shop for a minute, 200 benches at
// once with more facts than they can ship in it; beside them one bench works live,
// and how long its facts wait is the lag. In the same run bare COPY takes a part of
// the same rows by as many connections before, and all that were shipped after.
// SOAK=long is that; without it 50 benches ship for ten seconds, and with
// SOAK=short 20 for three.
func TestSoakRelays(t *testing.T) {
	benches, each, lasting := 50, 24_000, 10*time.Second
	switch os.Getenv("SOAK") {
	case "short":
		benches, each, lasting = 20, 20_000, 3*time.Second
	case "long":
		benches, each, lasting = 200, 60_000, time.Minute
	}
	s := shoptest.New(t)
	role := s.Role(t, "benches")
	journals := prepare(t, benches, each)
	for _, j := range journals {
		shoptest.Exec(t, s.Owner, `INSERT INTO shimwright.bench_head (bench, role) VALUES ($1, $2)`, j.Bench(), role)
	}
	for _, g := range []string{`GRANT USAGE ON SCHEMA shimwright TO `, `GRANT SELECT ON shimwright.form TO `, `GRANT EXECUTE ON ALL FUNCTIONS IN SCHEMA shimwright TO `} {
		shoptest.Exec(t, s.Owner, g+role)
	}
	first := make([]int64, benches)
	for n := range first {
		first[n] = int64(each / 5)
	}
	before := copied(t, s, journals, first, "bare_before")
	shoptest.Exec(t, s.Owner, `DROP TABLE shimwright.bare_before`)

	l := newLive(t, s)
	sent, took := l.beside(func() ([]int64, time.Duration) { return shipFor(t, s.As(role), journals, lasting) })
	if slices.Max(sent) == int64(each) {
		t.Error("a bench had nothing more to ship: prepare more facts")
	}
	total := sum(sent)
	for n, j := range journals {
		if n%17 == 0 {
			upto(t, s, j, sent[n])
		}
	}
	if n := shoptest.Count(t, s.Owner, `SELECT count(*) FROM shimwright.fact WHERE bench <> $1`, l.j.Bench()); int64(n) != total {
		t.Errorf("%d facts are there and %d were confirmed", n, total)
	}
	l.r.sent(t, int64(len(l.lags)))
	whole(t, s, l.j)
	after := copied(t, s, journals, sent, "bare_after")

	rate := float64(total) / took.Seconds()
	bareBefore, bareAfter := float64(sum(first))/before.Seconds(), float64(total)/after.Seconds()
	slices.Sort(sent)
	slices.Sort(l.lags)
	t.Logf("%d relays: %d facts in %s, %.0f facts/s; the least of a bench %d, the middle %d, the most %d", benches, total, took.Round(time.Millisecond), rate, sent[0], sent[benches/2], sent[benches-1])
	t.Logf("bare COPY into the same form of table, indexes and all: %.0f rows/s of %d before, %.0f rows/s of the same %d after; the relays are %.2f of the mean, %.2f and %.2f of each",
		bareBefore, sum(first), bareAfter, total, rate/((bareBefore+bareAfter)/2), rate/bareBefore, rate/bareAfter)
	t.Logf("a bench that works beside them, from a fact stored to its being confirmed, %d facts: half of them within %s, 99 of 100 within %s, the slowest %s", len(l.lags),
		l.lags[len(l.lags)/2].Round(time.Millisecond), l.lags[len(l.lags)*99/100].Round(time.Millisecond), l.lags[len(l.lags)-1].Round(time.Millisecond))
}

// A prepared journal is one of many copies of one file, each read by itself and
// shipped under a bench's name of its own: the shop keeps benches apart by that.
type prepared struct {
	*journal.Reader
	bench string
}

func (p prepared) Bench() string { return p.bench }

func prepare(t *testing.T, benches, each int) []prepared {
	t.Helper()
	folder := t.TempDir()
	first := filepath.Join(folder, "first.journal")
	j := openJournal(t, first, "bay")
	write(t, j, each)
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(first)
	if err != nil {
		t.Fatal(err)
	}
	var out []prepared
	for n := range benches {
		path := filepath.Join(folder, fmt.Sprintf("%d.journal", n))
		if err := os.WriteFile(path, text, 0o600); err != nil {
			t.Fatal(err)
		}
		r, err := journal.OpenReader(path)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = r.Close() })
		out = append(out, prepared{r, fmt.Sprintf("bay %d", n)})
	}
	return out
}

func sum(n []int64) int64 {
	out := int64(0)
	for _, x := range n {
		out += x
	}
	return out
}

// shipFor runs a relay a journal for a time, and gives what each had confirmed.
func shipFor(t *testing.T, a shop.Address, journals []prepared, whole time.Duration) (sent []int64, took time.Duration) {
	began := time.Now()
	ctx, stop := context.WithTimeout(t.Context(), whole)
	defer stop()
	relays := make([]*relay.Relay, len(journals))
	var all sync.WaitGroup
	for n, j := range journals {
		relays[n] = relay.New(relay.Config{Source: j.Reader, Rule: fact.Rows(), Dial: relay.Dial(a, j.Bench()), Now: time.Now, Chance: func() float64 { return 0.5 }})
		all.Go(func() { relays[n].Run(ctx) })
	}
	<-ctx.Done()
	took = time.Since(began)
	all.Wait()
	// a batch whose answer came no more is there or not: the shop knows
	for _, j := range journals {
		l, err := relay.Dial(a, j.Bench())(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		h, err := l.Head(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		l.Close()
		sent = append(sent, h.Seq)
	}
	return sent, took
}

// A live bench stores a fact four times a second and waits until the shop
// confirms it.
type live struct {
	t    *testing.T
	j    *journal.Journal
	r    *running
	lags []time.Duration
}

func newLive(t *testing.T, s *shoptest.Shop) *live {
	a := s.Bench(t, "bay live", "live")
	l := &live{t: t, j: newJournal(t, "bay live")}
	l.r = run(t, l.j, a, nil)
	l.r.await(t, "connected", func(s relay.State) bool { return s.Connected })
	return l
}

// beside works while do does.
func (l *live) beside(do func() ([]int64, time.Duration)) ([]int64, time.Duration) {
	ended, worked := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(worked)
		every := time.NewTicker(250 * time.Millisecond)
		defer every.Stop()
		for {
			select {
			case <-every.C:
			case <-ended:
				return
			}
			write(l.t, l.j, 1)
			stored := time.Now()
			l.r.wake()
			seq := int64(len(l.lags)) + 1
			for l.r.State().Sent < seq {
				<-l.r.told
			}
			l.lags = append(l.lags, time.Since(stored))
		}
	}()
	sent, took := do()
	close(ended)
	<-worked
	return sent, took
}

// upto holds the shop's facts of a bench to the journal's up to a number.
func upto(t *testing.T, s *shoptest.Shop, j prepared, last int64) {
	t.Helper()
	n := shoptest.Count(t, s.Owner, `SELECT count(*) FROM shimwright.fact WHERE bench = $1 AND seq BETWEEN 1 AND $2`, j.Bench(), last)
	want, err := j.HashBefore(t.Context(), last+1)
	if err != nil {
		t.Fatal(err)
	}
	same := shoptest.Count(t, s.Owner, `SELECT count(*) FROM shimwright.fact WHERE bench = $1 AND seq = $2 AND hash = $3`, j.Bench(), last, want[:])
	if int64(n) != last || same != 1 && last > 0 {
		t.Errorf("%s: %d facts of %d, and the last hash is the journal's: %v", j.Bench(), n, last, same == 1)
	}
}

// errUpto ends a reading.
var errUpto = errors.New("up to there")

// copied copies every journal's facts, up to a number, into a table like the shop's,
// by a connection each.
func copied(t *testing.T, s *shoptest.Shop, journals []prepared, upto []int64, table string) time.Duration {
	shoptest.Exec(t, s.Owner, `CREATE TABLE shimwright.`+table+` (LIKE shimwright.fact INCLUDING ALL)`)
	began := time.Now()
	var all sync.WaitGroup
	for n, j := range journals {
		all.Go(func() {
			c, err := pgx.Connect(t.Context(), s.Owner.Config().ConnString())
			if err != nil {
				t.Error(err)
				return
			}
			defer c.Close(t.Context())
			var rows [][]any
			flush := func() {
				_, err := c.CopyFrom(t.Context(), pgx.Identifier{"shimwright", table}, []string{"bench", "seq", "utc_us", "since_ns", "run", "subject", "kind", "version", "payload", "hash"}, pgx.CopyFromRows(rows))
				if err != nil {
					t.Error(err)
				}
				rows = rows[:0]
			}
			err = j.Read(t.Context(), "", 0, func(f journal.Stored) error {
				if f.Seq > upto[n] {
					return errUpto
				}
				rows = append(rows, []any{j.Bench(), f.Seq, f.UTC.UnixMicro(), int64(f.SinceRun), f.Run, f.Subject, f.Kind, f.Version, f.Payload, f.Hash[:]})
				if len(rows) == 1000 {
					flush()
				}
				return nil
			})
			if flush(); err != nil && !errors.Is(err, errUpto) {
				t.Error(err)
			}
		})
	}
	all.Wait()
	return time.Since(began)
}
