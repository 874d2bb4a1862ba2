package main

import (
	"path/filepath"
	"strings"
	"testing"
	"time"

	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

// verify --jobs works each job anew, tells what differs, and goes on behind a job
// that cannot be folded.
func TestVerifyJobs(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.journal")
	j, err := journal.Open(path, journal.Options{Bench: "bay 2", Run: "r1", Now: time.Now, Rows: fact.Rows()})
	if err != nil {
		t.Fatal(err)
	}
	text, _ := embeddedSheet("fw3")
	keep := func(job string, facts ...fact.Fact) {
		t.Helper()
		for _, f := range facts {
			r, err := fact.Encode("job/"+job, f)
			if err != nil {
				t.Fatal(err)
			}
			if _, err := j.Append(t.Context(), r); err != nil {
				t.Fatal(err)
			}
		}
	}
	verify := func(want exitStatus, words ...string) {
		t.Helper()
		out, err := runVerify(t, "--jobs", path)
		if got := statusOf(err); got != want {
			t.Errorf("status %d, want %d: %v", got, want, err)
		}
		for _, w := range words {
			if !strings.Contains(out, w) {
				t.Errorf("%s\nwant %q", out, w)
			}
		}
	}
	head := fact.Opened{Drive: "fw3", Serial: "1", Sheet: "fw3", Issue: 1, Digest: bench.Digest(text), Text: string(text), Rule: "guarded"}
	keep("0001", head, fact.Answered{Step: "pinion bearings", Answer: "new"})
	verify(exitDone, "is whole", "0 judgements of 1 job was worked out again: each comes out as it was stored.")
	keep("0001", fact.Judged{Step: "backlash", What: "backlash", Verdict: "good", Words: "all fine", Program: "0.1"})
	keep("0002", fact.Answered{Step: "pinion bearings", Answer: "new"})
	verify(exitNotGood, `DIFFERS: job 0001, fact 3, backlash: judged "all fine" by version 0.1; this program judges nothing there.`,
		"CANNOT BE WORKED: job 0002 does not begin by being opened", "1 judgement of 2 jobs were worked out again: 2 do NOT come out as stored.")
	if err := j.Close(); err != nil {
		t.Error(err)
	}
}
