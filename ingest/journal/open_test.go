package journal

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestTwoWritersRefused(t *testing.T) {
	j := create(t)
	put(t, j, press(1, "a"))
	other := options()
	other.Run = "run-2"
	_, err := Open(j.Path(), other)
	wantError(t, err, ErrHeld, j.Path(), fmt.Sprintf("process %d, bench Bay 3, run run-1, since 2026-02-02T02:40:00Z", os.Getpid()), "close that program first")
	link := filepath.Join(t.TempDir(), "link.journal")
	if err := os.Symlink(j.Path(), link); err == nil {
		_, err = Open(link, other)
		wantError(t, err, ErrHeld, j.Path())
	}
	put(t, j, press(1, "b")) // the first is none the worse for it
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	open(t, j.Path(), other)
}

func TestLockFileThatDoesNotSay(t *testing.T) {
	path := filepath.Join(t.TempDir(), "t.journal")
	l, err := takeLock(path, path+".lock", "")
	if err != nil {
		t.Fatal(err)
	}
	defer l.release()
	_, err = Open(path, options())
	wantError(t, err, ErrHeld, "it does not say who it is")
}

func TestFailedOpenLetsGo(t *testing.T) {
	j := create(t)
	j.Close()
	other := options()
	other.Bench = "Bay 4"
	for range 2 { // the second would be ErrHeld
		_, err := Open(j.Path(), other)
		wantError(t, err, ErrOtherBench, `bench "Bay 3"'s`, `this is bench "Bay 4"`, j.Path())
	}
}

func TestNewerFormRefused(t *testing.T) {
	content, _ := sample(t, 3)
	path := write(t, content)
	db := raw(t, path)
	run(t, db, fmt.Sprintf(`PRAGMA user_version = %d`, len(migrations())+1))
	db.Close()
	before, _ := os.ReadFile(path)
	_, err := Open(path, options())
	wantError(t, err, ErrNewer, path, "form 6", "forms up to 5", "use the newer program")
	_, err = OpenReader(path)
	wantError(t, err, ErrNewer, path, "form 6")
	if after, _ := os.ReadFile(path); string(after) != string(before) {
		t.Error("the newer file was changed")
	}
}

func TestOtherFilesLeftAsTheyAre(t *testing.T) {
	foreign := filepath.Join(t.TempDir(), "foreign")
	db := raw(t, foreign)
	run(t, db, `CREATE TABLE t (x)`)
	db.Close()
	database, err := os.ReadFile(foreign)
	if err != nil {
		t.Fatal(err)
	}
	for name, content := range map[string]string{
		"text":             strings.Repeat("a reading of 31.90 mm\n", 500),
		"one byte":         "x",
		"99 bytes":         strings.Repeat("x", 99),
		"511 bytes":        strings.Repeat("x", 511),
		"512 bytes":        strings.Repeat("x", 512),
		"513 bytes":        strings.Repeat("\x00", 513),
		"all zero":         strings.Repeat("\x00", 4096),
		"foreign database": string(database),
	} {
		t.Run(name, func(t *testing.T) {
			path := write(t, []byte(content))
			_, err := Open(path, options())
			wantError(t, err, ErrNotJournal, path, "left as it is", "give the path of a journal")
			_, err = OpenReader(path)
			wantError(t, err, ErrNotJournal, path)
			if after, _ := os.ReadFile(path); string(after) != content {
				t.Error("the file was changed")
			}
		})
	}
}

func TestEmptyFile(t *testing.T) {
	path := write(t, nil)
	_, err := OpenReader(path)
	wantError(t, err, ErrNotJournal, path, "it is empty")
	put(t, open(t, path, options()), press(1, "a")) // a new journal
}

// A program killed between the first write of the file and its tables leaves
// this behind; it must not lock the bench out.
func TestHalfMade(t *testing.T) {
	path := filepath.Join(t.TempDir(), "t.journal")
	db := raw(t, path)
	run(t, db, `PRAGMA journal_mode = WAL`, `CREATE TABLE t (x)`, `DROP TABLE t`)
	db.Close()
	put(t, open(t, path, options()), press(1, "a"))
}

func TestMissing(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "none", "t.journal")
	_, err := OpenReader(path)
	wantError(t, err, fs.ErrNotExist, path, "there is no such file")
	_, err = Open(path, options())
	wantError(t, err, fs.ErrNotExist, path, "look whether the folder is there")
	_, err = OpenReader(folder)
	wantError(t, err, ErrNotJournal, "but a folder")
	_, err = Open(folder, options())
	wantError(t, err, ErrReadOnly, folder)
	if left, _ := filepath.Glob(filepath.Join(folder, "*")); len(left) > 0 {
		t.Errorf("failed opening left %v", left)
	}
}

func TestPathsWithSigns(t *testing.T) {
	for _, name := range []string{"bay 3?mode=memory.journal", "a%20b#c&d;e.journal", "Prüfstand 'ä\".journal", ":memory:", "file:x"} {
		path := filepath.Join(t.TempDir(), name)
		put(t, open(t, path, options()), press(1, "a"))
		if _, err := os.Stat(path); err != nil {
			t.Errorf("%q: %v", name, err)
		}
	}
}

func TestDiskFull(t *testing.T) {
	path := filepath.Join(t.TempDir(), "t.journal")
	opts := options()
	opts.pragmas = []string{"max_page_count(40)"}
	j := open(t, path, opts)
	stored := 0
	var err error
	for err == nil && stored < 1000 {
		if _, err = j.Append(t.Context(), press(1, "small"), press(1, strings.Repeat("x", 10_000))); err == nil {
			stored += 2
		}
	}
	wantError(t, err, ErrFull, path, "nothing of this was stored", "free some space")
	if n := len(all(t, j.Reader, "", 0)); n != stored || n == 0 {
		t.Fatalf("%d facts acknowledged, %d found", stored, n)
	}
	// with room made the same journal goes on
	run(t, j.db, `PRAGMA max_page_count = 1000`)
	if s := put(t, j, press(1, strings.Repeat("x", 10_000))); s[0].Seq != int64(stored)+1 {
		t.Errorf("went on with fact %d", s[0].Seq)
	}
}

func TestDiskFullWhenNew(t *testing.T) {
	path := filepath.Join(t.TempDir(), "t.journal")
	opts := options()
	opts.pragmas = []string{"max_page_count(3)"}
	_, err := Open(path, opts)
	wantError(t, err, ErrFull, path)
	put(t, open(t, path, options()), press(1, "a")) // what it left is no hindrance
}

func TestNoWriting(t *testing.T) {
	j := create(t)
	put(t, j, press(1, "a"))
	run(t, j.db, `PRAGMA query_only = 1`)
	_, err := j.Append(t.Context(), press(1, "b"))
	wantError(t, err, ErrReadOnly, j.Path(), "nothing of this was stored", "let this user write")
	run(t, j.db, `PRAGMA query_only = 0`)
	if s := put(t, j, press(1, "b")); s[0].Seq != 2 {
		t.Errorf("went on with fact %d", s[0].Seq)
	}
	j.Close()
	opts := options()
	opts.pragmas = []string{"query_only(1)"}
	_, err = Open(j.Path(), opts)
	wantError(t, err, ErrReadOnly, j.Path(), "let this user write")
}

func TestReadOnlyFile(t *testing.T) {
	content, _ := sample(t, 3)
	path := write(t, content)
	if err := os.Chmod(path, 0o444); err != nil {
		t.Fatal(err)
	}
	if f, err := os.OpenFile(path, os.O_RDWR, 0); err == nil {
		f.Close()
		t.Skip("this user may write any file")
	}
	_, err := Open(path, options())
	wantError(t, err, ErrReadOnly, path, "let this user write")
	if err := verify(path); err != nil {
		t.Errorf("looking only: %v", err)
	}
	folder := filepath.Dir(path)
	for _, beside := range []string{".lock", "-wal", "-shm"} {
		os.Remove(path + beside)
	}
	if err := os.Chmod(folder, 0o555); err != nil {
		t.Fatal(err)
	}
	defer os.Chmod(folder, 0o755)
	_, err = Open(filepath.Join(folder, "new.journal"), options())
	wantError(t, err, ErrReadOnly, folder, "this user may write in it")
	if err := verify(path); err != nil {
		t.Errorf("looking only, in a folder that may not be written: %v", err)
	}
}

func TestForeignWriterKeepsItLocked(t *testing.T) {
	j := create(t)
	path := j.Path()
	run(t, j.db, `PRAGMA busy_timeout = 1`) // rather than wait the seconds it is given
	db := raw(t, path)
	run(t, db, `BEGIN IMMEDIATE`)
	_, err := j.Append(t.Context(), press(1, "a"))
	wantError(t, err, ErrBusy, path, "close the other program")
	run(t, db, `ROLLBACK`)
	put(t, j, press(1, "a"))
}

// After a commit of unknown outcome nothing more is taken, so that what a new
// Open finds is the end of the story.
func TestUnsure(t *testing.T) {
	j := create(t)
	err := j.notCommitted(errors.New("fsync: input/output error"))
	wantError(t, err, ErrUnsure, j.Path(), "open it again and see", "input/output error")
	_, err = j.Append(t.Context(), press(1, "a"))
	wantError(t, err, ErrUnsure, j.Path())
	j.Close()
	put(t, open(t, j.Path(), options()), press(1, "a"))
}

// TestSmallDisk fills a real one. Give it the folder of a small empty file system
// (a megabyte of tmpfs will do) in SHIMWRIGHT_TEST_SMALL_DISK.
func TestSmallDisk(t *testing.T) {
	folder := os.Getenv("SHIMWRIGHT_TEST_SMALL_DISK")
	if folder == "" {
		t.Skip("no small disk was given")
	}
	ballast, path := filepath.Join(folder, "ballast"), filepath.Join(folder, "t.journal")
	if err := os.WriteFile(ballast, make([]byte, 100_000), 0o644); err != nil {
		t.Fatal(err)
	}
	j := open(t, path, options())
	stored := 0
	var err error
	for err == nil && stored < 10_000 {
		if _, err = j.Append(t.Context(), press(1, "small"), press(1, strings.Repeat("x", 5000))); err == nil {
			stored += 2
		}
	}
	t.Logf("after %d facts: %v", stored, err)
	wantError(t, err, ErrFull, path)
	if n := len(all(t, j.Reader, "", 0)); n != stored {
		t.Errorf("%d facts acknowledged, %d found", stored, n)
	}
	if err := os.Remove(ballast); err != nil {
		t.Fatal(err)
	}
	if s := put(t, j, press(1, "with room")); s[0].Seq != int64(stored)+1 {
		t.Errorf("went on with fact %d", s[0].Seq)
	}
}
