package journal

import (
	"encoding/json"
	"errors"
	"fmt"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shimwright/ingest/store"
)

// ofPayload is a rule whose facts are the change itself.
func ofPayload() store.Rule[Stored] {
	return store.Rule[Stored]{Version: 5, Of: func(s Stored) (c store.Change, err error) {
		if s.Kind == "changes" {
			err = json.Unmarshal(s.Payload, &c)
		}
		return c, err
	}}
}

func changes(c store.Change) Record {
	b, err := json.Marshal(c)
	if err != nil {
		panic(err)
	}
	return Record{Subject: "job/x", Kind: "changes", Version: 1, Payload: b}
}

// counting is a fold that keeps how many facts it saw.
func counting() Fold {
	n := 0
	return Fold{Name: "counts", Version: 2,
		Then:  func(Stored) error { n++; return nil },
		State: func() ([]byte, error) { return json.Marshal(n) },
	}
}

func following() Following { return Following{ofPayload(), []Fold{counting()}} }

// followed is a journal of two jobs, four judgements and more facts than a page.
func followed(t *testing.T) (path string) {
	t.Helper()
	o := options()
	o.Rows = ofPayload()
	j := open(t, filepath.Join(t.TempDir(), "bay 3.journal"), o)
	judged := func(job, verdict string, training bool) Record {
		return changes(store.Change{Judged: &store.Judgement{Job: job, Step: "s", What: "backlash", Verdict: verdict, Words: "w", Advice: "a", Value: "0.2",
			Low: "0.1", High: "0.3", Uncertainty: "0.01", Mean: "0.21", Spread: "0.02", Points: []string{"0 0.2"}, Leaves: []string{"1.00 mm"}, Total: "1", Build: 3, Training: training, Program: "0.1"}})
	}
	put(t, j, changes(store.Change{Opens: &store.Job{ID: "1", Drive: "fw3", Serial: "A1", Sheet: "fw3", Issue: 2, Digest: "d"}}), judged("1", "good", false), judged("1", "out", true))
	for range pageFacts/MaxRecords + 1 {
		put(t, j, presses(MaxRecords)...)
	}
	put(t, j, changes(store.Change{Opens: &store.Job{ID: "2", Drive: "sluice", Serial: "A2", Sheet: "sluice", Issue: 1, Digest: "e"}}), judged("2", "good", false),
		changes(store.Change{Ends: &store.End{Job: "1", State: store.Signed}}), judged("3", "good", false)) // of a job that nobody opened
	if err := j.Keep(t.Context(), Kept{Name: "counts", Version: 2, Seq: 100, State: []byte("100")}); err != nil {
		t.Fatal(err)
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	return j.Path()
}

func verifyAll(t *testing.T, path string, by Following) Followed {
	t.Helper()
	r, err := OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	f, err := r.VerifyAll(t.Context(), by, nil)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func edit(t *testing.T, path string, statements ...string) {
	t.Helper()
	db := raw(t, path)
	run(t, db, statements...)
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
}

// Each edit of what follows from the facts is found, with the row and how it
// differs, and a bench that makes it anew mends it.
func TestVerifyAllFindsEditsOfRows(t *testing.T) {
	whole := Followed{By: 5, Looked: true, Jobs: 2, Judgements: 4, Kept: []string{"counts"}}
	type test struct{ edit, says string }
	tests := []test{
		{`DELETE FROM judgement WHERE seq = 2`, "job 1, the judgement of fact 2: it is missing"},
		{`DELETE FROM judgement WHERE seq > 300`, "job 3, the judgement of fact 327: it is missing"},
		{`INSERT INTO judgement SELECT 50, '7', sheet, step, what, verdict, words, advice, value, low, high, uncertainty, mean, spread, points, build, training, program, utc_us, leaves, total FROM judgement WHERE seq = 2`, "job 7, a judgement numbered 50: it is one too many"},
		{`UPDATE judgement SET seq = 9000 WHERE seq = 327`, "job 3, a judgement numbered 9000: it is one too many"},
		{`UPDATE judgement SET seq = -1 WHERE seq = 2`, "job 1, a judgement numbered -1: it is one too many"},
		{`DELETE FROM job WHERE id = '2'`, "job 2: it is missing, and fact 324 opens it"},
		{`INSERT INTO job SELECT '9', drive, serial, sheet, issue, digest, opened_us, state, ended_us, training FROM job WHERE id = '1'`, "job 9: it is one too many, no fact opens it"},
		{`UPDATE job SET id = '11' WHERE id = '1'`, "job 1: it is missing, and fact 1 opens it"},
		{`UPDATE job SET ended_us = 0 WHERE id = '2'`, "job 2: its end is 1970-01-01T00:00:00Z, and from fact 324 follows none"},
		{`UPDATE kept SET state = x'313031'`, `what is kept of counts up to fact 100 is not what follows from the facts: "101" is kept where "100" follows`},
		{`UPDATE kept SET seq = 101`, "what is kept of counts says that it goes up to fact 101, whose hash is another"},
		{`UPDATE kept SET seq = 9000`, "what is kept of counts says that it goes up to fact 9000, which is not there"},
	}
	for column, says := range map[string]string{
		"drive": "drive", "serial": "serial number", "sheet": "sheet", "issue": "issue", "digest": "digest of the sheet",
		"opened_us": "time of opening", "state": "state", "ended_us": "end", "training": "mark as training",
	} {
		by := 1
		switch column {
		case "state", "ended_us":
			by = 326
		case "training":
			by = 3
		}
		tests = append(tests, test{changed("job", column, "id = '1'"), fmt.Sprintf("job 1: its %s is ~, and from fact %d follows ", says, by)})
	}
	for column, says := range map[string]string{
		"job": "job", "sheet": "sheet", "step": "step", "what": "what was judged", "verdict": "verdict", "words": "words", "advice": "advice",
		"value": "value", "low": "lower limit", "high": "upper limit", "uncertainty": "uncertainty", "mean": "mean", "spread": "spread", "points": "points",
		"build": "build state", "training": "mark as training", "program": "version of the program", "utc_us": "time", "leaves": "leaves", "total": "total",
	} {
		tests = append(tests, test{changed("judgement", column, "seq = 325"), fmt.Sprintf("job 2, the judgement of fact 325: its %s is ~, and from fact 325 follows ", says)})
	}
	content := read(t, followed(t))
	if diff := cmp.Diff(whole, verifyAll(t, write(t, content), following())); diff != "" {
		t.Errorf("untouched: %s", diff)
	}
	for _, test := range tests {
		t.Run(test.edit, func(t *testing.T) {
			path := write(t, content)
			edit(t, path, test.edit)
			f := verifyAll(t, path, following())
			if f.Differences() == 0 || !says(f, test.says) {
				t.Errorf("%q\nwant %q", f.Differs, test.says)
			}
			if err := verify(path); err != nil {
				t.Errorf("the facts are whole, and it says %v", err)
			}
			o := options()
			o.Rows, o.Anew = ofPayload(), true
			if err := open(t, path, o).Close(); err != nil {
				t.Fatal(err)
			}
			mended := whole
			mended.Kept = nil // until it is kept again
			if diff := cmp.Diff(mended, verifyAll(t, path, following())); diff != "" {
				t.Errorf("made anew: %s", diff)
			}
		})
	}
}

// changed is an edit of one column by something else of its type.
func changed(table, column, where string) string {
	return fmt.Sprintf(`UPDATE %s SET %[2]s = CASE typeof(%[2]s) WHEN 'integer' THEN 1 - %[2]s ELSE %[2]s || 'x' END WHERE %[3]s`, table, column, where)
}

// says tells whether a difference has the words before and behind each ~.
func says(f Followed, words string) bool {
	before, behind, _ := strings.Cut(words, "~")
	for _, d := range f.Differs {
		if strings.HasPrefix(d, before) && strings.Contains(d, behind) {
			return true
		}
	}
	return false
}

func read(t *testing.T, path string) []byte {
	t.Helper()
	return []byte(folderOf(t, filepath.Dir(path))[filepath.Base(path)])
}

// All rows may differ; the first are told and the others counted.
func TestVerifyAllTellsTheFirst(t *testing.T) {
	o := options()
	o.Rows = store.Rule[Stored]{Version: 1, Of: func(s Stored) (store.Change, error) {
		return store.Change{Judged: &store.Judgement{Job: "1"}}, nil
	}}
	j := open(t, filepath.Join(t.TempDir(), "t.journal"), o)
	put(t, j, presses(MaxRecords)...)
	run(t, j.db, `DELETE FROM judgement`)
	f, err := j.VerifyAll(t.Context(), Following{Rows: o.Rows}, nil)
	if err != nil || len(f.Differs) != mostDiffers || f.Differences() != MaxRecords {
		t.Errorf("%d told of %d, %v", len(f.Differs), f.Differences(), err)
	}
}

// Rows that another version of the rule made, or none, are not looked at.
func TestVerifyAllLeavesOthersRows(t *testing.T) {
	path := followed(t)
	by := following()
	by.Rows.Version++
	if diff := cmp.Diff(Followed{By: 5, Kept: []string{"counts"}}, verifyAll(t, path, by)); diff != "" {
		t.Error(diff)
	}
	by.Folds[0] = counting()
	by.Folds[0].Version++
	if diff := cmp.Diff(Followed{By: 5}, verifyAll(t, path, by)); diff != "" {
		t.Error(diff)
	}
}

// Facts that are not whole are told as by Verify, whatever the rows are.
func TestVerifyAllFindsEditsOfFacts(t *testing.T) {
	path := followed(t)
	content := read(t, path)
	path = write(t, content)
	editCarefully(t, path, `UPDATE fact SET kind = 'strike' WHERE seq = 7`)
	r, err := OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	var broken *Break
	if _, err := r.VerifyAll(t.Context(), following(), nil); !errors.As(err, &broken) || broken.Seq != 7 {
		t.Errorf("%v", err)
	}
}

// A bench that goes on meanwhile makes nothing look different.
func TestVerifyAllBesideABench(t *testing.T) {
	path := followed(t)
	o := options()
	o.Now, o.Rows = time.Now, ofPayload()
	j := open(t, path, o)
	r, err := OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	n := 0
	f, err := r.VerifyAll(t.Context(), following(), func(string, int64, int64) {
		n++
		id := fmt.Sprint("new ", n)
		put(t, j, changes(store.Change{Opens: &store.Job{ID: id}}), changes(store.Change{Judged: &store.Judgement{Job: id, Training: true}}),
			changes(store.Change{Ends: &store.End{Job: "2", State: store.Abandoned}}))
	})
	if err != nil || f.Differences() != 0 || f.Jobs < 3 || n < 3 {
		t.Errorf("%+v, %v, told %d times", f, err, n)
	}
}

// Of each job little is held, of each judgement nothing.
func TestVerifyAllHoldsLittle(t *testing.T) {
	const batches, perJob = 100, 300
	used := func() int64 {
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return int64(m.HeapAlloc)
	}
	var began, ended int64
	last := int64(batches * MaxRecords)
	look := false
	o := options()
	o.Rows = store.Rule[Stored]{Version: 1, Of: func(s Stored) (store.Change, error) {
		switch {
		case look && s.Seq == pageFacts:
			began = used()
		case look && s.Seq == last:
			ended = used()
		}
		id := fmt.Sprintf("%06d", s.Seq/2)
		if s.Seq%2 == 0 {
			return store.Change{Opens: &store.Job{ID: id, Drive: strings.Repeat("d", 50), Serial: id, Digest: strings.Repeat("e", 64)}}, nil
		}
		return store.Change{Judged: &store.Judgement{Job: id, Words: strings.Repeat("w", 200)}}, nil
	}}
	j := open(t, filepath.Join(t.TempDir(), "t.journal"), o)
	for range batches {
		put(t, j, presses(MaxRecords)...)
	}
	look = true
	f, err := j.VerifyAll(t.Context(), Following{Rows: o.Rows}, nil)
	if err != nil || f.Differences() != 0 || f.Jobs != int(last/2) {
		t.Fatalf("%+v, %v", f, err)
	}
	if each := (ended - began) / (last / 2); each > perJob || each <= 0 {
		t.Errorf("%d bytes are held for each job", each)
	} else {
		t.Logf("%d bytes a job", each)
	}
}
