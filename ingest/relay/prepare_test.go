package relay_test

import (
	"context"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"shimwright/devices"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/relay"
	"shimwright/ingest/relay/shop"
	"shimwright/ingest/relay/shop/shoptest"
)

// began is when the tests' clocks begin.
func began() time.Time { return time.Date(2026, 3, 2, 7, 0, 0, 0, time.UTC) }

// newJournal makes a bench's journal in a folder of its own.
func newJournal(t testing.TB, bench string) *journal.Journal {
	t.Helper()
	return openJournal(t, filepath.Join(t.TempDir(), "bench.journal"), bench)
}

func openJournal(t testing.TB, path, bench string) *journal.Journal {
	t.Helper()
	now := began()
	tick := func() time.Time { now = now.Add(time.Second); return now }
	j, err := journal.Open(path, journal.Options{Bench: bench, Run: "run", Now: tick, Rows: fact.Rows()})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = j.Close() })
	return j
}

// write appends facts of a job and its judgements, n of them.
func write(t testing.TB, j *journal.Journal, n int) {
	t.Helper()
	last, _, err := j.Last(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	var batch []journal.Record
	for i := range n {
		seq := last.Seq + int64(i) + 1
		job := fmt.Sprintf("job/%04d", (seq-1)/50+1)
		var f fact.Fact = fact.Pressed{Step: "backlash", Gauge: "D07", GaugeKind: "dial", Outcome: fact.Taken, Sentence: "Taken.", Raw: []byte("+0000.12\r"), Source: devices.SourceVirtual}
		switch seq % 50 {
		case 1:
			f = fact.Opened{Drive: "RD3", Serial: fmt.Sprint(seq), Sheet: "rd3", Issue: 2, Text: "sheet: rd3\n", Rule: "guarded"}
		case 10, 20, 30:
			f = fact.Judged{Step: "backlash", What: "backlash", Verdict: "GOOD", Words: "Good: '); DROP TABLE shimwright.fact; --\x00", Value: "0.120", Points: []string{"1 0.12", "2 0.13"}, Program: "test"}
		case 0:
			f = fact.Abandoned{Reason: "the test is over"}
		}
		r, err := fact.Encode(job, f)
		if err != nil {
			t.Fatal(err)
		}
		if batch = append(batch, r); len(batch) == journal.MaxRecords || i == n-1 {
			if _, err := j.Append(t.Context(), batch...); err != nil {
				t.Fatal(err)
			}
			batch = nil
		}
	}
}

// running is a relay that runs until its test ends or it is stopped.
type running struct {
	*relay.Relay
	told  chan relay.State
	woken chan struct{}
	stop  func()
}

// run starts a relay of a journal.
func run(t testing.TB, j *journal.Journal, a shop.Address, change func(*relay.Config)) *running {
	t.Helper()
	r := &running{told: make(chan relay.State, 1000), woken: make(chan struct{}, 1)}
	c := relay.Config{Source: j.Reader, Rule: fact.Rows(), Dial: relay.Dial(a, j.Bench()), Now: time.Now,
		Chance: func() float64 { return 0 }, Woken: r.woken,
		Told: func(s relay.State) {
			select {
			case r.told <- s:
			default:
			}
		}}
	if change != nil {
		change(&c)
	}
	r.Relay = relay.New(c)
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() { r.Run(ctx); close(done) }()
	r.stop = func() { cancel(); <-done }
	t.Cleanup(r.stop)
	return r
}

// await waits until the state is as wanted.
func (r *running) await(t testing.TB, what string, want func(relay.State) bool) relay.State {
	t.Helper()
	late := time.After(15 * time.Second)
	for {
		if s := r.State(); want(s) {
			return s
		}
		select {
		case <-r.told:
		case <-late:
			t.Fatalf("never %s: %+v", what, r.State())
		}
	}
}

func (r *running) sent(t testing.TB, n int64) {
	t.Helper()
	r.await(t, fmt.Sprintf("%d sent", n), func(s relay.State) bool { return s.Sent == n && s.Queue() == 0 && s.Connected })
}

// whole holds the shop's facts of a bench to its journal, byte for byte and hash
// for hash: each once, none besides.
func whole(t testing.TB, s *shoptest.Shop, j *journal.Journal) {
	t.Helper()
	rows, err := s.Owner.Query(t.Context(), `SELECT seq, utc_us, since_ns, run, subject, kind, version, payload, hash
		FROM shimwright.fact WHERE bench = $1 ORDER BY seq`, j.Bench())
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	prev, err := j.HashBefore(t.Context(), 1)
	if err != nil {
		t.Fatal(err)
	}
	n := int64(0)
	for rows.Next() {
		var f journal.Stored
		var us, ns int64
		var hash []byte
		if err := rows.Scan(&f.Seq, &us, &ns, &f.Run, &f.Subject, &f.Kind, &f.Version, &f.Payload, &hash); err != nil {
			t.Fatal(err)
		}
		f.UTC, f.SinceRun = time.UnixMicro(us), time.Duration(ns)
		copy(f.Hash[:], hash)
		n++
		if f.Seq != n || !f.Follows(prev) {
			t.Fatalf("fact %d, the %d. there, does not follow", f.Seq, n)
		}
		prev = f.Hash
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	last, _, err := j.Last(t.Context())
	if err != nil || last.Seq != n || last.Hash != prev {
		t.Fatalf("the shop has %d facts, the journal %d, %v", n, last.Seq, err)
	}
	judged := shoptest.Count(t, s.Owner, `SELECT count(*) FROM shimwright.judgement WHERE bench = $1`, j.Bench())
	kinds := shoptest.Count(t, s.Owner, `SELECT count(*) FROM shimwright.fact WHERE bench = $1 AND kind = 'judged'`, j.Bench())
	if judged != kinds {
		t.Fatalf("%d judgements of %d facts", judged, kinds)
	}
}
