//go:build soak

package relay_test

import (
	"context"
	"fmt"
	"sync"
	"testing"
	"time"

	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/relay"
	"shimwright/ingest/relay/shop/shoptest"
)

// BenchmarkBenches doubles the benches that ship to one shop at once, a thousand
// facts each, with a journal and a connection each; the time is until the last
// fact of all is in the tables. It wants a PostgreSQL: .ci/postgres runs a command
// with one.
func BenchmarkBenches(b *testing.B) {
	const each = 1000
	for n := 1; n <= 128; n *= 2 {
		b.Run(fmt.Sprint("n=", n), func(b *testing.B) {
			if testing.Short() && n > 8 {
				b.Skip("so many journals are not made in a short run")
			}
			s := shoptest.New(b)
			role := s.Role(b, "benches")
			journals := make([]*journal.Journal, n)
			for i := range journals {
				bay := fmt.Sprintf("bay %d", i)
				shoptest.Exec(b, s.Owner, `INSERT INTO shimwright.bench_head (bench, role) VALUES ($1, $2)`, bay, role)
				journals[i] = newJournal(b, bay)
				write(b, journals[i], each)
			}
			shoptest.Exec(b, s.Owner, `GRANT USAGE ON SCHEMA shimwright TO `+role)
			shoptest.Exec(b, s.Owner, `GRANT SELECT ON shimwright.form TO `+role)
			shoptest.Exec(b, s.Owner, `GRANT EXECUTE ON ALL FUNCTIONS IN SCHEMA shimwright TO `+role)
			// A shop takes each fact once, so there is one go, whatever b.N is.
			b.ResetTimer()
			began := time.Now()
			var all sync.WaitGroup
			for _, j := range journals {
				all.Go(func() {
					ctx, stop := context.WithTimeout(b.Context(), 4*time.Minute)
					defer stop()
					relay.New(relay.Config{Source: j.Reader, Rule: fact.Rows(), Dial: relay.Dial(s.As(role), j.Bench()), Now: time.Now, Chance: func() float64 { return 0.5 },
						Told: func(st relay.State) {
							if st.Sent == each {
								stop()
							}
						}}).Run(ctx)
				})
			}
			all.Wait()
			b.ReportMetric(float64(time.Since(began).Nanoseconds()), "ns/op")
			if got := shoptest.Count(b, s.Owner, `SELECT count(*) FROM shimwright.fact`); got != n*each {
				b.Fatalf("%d facts arrived of %d", got, n*each)
			}
		})
	}
}
