package main

import (
	"fmt"
	"io"
	"os"
	"sync"
	"time"

	"golang.org/x/term"
)

// drawn is how often the line of progress is drawn; work that is over sooner
// shows none.
const drawn = 500 * time.Millisecond

// A progress tells on a terminal how far long work is, in one line that the result
// takes over; anywhere else it tells nothing. Its methods may be called from
// several goroutines, and on nil, which tells nothing.
type progress struct {
	out   io.Writer
	over  chan struct{}
	ended chan struct{}
	once  sync.Once

	mu          sync.Mutex
	what        string // being done; empty before there is any
	done, total int64
	since       time.Time // the first drawing of what is being done
	line        string    // on the terminal
}

// newProgress is a progress on an error stream; nil where that is no terminal.
func newProgress(w io.Writer) *progress {
	f, ok := w.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return nil
	}
	t := time.NewTicker(drawn)
	p := startProgress(f, t.C)
	go func() {
		<-p.ended
		t.Stop()
	}()
	return p
}

// startProgress is newProgress for what is known to be a terminal; each tick
// draws.
func startProgress(w io.Writer, ticks <-chan time.Time) *progress {
	p := &progress{out: w, over: make(chan struct{}), ended: make(chan struct{})}
	go func() {
		defer close(p.ended)
		for {
			select {
			case <-p.over:
				return
			case at := <-ticks:
				p.draw(at)
			}
		}
	}()
	return p
}

// told says what is being done, and how much of how much; total 0 is one that is
// not known.
func (p *progress) told(what string, done, total int64) {
	if p == nil {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if what != p.what {
		p.since = time.Time{}
	}
	p.what, p.done, p.total = what, done, total
}

func (p *progress) draw(at time.Time) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.what == "" {
		return
	}
	if p.since.IsZero() {
		p.since = at
	}
	p.show(p.words(at) + " (Ctrl-C stops)")
}

// words count whatever there is to count: a share, a number, or else seconds.
func (p *progress) words(at time.Time) string {
	seconds := int64(at.Sub(p.since) / time.Second)
	switch {
	case p.total > 0:
		return fmt.Sprintf("%s: %d %%", p.what, p.done*100/p.total)
	case p.done > 0:
		return fmt.Sprintf("%s: %d …", p.what, p.done)
	}
	return fmt.Sprintf("%s … %d s", p.what, seconds)
}

func (p *progress) show(line string) {
	if line == p.line {
		return
	}
	p.line = line
	_, _ = fmt.Fprint(p.out, "\r\x1b[K"+line) // the work itself goes on
}

// aside prints something else while the line is out of its way.
func (p *progress) aside(print func() error) error {
	if p == nil {
		return print()
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.show("")
	return print()
}

// end wipes the line and may be called again.
func (p *progress) end() {
	if p == nil {
		return
	}
	p.once.Do(func() {
		close(p.over)
		<-p.ended
		p.mu.Lock()
		defer p.mu.Unlock()
		p.show("")
	})
}

// progressOn is a progress as two functions, for what takes such.
func progressOn(w io.Writer) (told func(what string, done, total int64), end func()) {
	p := newProgress(w)
	return p.told, p.end
}
