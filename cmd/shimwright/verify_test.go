package main

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

// aJournal writes a journal of three facts.
func aJournal(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "bay.journal")
	j, err := journal.Open(path, journal.Options{Bench: "bay 2", Run: "r1", Now: time.Now})
	if err != nil {
		t.Fatal(err)
	}
	for range 3 {
		if _, err := j.Append(context.Background(), journal.Record{Subject: "bench", Kind: "note", Version: 1, Payload: []byte(`{"answer":"P-1"}`)}); err != nil {
			t.Fatal(err)
		}
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

func runVerify(t *testing.T, args ...string) (string, error) {
	t.Helper()
	root := newRoot("test", newVerify)
	var out bytes.Buffer
	root.SetOut(&out)
	root.SetErr(&out)
	root.SetArgs(append([]string{"verify"}, args...))
	err := root.Execute()
	return out.String(), err
}

func TestVerifyWholeJournal(t *testing.T) {
	out, err := runVerify(t, aJournal(t))
	if err != nil || !strings.Contains(out, `of bench "bay 2" is whole: 3 facts`) {
		t.Errorf("%q, %v", out, err)
	}
}

// One changed byte is found, at its fact.
func TestVerifyFindsAnEdit(t *testing.T) {
	path := aJournal(t)
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	var trigger string
	for {
		err := db.QueryRow(`SELECT name FROM sqlite_master WHERE type = 'trigger' LIMIT 1`).Scan(&trigger)
		if errors.Is(err, sql.ErrNoRows) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		if _, err := db.Exec(`DROP TRIGGER "` + trigger + `"`); err != nil {
			t.Fatal(err)
		}
	}
	var table string
	if err := db.QueryRow(`SELECT name FROM sqlite_master WHERE type = 'table' AND sql LIKE '%payload%'`).Scan(&table); err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec(`UPDATE "` + table + `" SET payload = CAST('{"answer":"P-7"}' AS BLOB) WHERE seq = 2`); err != nil {
		t.Fatal(err)
	}
	out, err := runVerify(t, path)
	if statusOf(err) != exitNotGood || !strings.Contains(out, "NOT WHOLE") || !strings.Contains(out, "2") {
		t.Errorf("%q, %v", out, err)
	}
}

func TestVerifyRefusesWhatIsNoJournal(t *testing.T) {
	if _, err := runVerify(t, "verify_test.go"); statusOf(err) != exitInput {
		t.Errorf("a file that is no journal gives status %d: %v", statusOf(err), err)
	}
	if _, err := runVerify(t); statusOf(err) != exitInput {
		t.Errorf("no file gives status %d: %v", statusOf(err), err)
	}
}

// What another program made, or a newer one, is told by what it is; backup says
// the same and makes nothing.
func TestVerifyAndBackupOfOthersFiles(t *testing.T) {
	for _, c := range []struct {
		name, made string
		want       string
	}{
		{"another program's", "CREATE TABLE t (x)", "it is not a bench's journal but some other program's database, left as it is: give the path of a journal"},
		{"a newer program's", "PRAGMA application_id = 1399352695; PRAGMA user_version = 99; CREATE TABLE t (x)", "a newer program made it: the file has form 99"},
	} {
		t.Run(c.name, func(t *testing.T) {
			folder := t.TempDir()
			path := filepath.Join(folder, "other")
			db, err := sql.Open("sqlite", path)
			if err != nil {
				t.Fatal(err)
			}
			if _, err := db.Exec(c.made); err != nil {
				t.Fatal(err)
			}
			if err := db.Close(); err != nil {
				t.Fatal(err)
			}
			before := filesIn(t, folder)
			for _, args := range [][]string{{"verify", path}, {"backup", path, filepath.Join(folder, "copy")}} {
				if _, err := runCommand(t, args...); statusOf(err) != exitInput || !strings.Contains(complaint(err), c.want) {
					t.Errorf("%s: status %d, %q", args[0], statusOf(err), complaint(err))
				}
			}
			if diff := cmp.Diff(before, filesIn(t, folder)); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// A file that this user may not read is told as that, with 3.
func TestVerifyAndBackupOfAClosedFile(t *testing.T) {
	if os.Geteuid() == 0 {
		t.Skip("the superuser may read every file: run this test as another user")
	}
	path := aJournal(t)
	if err := os.Chmod(path, 0); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{{"verify", path}, {"backup", path, path + ".copy"}} {
		if _, err := runCommand(t, args...); statusOf(err) != exitMachine || !strings.Contains(complaint(err), "this user may not") || strings.Contains(complaint(err), "database") {
			t.Errorf("%s: status %d, %q", args[0], statusOf(err), complaint(err))
		}
	}
}

// A verdict that was changed in the list of judgements, which the chain does not
// cover, is found, and the bench makes the list anew where it is told to.
func TestVerifyFindsAChangedVerdict(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.journal")
	options := journal.Options{Bench: "bay 2", Run: "r1", Now: time.Now, Rows: fact.Rows()}
	j, err := journal.Open(path, options)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range []fact.Fact{fact.Opened{Drive: "fw3", Serial: "1", Sheet: "fw3", Issue: 1}, fact.Judged{Step: "backlash", What: "backlash", Verdict: "good", Program: "0.1"}} {
		r, err := fact.Encode("job/0001", f)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := j.Append(t.Context(), r); err != nil {
			t.Fatal(err)
		}
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	if out, err := runVerify(t, path); err != nil || !strings.Contains(out, "is whole: 2 facts") || !strings.Contains(out, "Its lists follow from the facts: 1 job, 1 judgement.") {
		t.Errorf("untouched: %q, %v", out, err)
	}
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec(`UPDATE judgement SET verdict = 'out high'`); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	out, err := runVerify(t, path)
	if statusOf(err) != exitNotGood || !strings.Contains(out, "NOT WHOLE: its 2 facts are") ||
		!strings.Contains(out, `DIFFERS: job 0001, the judgement of fact 2: its verdict is "out high", and from fact 2 follows "good"`) || !strings.Contains(out, "bench --lists-anew") {
		t.Errorf("%q, %v", out, err)
	}
	benchFile := filepath.Join(t.TempDir(), "bench.yaml")
	text := "bench: bay 2\njournal: " + path + `
sheets: [fw3]
profiles:
  line: {line: 9600 8N1, assume: mm, parts: [sign, figure], end: CR}
gauges:
  D07: {kind: depth gauge, limit of error: 0.02 mm, profile: line, port: {usb serial: A10K3}}
`
	if err := os.WriteFile(benchFile, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	if out, err := runBenchOnce(t, benchFile, "--headless"); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	if _, err := runVerify(t, path); statusOf(err) != exitNotGood {
		t.Errorf("a bench that was not told to made the lists anew: %v", err)
	}
	if out, err := runBenchOnce(t, benchFile, "--headless", "--lists-anew"); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	if out, err := runVerify(t, path); err != nil {
		t.Errorf("made anew: %q, %v", out, err)
	}
}

// runBenchOnce runs a bench whose commands have ended before it begins.
func runBenchOnce(t *testing.T, args ...string) (string, error) {
	t.Helper()
	root := newRoot("test", newBench)
	var out bytes.Buffer
	root.SetIn(strings.NewReader(""))
	root.SetOut(&out)
	root.SetErr(&out)
	root.SetArgs(append([]string{"bench"}, args...))
	err := root.Execute()
	return out.String(), err
}
