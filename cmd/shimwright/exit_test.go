package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/spf13/cobra"

	"shimwright/calc/document"
)

func TestExitStatus(t *testing.T) {
	fault := &document.Fault{File: "a.yaml", Pos: document.Pos{Line: 3, Column: 7}, Message: "no such face"}
	missing := &fs.PathError{Op: "open", Path: "a.yaml", Err: syscall.ENOENT}
	locked := &fs.PathError{Op: "open", Path: "a.yaml", Err: syscall.EACCES}
	for _, c := range []struct {
		name string
		err  error
		want exitStatus
		says string
	}{
		{"done", nil, exitDone, ""},
		{"not good", fmt.Errorf("job: %w", errNotGood), exitNotGood, ""},
		{"a fault of a file", fault, exitInput, "a.yaml:3:7: no such face"},
		{"several faults", errors.Join(fault, fault), exitInput, "a.yaml:3:7: no such face\na.yaml:3:7: no such face"},
		{"a name that a terminal would obey", errors.New("sheet a\x1b[31m: no"), exitInput, `shimwright: sheet a\x1b[31m: no`},
		{"anything of the command line", errors.New("unknown flag"), exitInput, "shimwright: unknown flag"},
		{"a missing file", fileError("sheet", "a.yaml", missing), exitInput, "shimwright: sheet a.yaml: there is no such file"},
		{"a missing file, untold", fmt.Errorf("reading: %w", missing), exitInput, "shimwright: reading: open a.yaml: no such file or directory"},
		{"a file not given", fileError("sheet", "a.yaml", locked), exitMachine, "shimwright: sheet a.yaml: this user may not open it: let them, or run as who owns it"},
		{"a file not given, untold", fmt.Errorf("reading: %w", locked), exitMachine, "shimwright: reading: open a.yaml: permission denied"},
		{"the disk", machine("standard output", syscall.ENOSPC), exitMachine, "shimwright: standard output: no space left on device"},
	} {
		if got := statusOf(c.err); got != c.want {
			t.Errorf("%s: status %d, want %d", c.name, got, c.want)
		}
		if got := complaint(c.err); got != c.says {
			t.Errorf("%s: says %q, want %q", c.name, got, c.says)
		}
	}
	if machine("nothing", nil) != nil {
		t.Error("no error became one")
	}
}

type brokenPipe struct{}

func (brokenPipe) Write([]byte) (int, error) { return 0, syscall.EPIPE }

// Output that cannot be written is the machine's fault, whatever it would have
// said.
func TestOutputFails(t *testing.T) {
	for _, args := range [][]string{
		{"solve", "fw3", filepath.Join(jobFiles, "trouble.yaml")},
		{"solve", "fw3", filepath.Join(jobFiles, "full.yaml"), "--json"},
		{"sheet", "check", "fw3"},
	} {
		root := newRoot("test", newSolve, newSheet)
		root.SetOut(brokenPipe{})
		root.SetErr(io.Discard)
		root.SetArgs(args)
		if err := root.Execute(); statusOf(err) != exitMachine || !errors.Is(err, syscall.EPIPE) {
			t.Errorf("%s: error %v, want the machine's", strings.Join(args, " "), err)
		}
	}
}

// A sub-command is added by one constructor.
func TestRoot(t *testing.T) {
	ran := false
	root := newRoot("9.9", func() *cobra.Command {
		return &cobra.Command{Use: "extra", RunE: func(*cobra.Command, []string) error { ran = true; return nil }}
	})
	root.SetArgs([]string{"extra"})
	if err := root.Execute(); err != nil || !ran {
		t.Errorf("ran %v, error %v", ran, err)
	}
	if root.Version != "9.9" {
		t.Errorf("version %q", root.Version)
	}
}

// Every sheet that comes with the program is sound.
func TestBuiltInSheets(t *testing.T) {
	for _, name := range sheetNames() {
		root := newRoot("test", newSheet)
		var b strings.Builder
		root.SetOut(&b)
		root.SetArgs([]string{"sheet", "check", name})
		if err := root.Execute(); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}
