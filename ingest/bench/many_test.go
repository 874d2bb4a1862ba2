//go:build soak && unix

// What a bench costs that has worked for years: the curve of its opening over
// journals of 1,000 to 100,000 jobs. Building the largest takes minutes and more
// than a GiB of disk, so it stands behind a build tag:
//
//	go test -tags soak -run ^$ -bench ManyJobs -benchtime 5x -timeout 20m ./ingest/bench

package bench

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"strings"
	"testing"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/register"
	"shimwright/ingest/store"
)

// manyJobs makes a journal of before jobs one of n: signed jobs of a dozen facts,
// and the last three open.
func manyJobs(b *testing.B, j *journal.Journal, before, n int) {
	b.Helper()
	text := tw2(b)
	digest := Digest([]byte(text))
	signed := func(i int) about {
		return of(fmt.Sprintf("job/%04d", i), fact.Signed{As: fact.Fitter, By: fact.Signature{Initials: "AB", By: fact.ByInitials}, Ends: true})[0]
	}
	if before == 0 {
		put(b, j, approvedText(text), stocked())
	} else {
		put(b, j, signed(before-2), signed(before-1), signed(before))
	}
	var pending []about
	flush := func() {
		if len(pending) > 0 {
			put(b, j, pending...)
			pending = nil
		}
	}
	for i := before; i < n; i++ {
		job := of(fmt.Sprintf("job/%04d", i+1), oldJob(i, text, digest)...)
		if i < n-3 {
			job = append(job, signed(i+1))
		}
		job = append(job, of(register.StockSubject("shims"), fact.TakenOut{Job: fmt.Sprintf("%04d", i+1), Step: "end pack", Leaves: []fact.Heap{{Size: figure("1.00 mm"), Count: 1}}})...)
		job = append(job, of(gaugeSubject("D07"), fact.ZeroChecked{Reading: figure("0.00 mm"), Raw: []byte("0.00\r"),
			Arrived: time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC), Source: devices.SourceGauge})...)
		if len(pending)+len(job) > journal.MaxRecords {
			flush()
		}
		pending = append(pending, job...)
	}
	flush()
}

// oldJob is the facts of one job, as a bench stores them.
func oldJob(i int, text, digest string) []fact.Fact {
	press := func(step, spot, gauge, kind, value string) fact.Fact {
		v := figure(value)
		return fact.Pressed{Step: step, Spot: spot, Gauge: gauge, GaugeKind: kind, Value: &v, UnitStated: true, Raw: []byte(value + "\r"),
			Arrived: time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC), Source: devices.SourceGauge, Outcome: fact.Taken, Sentence: value + " from " + gauge + " at " + step + "."}
	}
	return []fact.Fact{
		fact.Opened{Drive: "Tarn TW2 winch shaft", Serial: fmt.Sprint(i), Sheet: "tw2", Issue: 1, Digest: digest, Text: text, Rule: "guarded"},
		press("casing depth", "", "D07", "depth gauge", "41.00 mm"), press("casing depth", "", "D07", "depth gauge", "41.01 mm"),
		press("shaft height", "", "M02", "micrometer", "39.60 mm"), press("shaft height", "", "M02", "micrometer", "39.60 mm"),
		fact.Fitted{Step: "end pack", Leaves: []quantity.Value{figure("1.00 mm"), figure("0.30 mm")}, Measured: []quantity.Value{figure("1.30 mm")}},
		fact.Judged{Step: "end pack", What: "pack", Verdict: "good", Words: "fitted", Value: "0.005", Low: "-0.02", High: "0.02", Build: 2, Digest: digest, Program: "test"},
		press("end float found", "pull", "I03", "dial indicator", "1.00 mm"), press("end float found", "push", "I03", "dial indicator", "1.10 mm"),
		fact.Judged{Step: "end float found", What: "end float", Verdict: "good", Words: "end float is 0.100 mm", Value: "0.1", Low: "0.05", High: "0.15", Build: 2, Digest: digest, Program: "test"},
	}
}

// resident is the memory that the process holds, SQLite's own included, in MB; 0
// where the system does not tell.
func resident(b *testing.B) float64 {
	b.Helper()
	text, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return 0
	}
	_, rest, _ := strings.Cut(string(text), "VmRSS:")
	kb := 0.0
	if _, err := fmt.Sscan(rest, &kb); err != nil {
		return 0
	}
	return kb / 1024
}

// BenchmarkManyJobs measures over journals of more and more jobs: opening a
// bench, putting another job in front, and reading the last 25 judgements of a
// sheet; and what memory the open bench holds.
func BenchmarkManyJobs(b *testing.B) {
	dir, made := b.TempDir(), 0
	for _, n := range []int{1000, 2000, 4000, 8000, 16_000, 32_000, 64_000, 100_000} {
		b.Run(fmt.Sprint("n=", n), func(b *testing.B) {
			if testing.Short() && n > 4000 {
				b.Skip("building a journal of so many jobs takes minutes: not in a short run")
			}
			path := filepath.Join(dir, "t.journal")
			j := openJournal(b, path, time.Now)
			manyJobs(b, j, made, n)
			made = n
			// A bench is opened every day, and keeps its register then.
			if _, err := Open(b.Context(), j, config(dir, time.Now)); err != nil {
				b.Fatal(err)
			}
			if err := j.Close(); err != nil {
				b.Fatal(err)
			}
			var opened, chosen, read time.Duration
			var memory runtime.MemStats
			for b.Loop() {
				start := time.Now()
				j := openJournal(b, path, time.Now)
				o, err := Open(b.Context(), j, config(dir, time.Now))
				if err != nil {
					b.Fatal(err)
				}
				opened += time.Since(start)
				if len(o.open) != 3 {
					b.Fatalf("%d open jobs", len(o.open))
				}
				start = time.Now()
				if err := o.front(b.Context(), o.open[2].ID); err != nil {
					b.Fatal(err)
				}
				chosen += time.Since(start)
				start = time.Now()
				got, err := j.Judgements(b.Context(), store.JudgementQuery{Sheet: "tw2", Limit: 25})
				if err != nil || len(got) != 25 {
					b.Fatal(len(got), err)
				}
				read += time.Since(start)
				debug.FreeOSMemory() // what building the journal used is no part of it
				runtime.ReadMemStats(&memory)
				if err := j.Close(); err != nil {
					b.Fatal(err)
				}
				runtime.KeepAlive(o)
			}
			ms := func(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 / float64(b.N) }
			b.ReportMetric(ms(opened), "open-ms")
			b.ReportMetric(ms(chosen), "job-ms")
			b.ReportMetric(ms(read), "judgements-ms")
			b.ReportMetric(float64(memory.HeapAlloc)/(1<<20), "heap-MB")
			b.ReportMetric(resident(b), "resident-MB")
			b.ReportMetric(0, "ns/op")
		})
	}
}
