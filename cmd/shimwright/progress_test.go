package main

import (
	"bytes"
	"context"
	"path/filepath"
	"strings"
	"testing"
)

func TestProgressLine(t *testing.T) {
	var b bytes.Buffer
	told, end := progressLine(&b)
	end() // nothing was told: nothing is wiped
	told("copying", 0, 0)
	told("verifying", 1, 1000)
	told("verifying", 2, 1000) // the same to the percent: not written again
	told("verifying", 500, 1000)
	end()
	end()
	want := "\r\x1b[Kcopying … (Ctrl-C stops)\r\x1b[Kverifying: 0 % (Ctrl-C stops)\r\x1b[Kverifying: 50 % (Ctrl-C stops)\r\x1b[K"
	if b.String() != want {
		t.Errorf("%q, want %q", b.String(), want)
	}
}

// What is no terminal gets no progress.
func TestProgressElsewhere(t *testing.T) {
	var b bytes.Buffer
	told, end := progressOn(&b)
	told("copying", 1, 2)
	end()
	if b.Len() > 0 {
		t.Errorf("%q", b.String())
	}
}

// A stopped backup or verify says so, leaves no copy, and ends with 3.
func TestLongWorkStops(t *testing.T) {
	path := aJournal(t)
	root := newRoot("test", newVerify, newBackup)
	ctx, stop := context.WithCancel(t.Context())
	stop()
	for _, args := range [][]string{{"verify", path}, {"backup", path, path + ".copy"}} {
		root.SetArgs(args)
		err := root.ExecuteContext(ctx)
		if statusOf(err) != exitMachine || !strings.Contains(err.Error(), "stopped") {
			t.Errorf("%v: %v", args, err)
		}
	}
	if left, err := filepath.Glob(path + ".copy*"); err != nil || len(left) > 0 {
		t.Errorf("it left %v", left)
	}
}
