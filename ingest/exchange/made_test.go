package exchange_test

import (
	"context"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

// began is when the first job of a made journal is opened.
func began() time.Time { return time.Date(2026, 2, 3, 8, 0, 0, 0, time.UTC) }

// made is a journal of a bench with facts, each fact a minute after the last.
type made struct {
	t      testing.TB
	j      *journal.Journal
	now    time.Time
	buffer []journal.Record
}

func newMade(t testing.TB) *made {
	t.Helper()
	m := &made{t: t, now: began()}
	j, err := journal.Open(filepath.Join(t.TempDir(), "bay 2.journal"), journal.Options{Bench: "bay 2", Run: "r1", Now: func() time.Time { return m.now }, Rows: fact.Rows()})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := j.Close(); err != nil {
			t.Error(err)
		}
	})
	m.j = j
	return m
}

// put adds facts of a job; flush stores what is left.
func (m *made) put(job string, facts ...fact.Fact) {
	m.t.Helper()
	for _, f := range facts {
		r, err := fact.Encode("job/"+job, f)
		if err != nil {
			m.t.Fatal(err)
		}
		if m.buffer = append(m.buffer, r); len(m.buffer) == journal.MaxRecords {
			m.flush()
		}
	}
}

func (m *made) flush() {
	m.t.Helper()
	if len(m.buffer) == 0 {
		return
	}
	if _, err := m.j.Append(context.Background(), m.buffer...); err != nil {
		m.t.Fatal(err)
	}
	m.buffer = m.buffer[:0]
	m.now = m.now.Add(time.Minute)
}

func value(t testing.TB, s string) quantity.Value {
	t.Helper()
	v, err := quantity.ParseWithUnit(s)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func opened(serial string) fact.Opened {
	return fact.Opened{Drive: "FW3", Serial: serial, Sheet: "fw3", Issue: 4, Digest: "ab12", Text: "sheet: fw3", Rule: "guarded"}
}

func packJudged(off string) fact.Judged {
	return fact.Judged{Step: "pinion flange pack", What: "pack", Verdict: "good", Words: "fitted: the pinion sits 0.003 mm too deep", Value: off, Low: "-0.02", High: "0.02",
		Uncertainty: "0.011", Leaves: []string{"1.00 mm", "0.30 mm", "3 thou"}, Total: "1.379", Build: 2, Digest: "ab12", Program: "v1"}
}

func ringJudged(verdict string, points ...string) fact.Judged {
	return fact.Judged{Step: "backlash", What: "backlash", Verdict: verdict, Words: "backlash is " + verdict, Low: "0.15", High: "0.25", Uncertainty: "0.012",
		Mean: "0.5965/3", Spread: "0.032", Points: points, Build: 2, Digest: "ab12", Program: "v1"}
}

func torqueJudged(value, verdict string) fact.Judged {
	return fact.Judged{Step: "pinion turning torque", What: "turning torque", Verdict: verdict, Words: "turns " + verdict, Value: value, Low: "0.9", High: "1.4", Uncertainty: "0.05", Points: []string{" " + value}, Build: 2, Digest: "ab12", Program: "v1"}
}

func press(t testing.TB, figure string, n int) fact.Pressed {
	v := value(t, figure)
	limit := value(t, "0.02 mm")
	return fact.Pressed{Step: "pinion face height", Gauge: "D07", GaugeKind: "depth gauge", Limit: &limit, Value: &v, UnitStated: true, Raw: []byte("+00033.38\r"),
		Arrived: began().Add(time.Duration(n) * time.Second), Source: devices.SourceGauge, Pieces: []string{"S-31", "S-32"}, Outcome: fact.Taken, Sentence: "Taken: 33.38 mm."}
}

// pressNumber is the number of the last fact stored.
func (m *made) last() int64 {
	m.flush()
	s, _, err := m.j.Last(context.Background())
	if err != nil {
		m.t.Fatal(err)
	}
	return s.Seq
}

// jobs puts n ordinary jobs in, each with one pack, two rings, one torque and
// some presses.
func (m *made) jobs(n, presses int) {
	for i := range n {
		id := fmt.Sprintf("%d", 1000+i)
		m.put(id, opened(fmt.Sprintf("FW3-%d", i)))
		for k := range presses {
			m.put(id, press(m.t, "33.38 mm", k))
		}
		m.put(id, packJudged("0.003"), ringJudged("too close to call", "0 deg 0.21", "90 deg 0.18"), torqueJudged("1.12", "good"),
			ringJudged("good", "0 deg 0.182", "90 deg 0.2", "180 deg 0.2145"))
	}
	m.flush()
}
