package fact_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/store"
)

func rowsJournal(t testing.TB, path string, rule store.Rule[journal.Stored]) *journal.Journal {
	t.Helper()
	now := time.Date(2026, 3, 2, 7, 0, 0, 0, time.UTC)
	j, err := journal.Open(path, journal.Options{Bench: "bay 1", Run: "r1", Rows: rule, Now: func() time.Time {
		now = now.Add(time.Second)
		return now
	}})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = j.Close() })
	return j
}

func keep(t testing.TB, j *journal.Journal, job string, f fact.Fact) {
	t.Helper()
	r, err := fact.Encode("job/"+job, f)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := j.Append(context.Background(), r); err != nil {
		t.Fatal(err)
	}
}

// aDay is jobs opened and judged in a random order.
func aDay(t testing.TB, j *journal.Journal, seed uint64) {
	t.Helper()
	chance := rand.New(rand.NewPCG(seed, 0))
	for n := range 40 {
		id := fmt.Sprint(1 + chance.IntN(n/4+1))
		open, err := j.Jobs(context.Background(), store.JobQuery{})
		if err != nil {
			t.Fatal(err)
		}
		known := false
		for _, o := range open {
			known = known || o.ID == id
		}
		if !known {
			keep(t, j, id, fact.Opened{Drive: "fw3", Serial: "A" + id, Sheet: "fw3", Issue: 2, Digest: "d"})
		}
		keep(t, j, id, fact.Confirmed{Step: "isolated"})
		keep(t, j, id, fact.Judged{Step: "backlash", What: "backlash", Verdict: "out", Words: "spread", Mean: "0.23",
			Points: []string{"0 0.16", "90 0.22"}, Build: n, Training: chance.IntN(3) == 0})
	}
}

func rows(t testing.TB, r *journal.Reader) (jobs []store.Job, judged []store.Judgement) {
	t.Helper()
	jobs, err := r.Jobs(context.Background(), store.JobQuery{})
	if err != nil {
		t.Fatal(err)
	}
	if judged, err = r.Judgements(context.Background(), store.JudgementQuery{}); err != nil {
		t.Fatal(err)
	}
	return jobs, judged
}

// Rows written fact by fact, made anew, and made for a journal that kept facts
// alone are the same rows.
func TestRowsFollowFromFacts(t *testing.T) {
	for seed := range uint64(5) {
		path := filepath.Join(t.TempDir(), "a.journal")
		j := rowsJournal(t, path, fact.Rows())
		aDay(t, j, seed)
		jobs, judged := rows(t, j.Reader)
		if len(jobs) == 0 || len(judged) != 40 {
			t.Fatalf("%d jobs and %d judgements", len(jobs), len(judged))
		}
		same := func(when string, r *journal.Reader) {
			t.Helper()
			gotJobs, gotJudged := rows(t, r)
			if d := cmp.Diff(jobs, gotJobs) + cmp.Diff(judged, gotJudged); d != "" {
				t.Fatalf("%s: %s", when, d)
			}
		}
		if err := j.Rebuild(context.Background(), nil); err != nil {
			t.Fatal(err)
		}
		same("made anew", j.Reader)
		_ = j.Close()
		other := fact.Rows()
		other.Version++
		j = rowsJournal(t, path, other)
		same("by another version of the rule", j.Reader)
		_ = j.Close()
	}
}

func TestRowsAfterAProgramWithoutTheRule(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.journal")
	j := rowsJournal(t, path, store.Rule[journal.Stored]{})
	keep(t, j, "1", fact.Opened{Drive: "fw3", Serial: "A1", Sheet: "fw3", Issue: 2})
	if jobs, _ := rows(t, j.Reader); len(jobs) != 0 {
		t.Fatal("rows without a rule")
	}
	_ = j.Close()
	j = rowsJournal(t, path, fact.Rows())
	keep(t, j, "1", fact.Judged{Step: "s", What: "torque", Verdict: "good", Training: true})
	jobs, judged := rows(t, j.Reader)
	if len(jobs) != 1 || !jobs[0].Training || len(judged) != 1 || judged[0].Sheet != "fw3" {
		t.Fatalf("%+v %+v", jobs, judged)
	}
	_ = j.Close()
	j = rowsJournal(t, path, store.Rule[journal.Stored]{})
	keep(t, j, "2", fact.Opened{Drive: "fw3", Serial: "A2", Sheet: "fw3", Issue: 2})
	_ = j.Close()
	j = rowsJournal(t, path, fact.Rows())
	if jobs, _ := rows(t, j.Reader); len(jobs) != 2 {
		t.Fatalf("%d jobs after a program that kept no rows", len(jobs))
	}
}

func TestRowsByQuery(t *testing.T) {
	j := rowsJournal(t, filepath.Join(t.TempDir(), "a.journal"), fact.Rows())
	for n := range 5 {
		id := fmt.Sprint(n)
		keep(t, j, id, fact.Opened{Drive: "d", Serial: "A" + id, Sheet: []string{"fw3", "sluice"}[n%2], Issue: 1})
		keep(t, j, id, fact.Judged{Step: "s", What: []string{"torque", "backlash"}[n%2], Verdict: "good"})
	}
	ctx := context.Background()
	first, err := j.Jobs(ctx, store.JobQuery{Limit: 2})
	if err != nil || len(first) != 2 || first[0].ID != "4" {
		t.Fatalf("%+v %v", first, err)
	}
	behind, err := j.Jobs(ctx, store.JobQuery{Before: &first[1], State: store.Open, Sheet: "fw3"})
	if err != nil || len(behind) != 2 || behind[0].ID != "2" || behind[1].ID != "0" {
		t.Fatalf("%+v %v", behind, err)
	}
	got, err := j.Judgements(ctx, store.JudgementQuery{Sheet: "sluice", What: "backlash", Until: first[1].Opened})
	if err != nil || len(got) != 1 || got[0].Job != "1" {
		t.Fatalf("%+v %v", got, err)
	}
	got, err = j.Judgements(ctx, store.JudgementQuery{Job: "3", Before: got[0].Seq})
	if err != nil || len(got) != 0 {
		t.Fatalf("%+v %v", got, err)
	}
}

// form1.journal was written by the program that knew the first form alone: an
// opened job, a confirmation, a judgement.
func TestFirstFormIsBroughtUp(t *testing.T) {
	old, err := os.ReadFile("../journal/testdata/form1.journal")
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "a.journal")
	if err := os.WriteFile(path, old, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := journal.OpenReader(path); !errors.Is(err, journal.ErrOlder) {
		t.Errorf("a reader of an old form: %v", err)
	}
	j := rowsJournal(t, path, fact.Rows())
	if err := j.Verify(context.Background(), nil); err != nil {
		t.Error(err)
	}
	jobs, judged := rows(t, j.Reader)
	if len(jobs) != 1 || jobs[0].Serial != "A1" || !jobs[0].Training || len(judged) != 1 || judged[0].Mean != "0.23" {
		t.Errorf("%+v %+v", jobs, judged)
	}
	keep(t, j, "1", fact.Confirmed{Step: "goes on"})
}
