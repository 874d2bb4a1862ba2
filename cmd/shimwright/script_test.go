package main

import (
	"errors"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// jobFiles holds sheets and readings shared with the tests of ui/draw.
const jobFiles = "../../ui/draw/testdata"

// The program stands in for itself in the scripts.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"shimwright": main})
}

// TestScripts runs the program as a shell would: testdata/script.
// "status N shimwright …" holds it to an exit status; $DATA has the jobs that
// ui/draw draws.
func TestScripts(t *testing.T) {
	data, err := filepath.Abs(jobFiles)
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir:   filepath.Join("testdata", "script"),
		Setup: func(e *testscript.Env) error { e.Setenv("DATA", data); return nil },
		Cmds:  map[string]func(*testscript.TestScript, bool, []string){"status": status},
	})
}

func status(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: status N command [argument…]")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	err = ts.Exec(args[1], args[2:]...)
	var exit *exec.ExitError
	switch {
	case errors.As(err, &exit):
		got = exit.ExitCode()
	case err != nil:
		ts.Fatalf("%v", err)
	}
	if got != want {
		ts.Fatalf("the exit status is %d, want %d", got, want)
	}
}
