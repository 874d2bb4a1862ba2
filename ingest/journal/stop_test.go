package journal

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// stopAt is a context that is stopped when work tells of something.
func stopAt(t *testing.T, what string) (context.Context, Progress) {
	t.Helper()
	ctx, stop := context.WithCancel(t.Context())
	t.Cleanup(stop)
	return ctx, func(told string, _, _ int64) {
		if strings.HasPrefix(told, what) {
			stop()
		}
	}
}

// wantStopped wants words of our own, and none of the library's.
func wantStopped(t *testing.T, err error, doing string) {
	t.Helper()
	wantError(t, err, context.Canceled, doing, "was stopped")
	if err != nil && strings.Contains(err.Error(), "context") {
		t.Errorf("it speaks of contexts: %v", err)
	}
}

// folderOf is what a folder holds: its files by name, with their bytes.
func folderOf(t *testing.T, folder string) map[string]string {
	t.Helper()
	out := map[string]string{}
	files, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		b, err := os.ReadFile(filepath.Join(folder, f.Name()))
		if err != nil {
			t.Fatal(err)
		}
		out[f.Name()] = string(b)
	}
	return out
}

// severalPages is a closed journal of more facts than one page of reading, with
// rows by a rule.
func severalPages(t *testing.T) string {
	t.Helper()
	o := options()
	o.Rows = byRule()
	path := filepath.Join(t.TempDir(), "bay 3.journal")
	j, err := Open(path, o)
	if err != nil {
		t.Fatal(err)
	}
	for range 3*pageFacts/MaxRecords + 1 {
		put(t, j, presses(MaxRecords)...)
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

// Stopping a verification, or a backup at any stage, leaves every folder as it
// was.
func TestStoppedWorkLeavesNothing(t *testing.T) {
	path := severalPages(t)
	before := folderOf(t, filepath.Dir(path))
	r, err := OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	for _, what := range []string{"checking facts", "checking the file's pages"} {
		ctx, progress := stopAt(t, what)
		wantStopped(t, r.Verify(ctx, progress), "journal "+path)
	}
	for _, what := range []string{"copying", "checking facts", "checking the file's pages"} {
		ctx, progress := stopAt(t, what)
		folder := t.TempDir()
		_, err := r.Backup(ctx, filepath.Join(folder, "copy"), progress)
		wantStopped(t, err, path)
		if left := folderOf(t, folder); len(left) > 0 {
			t.Errorf("stopped at %s, the backup left %q", what, left)
		}
	}
	if err := r.Close(); err != nil {
		t.Fatal(err)
	}
	after := folderOf(t, filepath.Dir(path))
	for _, ours := range []string{"-wal", "-shm"} { // SQLite's own: see the package's comment
		delete(after, filepath.Base(path)+ours)
	}
	if diff := cmp.Diff(before, after); diff != "" {
		t.Errorf("the folder changed:\n%s", diff)
	}
}

// A journal whose rows are made anew when it is opened keeps the old ones where
// that is stopped, and the next opening makes them.
func TestStoppedOpeningKeepsRows(t *testing.T) {
	path := severalPages(t)
	before := folderOf(t, filepath.Dir(path))
	o := options()
	o.Rows = byRule()
	o.Rows.Version++
	ctx, progress := stopAt(t, "making the lists of jobs anew")
	told := 0
	o.Progress = func(what string, done, total int64) {
		if told++; done <= 0 || done > total {
			t.Errorf("%s: %d of %d", what, done, total)
		}
		progress(what, done, total)
	}
	_, err := OpenContext(ctx, path, o)
	wantStopped(t, err, "journal "+path+": making its rows anew")
	if told != 1 {
		t.Errorf("told %d times before it stopped", told)
	}
	if diff := cmp.Diff(before, folderOf(t, filepath.Dir(path))); diff != "" {
		t.Errorf("the folder changed:\n%s", diff)
	}
	j := open(t, path, o)
	if n, err := j.RowsMade(t.Context()); n != o.Rows.Version || err != nil {
		t.Errorf("rows by rule %d, %v", n, err)
	}
	if told < 3 {
		t.Errorf("told %d times in all", told)
	}
}

// A file of an older form stays of that form where bringing it up is stopped.
func TestStoppedMigrationKeepsForm(t *testing.T) {
	form1, err := os.ReadFile(filepath.Join("testdata", "form1.journal"))
	if err != nil {
		t.Fatal(err)
	}
	path := write(t, form1)
	ctx, progress := stopAt(t, "bringing the journal from form 2 to form 3")
	o := options()
	db := raw(t, path)
	if err := db.QueryRow(`SELECT bench FROM journal`).Scan(&o.Bench); err != nil {
		t.Fatal(err)
	}
	db.Close()
	o.Progress = progress
	_, err = OpenContext(ctx, path, o)
	wantStopped(t, err, "bringing it to the newest form")
	_, err = OpenReader(path)
	wantError(t, err, ErrOlder, "form 1")
	if b, err := os.ReadFile(path); err != nil || !bytes.Equal(afterHeader(b), afterHeader(form1)) {
		t.Errorf("the file changed, %v", err)
	}
	open(t, path, o) // and can still be brought up
}

// afterHeader is a file without SQLite's own 100 bytes, which tell whether it has
// a write-ahead log.
func afterHeader(b []byte) []byte { return b[min(100, len(b)):] }
