package main

import (
	"bytes"
	"errors"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// ticking draws a progress by hand.
type ticking struct {
	*progress
	ticks chan time.Time
	at    time.Time
}

func newTicking(w io.Writer) *ticking {
	t := &ticking{ticks: make(chan time.Time), at: time.Date(2026, 2, 3, 9, 0, 0, 0, time.UTC)}
	t.progress = startProgress(w, t.ticks)
	return t
}

// tick lets some time pass and draws; the second tick is taken once the first is
// drawn, and changes nothing.
func (t *ticking) tick(d time.Duration) {
	t.at = t.at.Add(d)
	t.ticks <- t.at
	t.ticks <- t.at
}

func TestProgressLine(t *testing.T) {
	var b bytes.Buffer
	p := newTicking(&b)
	p.tick(drawn) // nothing was told: nothing is drawn
	p.told("copying", 0, 0)
	p.tick(drawn)
	p.tick(2 * time.Second)
	p.told("checking facts", 1, 1000)
	p.tick(drawn)
	p.told("checking facts", 2, 1000) // the same to the percent: not written again
	p.tick(drawn)
	p.told("checking facts", 500, 1000)
	p.tick(drawn)
	if err := p.aside(func() error { _, err := b.WriteString("<found>"); return err }); err != nil {
		t.Fatal(err)
	}
	p.tick(drawn)
	p.told("rows", 7000, 0)
	p.tick(drawn)
	p.end()
	p.end()
	want := []string{"", "copying … 0 s (Ctrl-C stops)", "copying … 2 s (Ctrl-C stops)", "checking facts: 0 % (Ctrl-C stops)",
		"checking facts: 50 % (Ctrl-C stops)", "<found>", "checking facts: 50 % (Ctrl-C stops)", "rows: 7000 … (Ctrl-C stops)", ""}
	if diff := cmp.Diff(want, strings.Split(b.String(), "\r\x1b[K")); diff != "" {
		t.Error(diff)
	}
}

// Work that is over before the first drawing shows nothing.
func TestProgressOfShortWork(t *testing.T) {
	var b bytes.Buffer
	p := newTicking(&b)
	p.told("copying", 1, 2)
	p.end()
	if b.Len() > 0 {
		t.Errorf("%q", b.String())
	}
}

// What is no terminal gets no progress.
func TestProgressElsewhere(t *testing.T) {
	var b bytes.Buffer
	p := newProgress(&b)
	if p != nil {
		t.Error("a buffer passes for a terminal")
	}
	p.told("copying", 1, 2)
	if err := p.aside(func() error { return io.EOF }); !errors.Is(err, io.EOF) {
		t.Error("nothing was printed")
	}
	p.end()
	if b.Len() > 0 {
		t.Errorf("%q", b.String())
	}
}
