package register

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shimwright/devices"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

func opened(n int) fact.Opened {
	return fact.Opened{Drive: "FW3", Serial: fmt.Sprintf("A%d", n), Sheet: "fw3", Issue: 2, Text: "D07 S-31"}
}

func press(gauge string, pieces ...string) fact.Pressed {
	return fact.Pressed{Step: "pinion face", Gauge: gauge, GaugeKind: "depth gauge", Value: pointer("33.38 mm"), Raw: []byte("33.38\r"),
		Pieces: pieces, Source: devices.SourceGauge, Outcome: fact.Taken, Sentence: "33.38 mm taken."}
}

// short is a trace as lines.
func short(tr Trace) []string {
	var out []string
	for _, u := range tr.Jobs {
		out = append(out, fmt.Sprintf("%s %s %s..%s presses %d drawn %d", u.Job.ID, u.Job.Serial, u.First.Format("02T15"), u.Last.Format("02T15"), u.Presses, u.Drawn))
	}
	return append(out, tr.Checks...)
}

func TestUsedBetween(t *testing.T) {
	now := at(1, 8)
	j := open(t, filepath.Join(t.TempDir(), "a.journal"), &now)
	day := func(d, hour int, subject string, f fact.Fact) {
		now = at(d, hour)
		keep(t, j, subject, f)
	}
	day(1, 8, "job/0001", opened(1))
	day(1, 9, "job/0001", fact.Drew{Standard: "tall posts", Piece: "S-31", Size: figure("75.004 mm")})
	day(2, 9, "job/0001", press("D07", "S-31", "E-02"))
	day(3, 9, "job/0002", opened(2))
	day(3, 10, "job/0002", press("D07"))
	day(3, 11, "job/0002", press("D07X", "S-3"))
	day(3, 12, "bench", press("D07"))
	day(3, 13, "gauge/D09", fact.Checked{Piece: "S-31", Size: figure("75.004 mm"), Reading: figure("75.01 mm"), Source: devices.SourceGauge})
	day(5, 10, "job/0001", press("D07", "S-31"))
	day(2, 12, "job/0003", opened(3)) // the clock was set back
	day(2, 13, "job/0003", fact.Answered{Step: "note", Answer: "D07"})
	day(2, 14, "job/0003", press(`D"7`, "S-31"))
	for _, c := range []struct {
		name     string
		from, to time.Time
		want     []string
	}{
		{"D07", at(1, 0), at(9, 0), []string{"0001 A1 02T09..05T10 presses 2 drawn 0", "0002 A2 03T10..03T10 presses 1 drawn 0"}},
		{"D07", at(3, 10), at(3, 11), []string{"0002 A2 03T10..03T10 presses 1 drawn 0"}},
		{"D07", at(2, 0), at(3, 10), []string{"0001 A1 02T09..02T09 presses 1 drawn 0"}},
		{"D07", at(9, 0), at(10, 0), nil},
		{"S-31", at(1, 0), at(9, 0), []string{"0001 A1 01T09..05T10 presses 2 drawn 1", "0003 A3 02T14..02T14 presses 1 drawn 0", "D09"}},
		{`D"7`, at(1, 0), at(9, 0), []string{"0003 A3 02T14..02T14 presses 1 drawn 0"}},
		{"D0", at(1, 0), at(9, 0), nil},
		{"", at(1, 0), at(9, 0), nil},
	} {
		got, err := UsedBetween(context.Background(), j.Reader, c.name, c.from, c.to)
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(c.want, short(got)); d != "" {
			t.Errorf("%s from %s: %s", c.name, c.from, d)
		}
	}
	stopped, stop := context.WithCancel(context.Background())
	stop()
	if _, err := UsedBetween(stopped, j.Reader, "D07", at(1, 0), at(9, 0)); !errors.Is(err, context.Canceled) {
		t.Error(err)
	}
}

// A trace gives what a plain look through the same facts gives, over a few
// thousand of them whose clock jumps.
func TestUsedBetweenIsComplete(t *testing.T) {
	chance := rand.New(rand.NewPCG(7, 0))
	now := at(1, 0)
	j := open(t, filepath.Join(t.TempDir(), "a.journal"), &now)
	want := map[string]int{}
	from, to := at(8, 0), at(20, 0)
	var batch []journal.Record
	flush := func() {
		if len(batch) == 0 {
			return
		}
		stored, err := j.Append(context.Background(), batch...)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range stored {
			if s.Kind == "pressed" && strings.Contains(string(s.Payload), `"gauge":"D07"`) && !s.UTC.Before(from) && s.UTC.Before(to) {
				want[strings.TrimPrefix(s.Subject, "job/")]++
			}
		}
		batch = batch[:0]
	}
	for n := range 400 {
		subject := fmt.Sprintf("job/%04d", n+1)
		now = at(1, 0).Add(time.Duration(chance.IntN(28*24)) * time.Hour)
		batch = append(batch, encode(t, subject, opened(n)))
		for range 12 {
			batch = append(batch, encode(t, subject, press([]string{"D07", "D09", "M02"}[chance.IntN(3)], "S-31")))
		}
		flush()
	}
	tr, err := UsedBetween(context.Background(), j.Reader, "D07", from, to)
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]int{}
	for i, u := range tr.Jobs {
		got[u.Job.ID] = u.Presses
		if u.Job.Serial == "" || u.First.Before(from) || !u.Last.Before(to) || (i > 0 && u.First.Before(tr.Jobs[i-1].First)) {
			t.Errorf("%+v", u)
		}
	}
	if d := cmp.Diff(want, got); d != "" || len(got) < 50 {
		t.Errorf("%d jobs: %s", len(got), d)
	}
}

// BenchmarkUsedBetween traces a gauge over jobs of ten facts each; the gauge was
// in one job of a hundred.
func BenchmarkUsedBetween(b *testing.B) {
	for _, jobs := range []int{10_000, 100_000} {
		b.Run(fmt.Sprint(jobs), func(b *testing.B) {
			if jobs > 10_000 && testing.Short() {
				b.Skip("it takes minutes to make")
			}
			now := at(1, 0)
			j := open(b, filepath.Join(b.TempDir(), "a.journal"), &now)
			makeJobs(b, j, jobs, &now)
			b.ResetTimer()
			for b.Loop() {
				tr, err := UsedBetween(context.Background(), j.Reader, "D07", at(1, 0), now.Add(time.Hour))
				if err != nil || len(tr.Jobs) != jobs/100 {
					b.Fatal(len(tr.Jobs), err)
				}
			}
			b.ReportMetric(float64(jobs*10*b.N)/b.Elapsed().Seconds(), "facts/s")
		})
	}
}

func makeJobs(b *testing.B, j *journal.Journal, jobs int, now *time.Time) {
	b.Helper()
	var batch []journal.Record
	for n := range jobs {
		subject := fmt.Sprintf("job/%04d", n+1)
		gauge := "D09"
		if n%100 == 0 {
			gauge = "D07"
		}
		batch = append(batch, encode(b, subject, opened(n)), encode(b, subject, fact.Drew{Standard: "posts", Piece: "S-31", Size: figure("75 mm")}))
		for range 8 {
			batch = append(batch, encode(b, subject, press(gauge, "S-31")))
		}
		if len(batch)+10 > journal.MaxRecords || n == jobs-1 {
			*now = now.Add(time.Minute)
			if _, err := j.Append(context.Background(), batch...); err != nil {
				b.Fatal(err)
			}
			batch = batch[:0]
		}
	}
}

// BenchmarkLoad reads the register of a bench whose stock was drawn on by many
// packs, as at the start of the program.
func BenchmarkLoad(b *testing.B) {
	now := at(1, 0)
	j := open(b, filepath.Join(b.TempDir(), "a.journal"), &now)
	const packs = 20_000
	keep(b, j, "stock/shims", fact.Counted{Leaves: []fact.Heap{heap("0.30 mm", 100), heap("1.00 mm", 100), heap("0.05 mm", 100)}})
	one := encode(b, "stock/shims", fact.TakenOut{Job: "0017", Step: "pinion pack", Leaves: []fact.Heap{heap("0.30 mm", 1), heap("1.00 mm", 1)}})
	var batch []journal.Record
	for len(batch) < journal.MaxRecords {
		batch = append(batch, one)
	}
	for range packs / journal.MaxRecords {
		if _, err := j.Append(context.Background(), batch...); err != nil {
			b.Fatal(err)
		}
	}
	b.ResetTimer()
	for b.Loop() {
		if _, err := Load(context.Background(), j.Reader); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(packs*b.N)/b.Elapsed().Seconds(), "packs/s")
}
