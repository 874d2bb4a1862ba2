//go:build soak

package relay_test

import (
	"context"
	"fmt"
	"os"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/relay"
	"shimwright/ingest/relay/shop/shoptest"
)

// TestSoakRelays ships prepared journals into one shop, 200 at once for about a
// minute (20 and a few seconds with SOAK=short), beside a bare COPY of the same
// rows by as many connections in the same run, before and after.
func TestSoakRelays(t *testing.T) {
	benches, each := 200, 5000
	if os.Getenv("SOAK") == "short" {
		benches, each = 20, 1000
	}
	s := shoptest.New(t)
	role := s.Role(t, "benches")
	journals := make([]*journal.Journal, benches)
	first := newJournal(t, "bay 0")
	write(t, first, each)
	for n := range journals {
		shoptest.Exec(t, s.Owner, `INSERT INTO shimwright.bench_head (bench, role) VALUES ($1, $2)`, fmt.Sprintf("bay %d", n), role)
		journals[n] = first
		if n > 0 {
			journals[n] = newJournal(t, fmt.Sprintf("bay %d", n))
			write(t, journals[n], each)
		}
	}
	shoptest.Exec(t, s.Owner, `GRANT USAGE ON SCHEMA shimwright TO `+role)
	shoptest.Exec(t, s.Owner, `GRANT SELECT ON shimwright.form TO `+role)
	shoptest.Exec(t, s.Owner, `GRANT EXECUTE ON ALL FUNCTIONS IN SCHEMA shimwright TO `+role)

	rate := func(took time.Duration) float64 { return float64(benches*each) / took.Seconds() }
	before := copied(t, s, journals, "bare_before")
	began := time.Now()
	var lags []time.Duration
	var mu sync.Mutex
	var all sync.WaitGroup
	for _, j := range journals {
		all.Go(func() {
			ctx, stop := context.WithTimeout(t.Context(), 4*time.Minute)
			defer stop()
			r := relay.New(relay.Config{Source: j.Reader, Rule: fact.Rows(), Dial: relay.Dial(s.As(role), j.Bench()), Now: time.Now, Chance: func() float64 { return 0.5 },
				Told: func(st relay.State) {
					if st.Sent == int64(each) {
						stop()
					}
				}})
			r.Run(ctx)
			mu.Lock()
			lags = append(lags, time.Since(began))
			mu.Unlock()
		})
	}
	all.Wait()
	took := time.Since(began)
	after := copied(t, s, journals, "bare_after")
	for n, j := range journals {
		if n%17 == 0 {
			whole(t, s, j)
		}
	}
	if n := shoptest.Count(t, s.Owner, `SELECT count(*) FROM shimwright.fact`); n != benches*each {
		t.Errorf("%d facts", n)
	}
	slices.Sort(lags)
	bare := (rate(before) + rate(after)) / 2
	t.Logf("%d relays, %d facts: %.0f facts/s in %s; COPY of the same rows %.0f and %.0f rows/s, so %.2f of COPY. Behind until: half of them %s, the last %s",
		benches, benches*each, rate(took), took.Round(time.Millisecond), rate(before), rate(after), rate(took)/bare, lags[len(lags)/2].Round(time.Millisecond), lags[len(lags)-1].Round(time.Millisecond))
}

// copied copies every journal's facts into a table like the shop's, by a
// connection each.
func copied(t *testing.T, s *shoptest.Shop, journals []*journal.Journal, table string) time.Duration {
	shoptest.Exec(t, s.Owner, `CREATE TABLE shimwright.`+table+` (LIKE shimwright.fact INCLUDING ALL)`)
	began := time.Now()
	var all sync.WaitGroup
	for _, j := range journals {
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
				rows = append(rows, []any{j.Bench(), f.Seq, f.UTC.UnixMicro(), int64(f.SinceRun), f.Run, f.Subject, f.Kind, f.Version, f.Payload, f.Hash[:]})
				if len(rows) == 1000 {
					flush()
				}
				return nil
			})
			if flush(); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	return time.Since(began)
}
