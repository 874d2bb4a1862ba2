package exchange_test

import (
	"context"
	"encoding/csv"
	"io"
	"runtime"
	"runtime/debug"
	"testing"

	"shimwright/ingest/exchange"
)

// many are the jobs of the benchmarks, fewer in a short run. Making their journal
// takes longer than what is measured.
func many() int {
	if testing.Short() {
		return 4000
	}
	return 100_000
}

// BenchmarkRows exports the jobs, packs and rings of many jobs, as CSV, and bare
// writes as many cells of the same size with encoding/csv alone.
func BenchmarkRows(b *testing.B) {
	defer debug.SetGCPercent(debug.SetGCPercent(exchange.Garbage))
	m := newMade(b)
	m.jobs(many(), 0)
	var rows int64
	b.Run("jobs, packs and rings/ours", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			rows = 0
			for _, k := range []exchange.Kind{exchange.Jobs, exchange.Packs, exchange.Rings} {
				rows += export(b, m, k)
			}
		}
		b.ReportMetric(float64(many())*float64(b.N)/b.Elapsed().Seconds(), "jobs/s")
	})
	b.Run("jobs, packs and rings/floor=bare-CSV", func(b *testing.B) {
		if rows == 0 {
			b.Skip("how many rows there are is known from ours, which was not run")
		}
		b.ReportAllocs()
		for b.Loop() {
			bare(b, rows, 17, "pinion flange")
		}
		b.ReportMetric(float64(many())*float64(b.N)/b.Elapsed().Seconds(), "jobs/s")
	})
}

// BenchmarkPresses exports presses, thirty a job, beside the bare writer, and
// tells the most memory in use meanwhile.
func BenchmarkPresses(b *testing.B) {
	const each = 30
	jobs := many() / 10
	defer debug.SetGCPercent(debug.SetGCPercent(exchange.Garbage))
	m := newMade(b)
	m.jobs(jobs, each)
	perSecond := func(b *testing.B) { b.ReportMetric(float64(jobs*each)*float64(b.N)/b.Elapsed().Seconds(), "rows/s") }
	b.Run("ours", func(b *testing.B) {
		most := uint64(0)
		b.ReportAllocs()
		for b.Loop() {
			export(b, m, exchange.Presses)
		}
		perSecond(b)
		b.StopTimer()
		watched(b, m, &most)
		b.ReportMetric(float64(most)/(1<<20), "MiB-heap")
	})
	b.Run("floor=bare-CSV", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			bare(b, int64(jobs*each), 19, "depth gauge")
		}
		perSecond(b)
	})
}

func export(b *testing.B, m *made, k exchange.Kind) int64 {
	b.Helper()
	w := exchange.NewCSV(io.Discard)
	n, err := exchange.Source{Store: m.j.Reader, Facts: m.j.Reader}.Write(context.Background(), k, w)
	if err != nil {
		b.Fatal(err)
	}
	if err := w.Flush(); err != nil {
		b.Fatal(err)
	}
	return n
}

// watched exports once more and looks at the heap now and then.
func watched(b *testing.B, m *made, most *uint64) {
	b.Helper()
	s := exchange.Source{Store: m.j.Reader, Facts: m.j.Reader, Progress: func(n int64) {
		if n%2000 == 0 {
			var now runtime.MemStats
			runtime.ReadMemStats(&now)
			*most = max(*most, now.HeapInuse)
		}
	}}
	if _, err := s.Write(context.Background(), exchange.Presses, exchange.NewCSV(io.Discard)); err != nil {
		b.Fatal(err)
	}
}

func bare(b *testing.B, rows int64, columns int, cell string) {
	b.Helper()
	w := csv.NewWriter(io.Discard)
	row := make([]string, columns)
	for i := range row {
		row[i] = cell
	}
	for range rows {
		if err := w.Write(row); err != nil {
			b.Fatal(err)
		}
	}
	w.Flush()
}

// BenchmarkSpreadsheet writes a full sheet, and tells the most memory in use.
func BenchmarkSpreadsheet(b *testing.B) {
	defer debug.SetGCPercent(debug.SetGCPercent(exchange.Garbage))
	row := make([]exchange.Cell, len(exchange.Presses.Columns()))
	for i := range row {
		row[i] = exchange.Words("depth gauge")
		if i%3 == 0 {
			row[i] = exchange.Figure("33.380")
		}
	}
	most := uint64(0)
	b.ReportAllocs()
	for b.Loop() {
		x, err := exchange.NewXLSX()
		if err != nil {
			b.Fatal(err)
		}
		if err := x.Begin(exchange.Presses); err != nil {
			b.Fatal(err)
		}
		for i := range exchange.MostRows {
			if err := x.Row(row); err != nil {
				b.Fatal(err)
			}
			if i%100_000 == 0 {
				var now runtime.MemStats
				runtime.ReadMemStats(&now)
				most = max(most, now.HeapInuse)
			}
		}
		if _, err := x.WriteTo(io.Discard); err != nil {
			b.Fatal(err)
		}
		if err := x.Close(); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(exchange.MostRows*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
	b.ReportMetric(float64(most)/(1<<20), "MiB-heap")
}
