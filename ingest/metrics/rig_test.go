package metrics_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/devices"
	"shimwright/devices/port"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/metrics"
)

// noon is when the tests' day begins.
func noon() time.Time { return time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC) }

func fw3(t testing.TB) *sheet.Sheet {
	t.Helper()
	s, err := sheet.Read("fw3", fw3Text(t))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func fw3Text(t testing.TB) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "..", "cmd", "shimwright", "sheets", "fw3.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// A seen is a bench as it is looked at.
type seen struct {
	snapshot bench.Snapshot
	answer   func(context.Context) error
}

func (s *seen) Snapshot() *bench.Snapshot { return &s.snapshot }

func (s *seen) Answers(ctx context.Context) error { return s.answer(ctx) }

// A rig is metrics over a journal, fed with facts at times of a clock.
type rig struct {
	*metrics.Metrics
	t       testing.TB
	journal *journal.Journal
	bench   *seen
	now     time.Time
	seq     int64
	relay   metrics.Relay
	free    int64 // bytes for the journal
	away    error // why there are none
}

// newRig readies the counting; before puts facts in the journal first.
func newRig(t testing.TB, before ...func(*rig)) *rig {
	t.Helper()
	r := &rig{t: t, now: noon(), free: 1 << 40, bench: &seen{answer: func(context.Context) error { return nil }}}
	clock := func() time.Time { return r.now }
	j, err := journal.Open(filepath.Join(t.TempDir(), "a.journal"), journal.Options{Bench: "bay 2", Run: "r1", Now: clock, Rows: fact.Rows()})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = j.Close() })
	r.journal = j
	for _, b := range before {
		b(r)
	}
	r.Metrics, err = metrics.New(t.Context(), metrics.Config{
		Bay: "bay 2", Gauges: []string{"D07", "I03"}, Sheets: []*sheet.Sheet{fw3(t)}, Program: "test", Now: clock,
		Journal: j.Reader, Room: func() (int64, error) { return r.free, r.away },
	})
	if err != nil {
		t.Fatal(err)
	}
	r.bench.snapshot.Gauges = []bench.GaugeState{
		{ID: "D07", State: "connected", Battery: true, Counts: port.Counts{Good: 12, Connects: 3, LastGood: r.now.Add(-90 * time.Second),
			Bad: map[devices.Reason]int{devices.Noise: 2, "a new reason": 1}}},
		{ID: "I03", State: "gone"},
	}
	r.Watch(r.bench)
	r.WatchRelay(func() metrics.Relay { return r.relay })
	return r
}

// store puts facts in the journal.
func (r *rig) store(subject string, facts ...fact.Fact) {
	r.t.Helper()
	for _, f := range facts {
		rec, err := fact.Encode(subject, f)
		if err != nil {
			r.t.Fatal(err)
		}
		stored, err := r.journal.Append(r.t.Context(), rec)
		if err != nil {
			r.t.Fatal(err)
		}
		r.seq = stored[0].Seq
	}
}

// tell tells of facts as the bench does, each in a transaction that took 300 µs.
func (r *rig) tell(subject string, facts ...fact.Fact) {
	for _, f := range facts {
		r.seq++
		s := journal.Stored{Record: journal.Record{Subject: subject, Kind: f.Kind()}, Seq: r.seq, UTC: r.now}
		r.now = r.now.Add(300 * time.Microsecond)
		r.Fact(bench.Recorded{Stored: s, Fact: f, Took: 300 * time.Microsecond})
	}
}

func (r *rig) later(d time.Duration) { r.now = r.now.Add(d) }

func opened(training bool) fact.Opened {
	return fact.Opened{Drive: "fw3", Serial: "T-0417", Sheet: "fw3", Issue: 1, Training: training}
}

func pressed(gauge, step string, outcome fact.Outcome, sentence string) fact.Pressed {
	v, err := quantity.ParseWithUnit("31.90 mm")
	if err != nil {
		panic(err)
	}
	return fact.Pressed{Gauge: gauge, Step: step, Value: &v, Outcome: outcome, Sentence: sentence, Source: devices.SourceGauge}
}

func ring(build int, verdict, mean, spread string) fact.Judged {
	return fact.Judged{Step: "backlash", What: "backlash", Verdict: verdict, Mean: mean, Spread: spread, Build: build}
}

// aJob is a job with a hold, a re-shim and two rings, up to its signing.
func (r *rig) aJob(id string) {
	at := "job/" + id
	r.tell(at, opened(false))
	r.later(10 * time.Minute)
	r.tell(at, fact.Answered{Step: "pinion pair number", Answer: "7"})
	r.later(5 * time.Minute)
	r.tell(at, fact.Fitted{Step: "pinion spacer"}, pressed("D07", "pinion spacer", fact.Taken, "31.90 mm from D07."),
		pressed("D07", "pinion spacer", fact.Held, "31.90 mm from D07 misses 1 mm .. 2 mm, which the step \"pinion spacer\" wants."),
		fact.OnHold{Step: "pinion spacer", Reason: "waits for parts"})
	hold := r.seq
	r.later(time.Hour)
	r.tell(at, fact.Lifted{Hold: hold, Reason: "parts are here"}, fact.Fitted{Step: "wheel pack"}, ring(3, "as found", "0.19", "0.02"),
		ring(3, "out high", "0.28", "0.03"), ring(3, "good", "0.24", "0.03"))
	r.later(time.Hour)
	r.tell(at, fact.Fitted{Step: "wheel pack"}, ring(4, "good", "0.20", "0.03"))
	r.later(time.Minute)
	r.tell(at, fact.Signed{As: fact.Fitter}, fact.Signed{As: fact.Lead, Ends: true})
}

// aDay is a bench's day: the job, one that is training, one that goes on.
func (r *rig) aDay() {
	r.aJob("0001")
	r.tell("job/0002", opened(true), fact.Confirmed{Step: "cover bolts"}, fact.Abandoned{Reason: "opened twice"})
	r.tell("job/0003", opened(true), fact.Fitted{Step: "wheel pack"}, fact.OnHold{Reason: "no lead"})
	r.tell("job/0003", fact.Fitted{Step: "wheel pack"})
	r.tell("job/0004", opened(true), fact.Confirmed{Step: "cover bolts"})
	r.later(time.Hour)
	r.tell("job/0004", fact.Finished{})
	bad := pressed("D07", "", fact.Aside, "From D07: noise on the line: byte 0x81 (received \"\\x81\").")
	bad.Value = nil
	r.tell("bench", bad, pressed("D99", "", fact.Aside, "D99 is no gauge of this bench."))
	typed := pressed("keyed", "", fact.Taken, "31.90 mm was KEYED.")
	typed.Source = devices.SourceKeyed
	r.tell("job/0003", typed)
	r.tell("gauge/D07", fact.GaugeCertified{Certificate: fact.Certificate{Due: fact.DayOf(noon().AddDate(0, 0, 30))}})
	r.relay = metrics.Relay{Connected: true, Queue: 3, Lag: 2 * time.Second}
}

func job(n int) string { return fmt.Sprintf("job/%04d", n) }
