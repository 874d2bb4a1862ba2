package carried

import (
	"context"
	"errors"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

// aJournal has two jobs' facts with others between.
func aJournal(t *testing.T) *journal.Reader {
	t.Helper()
	at := time.Date(2026, 2, 3, 9, 0, 0, 0, time.UTC)
	path := filepath.Join(t.TempDir(), "bay.journal")
	j, err := journal.Open(path, journal.Options{Bench: "bay 2", Run: "r1", Now: func() time.Time { at = at.Add(time.Second); return at }})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = j.Close() })
	for _, w := range []struct {
		subject string
		f       fact.Fact
	}{
		{"job/1", fact.Opened{Drive: "drive", Sheet: "s", Text: "t"}},
		{"job/1", fact.Answered{Step: "a", Answer: "P-1"}},
		{"job/2", fact.Opened{Drive: "other"}},
		{"stock/shims", fact.LowLimit{Count: 2}},
		{"job/1", fact.Confirmed{Step: "b"}},
	} {
		r, err := fact.Encode(w.subject, w.f)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := j.Append(context.Background(), r); err != nil {
			t.Fatal(err)
		}
	}
	return j.Reader
}

func load(t *testing.T, id string) Job {
	t.Helper()
	j, err := Load(context.Background(), aJournal(t), id)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func TestCarriedFactsProveThemselves(t *testing.T) {
	for id, want := range map[string]Proof{"1": {Runs: 2, Gaps: 2}, "2": {Runs: 1}} {
		j := load(t, id)
		got := j.Prove()
		if len(got.Faults) > 0 || got.Runs != want.Runs || got.Gaps != want.Gaps {
			t.Errorf("job %s: %+v, want %+v", id, got, want)
		}
		if _, err := j.Decode(); err != nil {
			t.Error(err)
		}
	}
}

// Each change of what is carried is told, by the fact it is in.
func TestAChangeIsFound(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*Job)
		want   string
	}{
		"payload":     {func(j *Job) { j.Facts[1].Payload = strings.Replace(j.Facts[1].Payload, "P-1", "P-7", 1) }, `fact 2, "answered"`},
		"time":        {func(j *Job) { j.Facts[2].UTC = j.Facts[2].UTC.Add(time.Microsecond) }, "fact 5"},
		"version":     {func(j *Job) { j.Facts[1].Version = 2 }, "fact 2"},
		"left out":    {func(j *Job) { j.Facts = append(j.Facts[:1:1], j.Facts[2:]...); j.Facts[1].Seq = 2 }, "fact 2"},
		"exchanged":   {func(j *Job) { j.Facts[0], j.Facts[1] = j.Facts[1], j.Facts[0] }, "stands behind"},
		"hash":        {func(j *Job) { j.Facts[1].Hash = j.Facts[0].Hash }, "fact 2"},
		"hash before": {func(j *Job) { j.Facts[1].Before = j.Facts[2].Hash }, "fact 2"},
		"no hash":     {func(j *Job) { j.Facts[1].Hash = "12" }, "no hash"},
		"another job": {func(j *Job) { j.ID = "9" }, "fact 1"},
	} {
		j := load(t, "1")
		c.change(&j)
		if got := strings.Join(j.Prove().Faults, "\n"); !strings.Contains(got, c.want) {
			t.Errorf("%s: %q, want %q in it", name, got, c.want)
		}
	}
}

func TestNoSuchJob(t *testing.T) {
	for _, id := range []string{"7", "../../x", ""} {
		if _, err := Load(context.Background(), aJournal(t), id); !errors.Is(err, ErrNoJob) {
			t.Errorf("%q: %v", id, err)
		}
	}
}
