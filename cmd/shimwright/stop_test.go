package main

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/google/go-cmp/cmp"

	"shimwright/ingest/journal"
)

// A fuse is a context that is stopped when it has been looked at so many times,
// which is somewhere in the middle of whatever looks.
type fuse struct {
	context.Context
	left *atomic.Int64
	stop context.CancelFunc
}

func newFuse(t *testing.T, looks int64) fuse {
	ctx, stop := context.WithCancel(t.Context())
	t.Cleanup(stop)
	f := fuse{ctx, new(atomic.Int64), stop}
	f.left.Store(looks)
	return f
}

func (f fuse) burn() {
	if f.left.Add(-1) == 0 {
		f.stop()
	}
}

func (f fuse) Err() error            { f.burn(); return f.Context.Err() }
func (f fuse) Done() <-chan struct{} { f.burn(); return f.Context.Done() }

// filesIn is what a folder holds, without SQLite's own files beside a journal.
func filesIn(t *testing.T, folder string) map[string]string {
	t.Helper()
	out := map[string]string{}
	files, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if strings.HasSuffix(f.Name(), "-wal") || strings.HasSuffix(f.Name(), "-shm") {
			continue
		}
		b, err := os.ReadFile(filepath.Join(folder, f.Name()))
		if err != nil {
			t.Fatal(err)
		}
		out[f.Name()] = string(b)
	}
	return out
}

func embeddedText(t testing.TB, name string) string {
	t.Helper()
	text, ok := embeddedSheet(name)
	if !ok {
		t.Fatalf("the program carries no sheet %s", name)
	}
	return string(text)
}

// Long work that is stopped, early or late, says so, leaves the folder as it was
// and ends with 3.
func TestLongWorkStops(t *testing.T) {
	j := boardJournal(t, 120, embeddedText(t, "fw3"))
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	path := j.Path()
	folder := filepath.Dir(path)
	before := filesIn(t, folder)
	for _, args := range [][]string{
		{"verify", path}, {"verify", "--jobs", path}, {"backup", path, filepath.Join(folder, "copy.journal")},
		{"export", "jobs", "--journal", path, "--csv", filepath.Join(folder, "jobs.csv")},
		{"export", "all", "--journal", path, "--xlsx", filepath.Join(folder, "all.xlsx")},
	} {
		t.Run(strings.Join(args[:2], " "), func(t *testing.T) {
			stops := 0
			for looks := int64(1); ; looks *= 2 {
				root := newRoot("test", newVerify, newBackup, newExport)
				var out bytes.Buffer
				root.SetOut(&out)
				root.SetErr(&out)
				root.SetArgs(args)
				err := root.ExecuteContext(newFuse(t, looks))
				if err == nil || errors.Is(err, errNotGood) {
					break
				}
				stops++
				said := complaint(err)
				if statusOf(err) != exitMachine || !strings.Contains(said, "stopped") || strings.Contains(said, "context") {
					t.Errorf("stopped at look %d, it ends with %d and says %q", looks, statusOf(err), said)
				}
				if diff := cmp.Diff(before, filesIn(t, folder)); diff != "" {
					t.Fatalf("stopped at look %d, the folder changed:\n%s", looks, diff)
				}
			}
			if stops < 3 {
				t.Errorf("it was stopped %d times only", stops)
			}
			for name := range filesIn(t, folder) {
				if _, kept := before[name]; !kept {
					if err := os.Remove(filepath.Join(folder, name)); err != nil {
						t.Fatal(err)
					}
				}
			}
		})
	}
}

// Of rows on standard output, which cannot be taken back, a stop says that some may
// be there.
func TestExportToStandardOutputStops(t *testing.T) {
	j := boardJournal(t, 120, embeddedText(t, "fw3"))
	begun := 0
	for looks := int64(1); ; looks++ {
		root := newRoot("test", newExport)
		var out, said bytes.Buffer
		root.SetOut(&out)
		root.SetErr(&said)
		root.SetArgs([]string{"export", "jobs", "--journal", j.Path(), "--csv", "-"})
		err := root.ExecuteContext(newFuse(t, looks))
		if err == nil {
			break
		}
		if out.Len() > 0 {
			begun++
		}
		if words := complaint(err); statusOf(err) != exitMachine || !strings.Contains(words, "stopped") || out.Len() > 0 && strings.Contains(words, "nothing was written") {
			t.Fatalf("stopped at look %d with %d bytes written, it ends with %d and says %q", looks, out.Len(), statusOf(err), words)
		}
	}
	if begun == 0 {
		t.Error("it was never stopped in the middle")
	}
}

// Opening a bench that is stopped says so, and the next opening finds the journal
// as it was.
func TestOpeningStops(t *testing.T) {
	bench := aBenchFolder(t)
	f, err := readBenchFile(bench)
	if err != nil {
		t.Fatal(err)
	}
	stops := 0
	for looks := int64(1); ; looks *= 2 {
		b, err := openBench(newFuse(t, looks), f, filepath.Dir(bench), wires{}, nil)
		if err == nil {
			if err := b.close(); err != nil {
				t.Fatal(err)
			}
			break
		}
		stops++
		if said := complaint(err); statusOf(err) != exitMachine || !strings.Contains(said, "stopped") || strings.Contains(said, "context") {
			t.Errorf("stopped at look %d, it ends with %d and says %q", looks, statusOf(err), said)
		}
	}
	if stops < 3 {
		t.Errorf("it was stopped %d times only", stops)
	}
	r, err := journal.OpenReader(f.Journal)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	if err := r.Verify(t.Context(), nil); err != nil {
		t.Error(err)
	}
}
