package main

import (
	"strings"
	"testing"
)

// A line that is longer than any command ends the bench with words of our own;
// what came before it is carried out.
func TestLongLine(t *testing.T) {
	var got []string
	in := strings.NewReader("{\"do\": \"jobs\"}\n" + strings.Repeat("x", maxLine+1) + "\n{\"do\": \"gauges\"}\n")
	err := readCommands(t.Context(), in, func(line []byte) { got = append(got, string(line)) })
	want := "standard input: a line has more than 64 KiB, and the bench is stopped: write one command a line"
	if err == nil || err.Error() != want || statusOf(err) != exitInput {
		t.Errorf("%v (exit %d), want %q", err, statusOf(err), want)
	}
	if len(got) != 1 || got[0] != `{"do": "jobs"}` {
		t.Errorf("carried out %q, want the first line alone", got)
	}
}
