package main

import (
	"fmt"
	"io"
	"os"
	"sync"

	"golang.org/x/term"
)

// progressOn tells on a terminal, in one line that the result takes over, how far
// long work is; anywhere else it tells nothing. total 0 is a total that is not
// known. end wipes the line and may be called again.
func progressOn(w io.Writer) (told func(what string, done, total int64), end func()) {
	f, ok := w.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return func(string, int64, int64) {}, func() {}
	}
	return progressLine(f)
}

// progressLine is progressOn for what is known to be a terminal.
func progressLine(w io.Writer) (told func(what string, done, total int64), end func()) {
	var mu sync.Mutex
	last := ""
	say := func(line string) {
		mu.Lock()
		defer mu.Unlock()
		if line == last {
			return
		}
		last = line
		_, _ = fmt.Fprint(w, "\r\x1b[K"+line) // the work itself goes on
	}
	told = func(what string, done, total int64) {
		if total == 0 {
			say(what + " … (Ctrl-C stops)")
			return
		}
		say(fmt.Sprintf("%s: %d %% (Ctrl-C stops)", what, done*100/total))
	}
	return told, func() { say("") }
}
