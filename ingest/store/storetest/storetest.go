// Package storetest holds every store to one behaviour, whatever database it is
// over.
package storetest

import (
	"context"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/store"
)

// Bench is the bench whose journal the suite writes.
const Bench = "bay 1"

// Run runs the suite. over is given a journal that is written already, and gives
// the store that must tell the same.
func Run(t *testing.T, over func(t *testing.T, j *journal.Journal) store.Store) {
	s := over(t, written(t))
	t.Run("jobs", func(t *testing.T) { jobs(t, s) })
	t.Run("judgements", func(t *testing.T) { judgements(t, s) })
	t.Run("pages", func(t *testing.T) { pages(t, s) })
	t.Run("several at a time", func(t *testing.T) { several(t, s) })
	t.Run("stopped", func(t *testing.T) {
		ctx, stop := context.WithCancel(t.Context())
		stop()
		if _, err := s.Jobs(ctx, store.JobQuery{}); err == nil {
			t.Error("a question that was stopped is answered")
		}
		if _, err := s.Jobs(t.Context(), store.JobQuery{}); err != nil {
			t.Error(err)
		}
	})
}

// at is the time of the suite's fact of that number.
func at(seq int64) time.Time {
	return time.Date(2026, 3, 2, 7, 0, 0, 0, time.UTC).Add(time.Duration(seq) * time.Minute)
}

// sheetOf is the sheet of the job of that number, 1 to 6.
func sheetOf(n int) string { return []string{"sluice", "fw3"}[n%2] }

// written is six jobs, three facts each and then how they ended: judged twice,
// the second time by a virtual gauge where the number divides by three.
func written(t *testing.T) *journal.Journal {
	t.Helper()
	seq := int64(0)
	j, err := journal.Open(filepath.Join(t.TempDir(), "a.journal"), journal.Options{Bench: Bench, Run: "r", Rows: fact.Rows(),
		Now: func() time.Time { return at(seq) }})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = j.Close() })
	put := func(job string, f fact.Fact) {
		t.Helper()
		r, err := fact.Encode("job/"+job, f)
		if err != nil {
			t.Fatal(err)
		}
		seq++
		if _, err := j.Append(context.Background(), r); err != nil {
			t.Fatal(err)
		}
	}
	for n := 1; n <= 6; n++ {
		id := fmt.Sprintf("%04d", n)
		put(id, fact.Opened{Drive: "Corrie %_'\\ RD3", Serial: "Ж-" + id, Sheet: sheetOf(n), Issue: n, Digest: "d" + id, Rule: "guarded", Training: n == 5})
		put(id, fact.Judged{Step: "backlash check", What: "backlash", Verdict: "GOOD", Words: "Good: 0.120 mm.", Value: "0.120", Low: "0.10", High: "0.200",
			Uncertainty: "0.0120", Mean: "0.1200", Spread: "0.03", Points: []string{"1 0.12", "2 0.13"}, Build: n, Program: "p1"})
		put(id, fact.Judged{Step: "torque", What: "turning torque", Verdict: "OUT HIGH", Words: "w", Advice: "a", Training: n%3 == 0,
			Leaves: leavesOf(n), Total: totalOf(n)})
	}
	put("0002", fact.Signed{As: "lead", Ends: true})
	put("0003", fact.Finished{})
	put("0004", fact.Abandoned{Reason: "r"})
	put("0005", fact.Signed{As: "fitter"})
	return j
}

func wantJob(n int) store.Job {
	id := fmt.Sprintf("%04d", n)
	j := store.Job{Bench: Bench, ID: id, Drive: "Corrie %_'\\ RD3", Serial: "Ж-" + id, Sheet: sheetOf(n), Issue: n, Digest: "d" + id,
		Opened: at(int64(3*n - 2)), State: store.Open, Training: n == 5 || n%3 == 0}
	if end := map[int]store.State{2: store.Signed, 3: store.Finished, 4: store.Abandoned}[n]; end != "" {
		j.State, j.Ended = end, at(int64(17+n))
	}
	return j
}

func jobs(t *testing.T, s store.Store) {
	third := wantJob(3)
	for name, row := range map[string]struct {
		q    store.JobQuery
		want []int
	}{
		"all": {store.JobQuery{}, []int{6, 5, 4, 3, 2, 1}}, "its bench": {store.JobQuery{Bench: Bench, Limit: 2}, []int{6, 5}},
		"another bench": {store.JobQuery{Bench: "bay 2"}, nil}, "open": {store.JobQuery{State: store.Open}, []int{6, 5, 1}},
		"signed": {store.JobQuery{State: store.Signed}, []int{2}}, "a sheet": {store.JobQuery{Sheet: "fw3"}, []int{5, 3, 1}},
		"a sheet's open": {store.JobQuery{Sheet: "fw3", State: store.Open}, []int{5, 1}}, "no sheet": {store.JobQuery{Sheet: "' OR '1'='1"}, nil},
		"from": {store.JobQuery{From: at(7)}, []int{6, 5, 4, 3}}, "until": {store.JobQuery{Until: at(7)}, []int{2, 1}},
		"between": {store.JobQuery{From: at(4), Until: at(8)}, []int{3, 2}}, "behind": {store.JobQuery{Before: &third}, []int{2, 1}},
		"limit below nought": {store.JobQuery{Limit: -3}, []int{6, 5, 4, 3, 2, 1}},
	} {
		got, err := s.Jobs(t.Context(), row.q)
		if err != nil {
			t.Errorf("%s: %v", name, err)
		}
		var want []store.Job
		for _, n := range row.want {
			want = append(want, wantJob(n))
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("%s: %s", name, d)
		}
	}
}

// leavesOf and totalOf are of every second job: a judgement of no pack has neither.
func leavesOf(n int) []string {
	if n%2 == 0 {
		return nil
	}
	return []string{"1.00 mm", "3 thou", `Ж "x"`}
}

func totalOf(n int) string {
	if n%2 == 0 {
		return ""
	}
	return "1.0760"
}

func wantJudgement(seq int64) store.Judgement {
	n := int(seq+2) / 3
	o := store.Judgement{Bench: Bench, Seq: seq, Job: fmt.Sprintf("%04d", n), Sheet: sheetOf(n), At: at(seq)}
	if seq%3 == 2 {
		o.Step, o.What, o.Verdict, o.Words, o.Value, o.Low, o.High = "backlash check", "backlash", "GOOD", "Good: 0.120 mm.", "0.120", "0.10", "0.200"
		o.Uncertainty, o.Mean, o.Spread, o.Points, o.Build, o.Program = "0.0120", "0.1200", "0.03", []string{"1 0.12", "2 0.13"}, n, "p1"
		return o
	}
	o.Step, o.What, o.Verdict, o.Words, o.Advice, o.Training = "torque", "turning torque", "OUT HIGH", "w", "a", n%3 == 0
	o.Leaves, o.Total = leavesOf(n), totalOf(n)
	return o
}

func judgements(t *testing.T, s store.Store) {
	ninth := wantJudgement(9)
	for name, row := range map[string]struct {
		q    store.JudgementQuery
		want []int64
	}{
		"all":           {store.JudgementQuery{}, []int64{18, 17, 15, 14, 12, 11, 9, 8, 6, 5, 3, 2}},
		"a job":         {store.JudgementQuery{Job: "0003"}, []int64{9, 8}},
		"a sheet":       {store.JudgementQuery{Sheet: "fw3", Limit: 3}, []int64{15, 14, 9}},
		"a check":       {store.JudgementQuery{Sheet: "fw3", What: "backlash"}, []int64{14, 8, 2}},
		"below":         {store.JudgementQuery{Bench: Bench, Before: 8}, []int64{6, 5, 3, 2}},
		"below, a job":  {store.JudgementQuery{Bench: Bench, Job: "0003", Before: 9}, []int64{8}},
		"behind":        {store.JudgementQuery{Behind: &ninth, Limit: 2}, []int64{8, 6}},
		"behind, bench": {store.JudgementQuery{Bench: Bench, Behind: &ninth, What: "backlash"}, []int64{8, 5, 2}},
		"times":         {store.JudgementQuery{From: at(5), Until: at(9)}, []int64{8, 6, 5}},
		"another bench": {store.JudgementQuery{Bench: "bay 2"}, nil},
		"no job":        {store.JudgementQuery{Job: "0099"}, nil},
	} {
		got, err := s.Judgements(t.Context(), row.q)
		if err != nil {
			t.Errorf("%s: %v", name, err)
		}
		var want []store.Judgement
		for _, seq := range row.want {
			want = append(want, wantJudgement(seq))
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("%s: %s", name, d)
		}
	}
}

// pages goes through everything a row or two at a time.
func pages(t *testing.T, s store.Store) {
	for limit := 1; limit < 4; limit++ {
		var all []store.Judgement
		for q := (store.JudgementQuery{Limit: limit}); ; q.Behind = &all[len(all)-1] {
			got, err := s.Judgements(t.Context(), q)
			if err != nil {
				t.Fatal(err)
			}
			if all = append(all, got...); len(got) < limit {
				break
			}
		}
		var jobs []store.Job
		for q := (store.JobQuery{Limit: limit}); ; q.Before = &jobs[len(jobs)-1] {
			got, err := s.Jobs(t.Context(), q)
			if err != nil {
				t.Fatal(err)
			}
			if jobs = append(jobs, got...); len(got) < limit {
				break
			}
		}
		whole, err := s.Judgements(t.Context(), store.JudgementQuery{})
		if err != nil || len(jobs) != 6 || cmp.Diff(whole, all) != "" {
			t.Errorf("%v, %d jobs, %s", err, len(jobs), cmp.Diff(whole, all))
		}
	}
}

func several(t *testing.T, s store.Store) {
	done := make(chan error)
	for range 12 {
		go func() {
			_, err := s.Judgements(t.Context(), store.JudgementQuery{})
			if err == nil {
				_, err = s.Jobs(t.Context(), store.JobQuery{})
			}
			done <- err
		}()
	}
	for range 12 {
		if err := <-done; err != nil {
			t.Error(err)
		}
	}
}
