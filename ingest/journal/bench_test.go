package journal

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// BenchmarkAppend compares, in one run and in turn, one press through Append
// with its two floors: the same bytes through a bare insert under the same
// settings, and a plain file appended to and synced.
func BenchmarkAppend(b *testing.B) {
	payload := strings.Repeat("p", 200)
	j := openTimed(b, b.TempDir())
	bare := bareInsert(b, payload)
	plain := plainFile(b, payload)
	ways := []struct {
		name string
		do   func() error
		took []time.Duration
	}{
		{"ours", func() error { _, err := j.Append(context.Background(), press(2041, payload)); return err }, nil},
		{"floor=bare-insert", bare, nil},
		{"floor=file-fsync", plain, nil},
	}
	for b.Loop() {
		for i := range ways {
			start := time.Now()
			if err := ways[i].do(); err != nil {
				b.Fatal(err)
			}
			ways[i].took = append(ways[i].took, time.Since(start))
		}
	}
	for _, way := range ways {
		slices.Sort(way.took)
		b.ReportMetric(micros(way.took, 50), "p50-us@"+way.name)
		b.ReportMetric(micros(way.took, 99), "p99-us@"+way.name)
	}
	b.ReportMetric(0, "ns/op") // the sum of three means nothing
}

func micros(sorted []time.Duration, percent int) float64 {
	return float64(sorted[(len(sorted)-1)*percent/100].Nanoseconds()) / 1000
}

func openTimed(b *testing.B, folder string) *Journal {
	return open(b, filepath.Join(folder, "b.journal"), Options{Bench: "Bay 3", Run: "run-1", Now: time.Now})
}

func bareInsert(b *testing.B, payload string) func() error {
	db, err := openWriter(filepath.Join(b.TempDir(), "bare"), nil)
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { db.Close() })
	if err := useLog(context.Background(), db); err != nil {
		b.Fatal(err)
	}
	run(b, db, `CREATE TABLE t (seq INTEGER PRIMARY KEY, payload BLOB NOT NULL) STRICT`)
	add, err := db.Prepare(`INSERT INTO t (payload) VALUES (?)`)
	if err != nil {
		b.Fatal(err)
	}
	return func() error { _, err := add.Exec([]byte(payload)); return err }
}

func plainFile(b *testing.B, payload string) func() error {
	f, err := os.Create(filepath.Join(b.TempDir(), "plain"))
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { f.Close() })
	return func() error {
		if _, err := f.WriteString(payload); err != nil {
			return err
		}
		return f.Sync()
	}
}

// many is a journal of n facts of 100 subjects.
func many(b *testing.B, n int) *Journal {
	j := openTimed(b, b.TempDir())
	for at := 0; at < n; at += MaxRecords {
		var group []Record
		for i := range MaxRecords {
			group = append(group, press((at+i)%100, fmt.Sprintf(`{"value":"31.90","of":%d}`, at+i)))
		}
		put(b, j, group...)
	}
	return j
}

func BenchmarkVerify(b *testing.B) {
	const facts = 64 * 1000
	j := many(b, facts)
	for b.Loop() {
		if err := j.Verify(b.Context(), nil); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(facts*float64(b.N)/b.Elapsed().Seconds(), "facts/s")
}

func BenchmarkReadSubject(b *testing.B) {
	const facts = 64 * 1000
	j := many(b, facts)
	for b.Loop() {
		if len(all(b, j.Reader, "job/41", 0)) != facts/100 {
			b.Fatal("facts are missing")
		}
	}
	b.ReportMetric(facts/100*float64(b.N)/b.Elapsed().Seconds(), "facts/s")
}

func BenchmarkSubjects(b *testing.B) {
	j := many(b, 64*1000)
	for b.Loop() {
		if s, err := j.Subjects(b.Context(), "job/"); err != nil || len(s) != 100 {
			b.Fatal(len(s), err)
		}
	}
}

// BenchmarkManySubjects lists the jobs of a journal of many: a page of them costs
// the same wherever it begins.
func BenchmarkManySubjects(b *testing.B) {
	const jobs = 20 * 1000
	j := openTimed(b, b.TempDir())
	var records []Record
	for i := range jobs {
		if records = append(records, press(i, "once")); len(records) == MaxRecords || i == jobs-1 {
			put(b, j, records...)
			records = records[:0]
		}
	}
	for b.Loop() {
		if s, err := j.Subjects(b.Context(), "job/"); err != nil || len(s) != jobs {
			b.Fatal(len(s), err)
		}
	}
	b.ReportMetric(jobs*float64(b.N)/b.Elapsed().Seconds(), "subjects/s")
}
