package register

import (
	"context"
	"strings"
	"testing"
	"time"

	"shimwright/calc/quantity"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

func figure(s string) quantity.Value {
	var v quantity.Value
	if err := v.UnmarshalText([]byte(s)); err != nil {
		panic(err)
	}
	return v
}

func pointer(s string) *quantity.Value {
	v := figure(s)
	return &v
}

func day3(d int) fact.Day { return fact.DayOf(time.Date(2026, 3, d, 0, 0, 0, 0, time.UTC)) }

// at is a time in March 2026: day and hour.
func at(d, hour int) time.Time { return time.Date(2026, 3, d, hour, 0, 0, 0, time.UTC) }

func then(t testing.TB, r *Register, subject string, when time.Time, facts ...fact.Fact) *Register {
	t.Helper()
	for _, f := range facts {
		var err error
		if r, err = r.Then(subject, when, f); err != nil {
			t.Fatal(err)
		}
	}
	return r
}

func refused(t testing.TB, what string, err error, words string) {
	t.Helper()
	switch {
	case err == nil:
		t.Errorf("%s is not refused, want %q", what, words)
	case !strings.Contains(err.Error(), words):
		t.Errorf("%s: want %q, got %v", what, words, err)
	case len(err.Error()) > 600 || strings.ContainsFunc(err.Error(), func(r rune) bool { return r < ' ' }):
		t.Errorf("%s: the words are too long, or do not print: %q", what, err)
	}
}

// open opens a journal whose clock is the variable given.
func open(t testing.TB, path string, now *time.Time) *journal.Journal {
	t.Helper()
	j, err := journal.Open(path, journal.Options{Bench: "bay 1", Run: "r", Now: func() time.Time { return *now }, Rows: fact.Rows()})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = j.Close() })
	return j
}

func encode(t testing.TB, subject string, f fact.Fact) journal.Record {
	t.Helper()
	r, err := fact.Encode(subject, f)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func keep(t testing.TB, j *journal.Journal, subject string, facts ...fact.Fact) {
	t.Helper()
	for _, f := range facts {
		if _, err := j.Append(context.Background(), encode(t, subject, f)); err != nil {
			t.Fatal(err)
		}
	}
}
