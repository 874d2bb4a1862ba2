package pg_test

import (
	"context"
	"testing"
	"time"

	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/relay"
	"shimwright/ingest/relay/shop/shoptest"
	"shimwright/ingest/store"
	"shimwright/ingest/store/pg"
	"shimwright/ingest/store/storetest"
)

// A shop's database that a relay filled tells the same as the journal.
func TestOverAShop(t *testing.T) {
	s := shoptest.New(t)
	a := s.Bench(t, storetest.Bench, "bay1")
	storetest.Run(t, func(t *testing.T, j *journal.Journal) store.Store {
		ship(t, j, relay.Dial(a, j.Bench()))
		st, err := pg.Open(t.Context(), s.As("app"))
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(st.Close)
		return st
	})
}

// ship runs a relay until nothing waits.
func ship(t *testing.T, j *journal.Journal, dial func(context.Context) (relay.Link, error)) {
	t.Helper()
	last, _, err := j.Last(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithTimeout(t.Context(), 20*time.Second)
	defer stop()
	r := relay.New(relay.Config{Source: j.Reader, Rule: fact.Rows(), Dial: dial, Now: time.Now, Chance: func() float64 { return 0 },
		Told: func(s relay.State) {
			if s.Sent == last.Seq {
				stop()
			}
		}})
	r.Run(ctx)
	if r.State().Sent != last.Seq {
		t.Fatal(r.State().Trouble)
	}
}

// A connection that broke while it lay idle is not noticed by who asks next.
func TestBrokenWhileIdle(t *testing.T) {
	s := shoptest.New(t)
	st, err := pg.Open(t.Context(), s.As("app"))
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	shoptest.Exec(t, s.Owner, `SELECT pg_terminate_backend(pid, 5000) FROM pg_stat_activity WHERE application_name = 'shimwright board' AND datname = current_database()`)
	if _, err := st.Jobs(t.Context(), store.JobQuery{}); err != nil {
		t.Error(err)
	}
}
