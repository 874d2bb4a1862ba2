//go:build unix

package bench

import (
	"bytes"
	"database/sql"
	"fmt"
	"path/filepath"
	"slices"
	"testing"
	"time"

	_ "modernc.org/sqlite"

	"shimwright/devices/port"
	"shimwright/devices/virtual"
)

// BenchmarkPressToDurable measures, in one run and in turn, how long it takes
// from the last byte written on a pseudo-terminal until OnFact tells that the
// press is durable, and the floor of that: the same driver's bare read of the
// same line, and the insert of the same fact under the same settings of SQLite.
// Each job has at most 60 presses, as real ones have.
func BenchmarkPressToDurable(b *testing.B) {
	heard := make(chan told, 1)
	r := newRig(b, func(c *Config) {
		tell := c.OnFact
		c.OnFact = func(f Recorded) {
			if f.Stored.Kind == "pressed" {
				heard <- told{time.Now(), f.Stored.Seq}
			}
			tell(f)
		}
	})
	floor := newFloor(b)
	ways := []struct {
		name string
		do   func() time.Duration
		took []time.Duration
	}{
		{"ours", func() time.Duration { return r.timed(heard) }, nil},
		{"floor=read-and-insert", floor.timed, nil},
	}
	for n := 0; b.Loop(); n++ {
		if n%60 == 0 {
			if n > 0 {
				r.do(Abandon{Reason: "the next one"})
			}
			r.at(recess)
		}
		if n%3 == 0 && n%60 != 0 {
			r.do(Retake{Step: recess, Reason: "again"})
		}
		for i := range ways {
			ways[i].took = append(ways[i].took, ways[i].do())
		}
	}
	for _, way := range ways {
		slices.Sort(way.took)
		for _, percent := range []int{50, 99} {
			at := way.took[(len(way.took)-1)*percent/100]
			b.ReportMetric(float64(at.Nanoseconds())/1000, fmt.Sprintf("p%d-us@%s", percent, way.name))
		}
	}
	b.ReportMetric(0, "ns/op") // the sum of two ways means nothing
}

// line is a press, all but its last byte.
const line, last = "+18.74mm", "\r"

// begin writes a line and gives the moment before its last byte.
func begin(t testing.TB, g *virtual.Gauge) time.Time {
	t.Helper()
	if err := g.SendRaw([]byte(line)); err != nil {
		t.Fatal(err)
	}
	start := time.Now()
	if err := g.SendRaw([]byte(last)); err != nil {
		t.Fatal(err)
	}
	return start
}

// told is when OnFact told of a press, and its number.
type told struct {
	at  time.Time
	seq int64
}

// timed takes the time of a press until OnFact is called with it. It waits until
// the press shows, so that what the bench does with it afterwards falls to nobody
// else's time.
func (r *rig) timed(heard <-chan told) time.Duration {
	r.clock.moveOn(double)
	for len(r.recorded) > 0 {
		<-r.recorded
	}
	start := begin(r.t, r.gauges["D07"])
	press := <-heard
	r.await("the press to show", func(s *Snapshot) bool { return s.Last != nil && s.Last.Seq >= press.seq })
	return press.at.Sub(start)
}

// A floor is a gauge read by the driver alone, and a bare table.
type floor struct {
	t     testing.TB
	gauge *virtual.Gauge
	port  port.Port
	add   *sql.Stmt
	fact  []any
}

func newFloor(t testing.TB) *floor {
	t.Helper()
	dir := t.TempDir()
	g := config(dir, time.Now).Gauges[0]
	gauge, err := virtual.New(g.Profile, g.Find.Path)
	if err != nil {
		t.Fatal(err)
	}
	opened, err := port.System(noPorts)(g.Find, g.Profile.Line)
	if err != nil {
		t.Fatal(err)
	}
	db, err := sql.Open("sqlite", "file:"+filepath.Join(dir, "floor")+"?_txlock=immediate&_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)")
	if err != nil {
		t.Fatal(err)
	}
	db.SetMaxOpenConns(1)
	t.Cleanup(func() {
		for _, c := range []func() error{opened.Port.Close, gauge.Close, db.Close} {
			if err := c(); err != nil {
				t.Error(err)
			}
		}
	})
	for _, do := range []string{
		`CREATE TABLE fact (seq INTEGER PRIMARY KEY, utc_us INTEGER NOT NULL, since_ns INTEGER NOT NULL, run TEXT NOT NULL,
			subject TEXT NOT NULL, kind TEXT NOT NULL, version INTEGER NOT NULL, payload BLOB NOT NULL, hash BLOB NOT NULL) STRICT`,
		`CREATE INDEX fact_by_subject ON fact (subject, seq)`,
	} {
		if _, err := db.Exec(do); err != nil {
			t.Fatal(err)
		}
	}
	add, err := db.Prepare(`INSERT INTO fact (utc_us, since_ns, run, subject, kind, version, payload, hash) VALUES (?, ?, ?, ?, ?, ?, ?, ?)`)
	if err != nil {
		t.Fatal(err)
	}
	const payload = 350 // bytes of a stored press, about
	return &floor{t, gauge, opened.Port, add, []any{time.Now().UnixMicro(), 1, "run", "job/0001", "pressed", 1, bytes.Repeat([]byte("p"), payload), make([]byte, 32)}}
}

func (f *floor) timed() time.Duration {
	start := begin(f.t, f.gauge)
	buf := make([]byte, 512)
	for end := false; !end; {
		n, err := f.port.Read(buf)
		if err != nil {
			f.t.Fatal(err)
		}
		end = bytes.HasSuffix(buf[:n], []byte(last))
	}
	if _, err := f.add.Exec(f.fact...); err != nil {
		f.t.Fatal(err)
	}
	return time.Since(start)
}
