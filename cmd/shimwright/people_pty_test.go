//go:build unix

package main

import (
	"bytes"
	"io"
	"strings"
	"testing"

	"github.com/creack/pty"
)

// On a terminal a new PIN is asked for twice and never shown.
func TestPINOnATerminal(t *testing.T) {
	bench := aBenchFolder(t)
	if _, _, err := obeyed(nil, "people", "add", "RK", "Ro Kerr", "--role", "lead", "--bench", bench); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ first, again, words string }{{"24680", "24681", "the two PINs differ"}, {"24680", "24680", ""}} {
		shown, err := typed(t, bench, c.first, c.again)
		if c.words == "" && err != nil || c.words != "" && (err == nil || !strings.Contains(err.Error(), c.words)) {
			t.Errorf("want %q, got %v", c.words, err)
		}
		if strings.Contains(shown, "2468") || !strings.Contains(shown, "new PIN of RK: ") || !strings.Contains(shown, "the same again: ") {
			t.Errorf("the terminal shows %q", shown)
		}
	}
}

// typed runs people pin on a terminal, answering each prompt, and gives what the
// terminal showed.
func typed(t *testing.T, bench string, answers ...string) (string, error) {
	t.Helper()
	master, slave, err := pty.Open()
	if err != nil {
		t.Skip("this machine gives no pseudo-terminal: ", err)
	}
	defer master.Close()
	root := newRoot("test", newPeople)
	root.SetIn(slave)
	root.SetErr(slave)
	root.SetOut(io.Discard)
	root.SetArgs([]string{"people", "pin", "RK", "--bench", bench})
	ended := make(chan error, 1)
	go func() {
		err := root.Execute()
		_ = slave.Close() // so that reading the terminal ends
		ended <- err
	}()
	var shown bytes.Buffer
	b := make([]byte, 1)
	for {
		if _, err := master.Read(b); err != nil {
			return shown.String(), <-ended
		}
		shown.Write(b)
		if len(answers) > 0 && bytes.HasSuffix(shown.Bytes(), []byte(": ")) {
			if _, err := io.WriteString(master, answers[0]+"\n"); err != nil {
				t.Fatal(err)
			}
			answers = answers[1:]
		}
	}
}
