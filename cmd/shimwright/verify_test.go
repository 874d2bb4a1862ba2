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
