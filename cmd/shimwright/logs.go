package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"slices"
	"sync"
	"sync/atomic"
	"time"
	"unicode/utf8"

	"github.com/spf13/pflag"

	"shimwright/ui/draw"
)

const (
	mostQueued  = 256         // lines that wait to be written; more are left out and counted
	mostInALine = 500         // characters of one text of a line
	mostAMinute = 10          // lines of one sort about one gauge; more are left out and counted
	logAlike    = time.Minute // what lines of one sort are counted over
)

// logChoice is what the command line says of the log.
type logChoice struct{ form, level, file string }

func (l *logChoice) flags(f *pflag.FlagSet) {
	f.StringVar(&l.form, "log", "", "log what a keeper wants to know, as text or json lines on the error stream")
	f.StringVar(&l.level, "log-level", "info", "what is logged: debug, info, warn or error; a job's presses at debug alone")
	f.StringVar(&l.file, "log-file", "", "log into this file instead, which is begun anew at 10 MiB")
}

// open begins the log; nil is none. A bench with a screen has the terminal for
// itself.
func (l logChoice) open(screen bool, stream io.Writer) (*benchLog, error) {
	if l.form == "" && l.file == "" {
		return nil, nil
	}
	var level slog.Level
	if !slices.Contains([]string{"debug", "info", "warn", "error"}, l.level) || level.UnmarshalText([]byte(l.level)) != nil {
		return nil, fmt.Errorf("--log-level is %q: write debug, info, warn or error", l.level)
	}
	if l.form != "" && l.form != "text" && l.form != "json" {
		return nil, fmt.Errorf("--log is %q: write text or json", l.form)
	}
	if screen && l.file == "" {
		return nil, errors.New("the screen has the terminal for itself: write --log-file and a file for the log, or run with --headless")
	}
	out := stream
	var file *logFile
	if l.file != "" {
		var err error
		if file, err = openLogFile(l.file); err != nil {
			return nil, machine("log "+l.file, cause(err))
		}
		out = file
	}
	options := &slog.HandlerOptions{Level: level, ReplaceAttr: harmless}
	handler := slog.Handler(slog.NewTextHandler(out, options))
	if l.form == "json" {
		handler = slog.NewJSONHandler(out, options)
	}
	b := &benchLog{handler: handler, file: file, queue: make(chan slog.Record, mostQueued), done: make(chan struct{}), alike: map[string]*alike{}}
	go b.write()
	return b, nil
}

// harmless writes out what does something to a terminal, in both forms, and cuts
// what is long.
func harmless(_ []string, a slog.Attr) slog.Attr {
	if a.Value.Kind() != slog.KindString {
		return a
	}
	s := a.Value.String()
	if utf8.RuneCountInString(s) > mostInALine {
		s = string([]rune(s)[:mostInALine]) + "…"
	}
	return slog.String(a.Key, draw.Visible(s))
}

// A benchLog is the log of a bench; on nil its methods do nothing. Whoever tells it
// something never waits: lines are queued and written by a goroutine of its own.
type benchLog struct {
	handler slog.Handler
	file    *logFile
	queue   chan slog.Record
	done    chan struct{}
	lost    atomic.Int64 // lines that found the queue full

	mu     sync.Mutex
	closed bool
	alike  map[string]*alike // by sort and gauge, both of a bench file's bounds
}

// alike counts lines of one sort.
type alike struct {
	since time.Time
	n     int // in the minute since
	left  int // out of it
}

func (b *benchLog) write() {
	defer close(b.done)
	for r := range b.queue {
		if n := b.lost.Swap(0); n > 0 {
			r.AddAttrs(slog.Int64("lines_lost_before", n))
		}
		_ = b.handler.Handle(context.Background(), r) // a log has nowhere to tell its own trouble
	}
}

// say logs a line.
func (b *benchLog) say(level slog.Level, words string, attrs ...slog.Attr) {
	if b == nil || !b.handler.Enabled(context.Background(), level) {
		return
	}
	r := slog.NewRecord(time.Now(), level, words, 0)
	r.AddAttrs(attrs...)
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.closed {
		return
	}
	select {
	case b.queue <- r:
	default:
		b.lost.Add(1)
	}
}

// seldom logs a line unless most of its sort about a gauge were logged within a
// minute. The next one that is tells how many were left out.
func (b *benchLog) seldom(most int, gauge string, level slog.Level, words string, attrs ...slog.Attr) {
	if b == nil {
		return
	}
	left, ok := b.mayTell(words+"\x00"+gauge, most, time.Now())
	if !ok {
		return
	}
	if left > 0 {
		attrs = append(attrs, slog.Int("left_out_before", left))
	}
	b.say(level, words, append([]slog.Attr{slog.String("gauge", gauge)}, attrs...)...)
}

func (b *benchLog) mayTell(sort string, most int, now time.Time) (left int, ok bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	a := b.alike[sort]
	if a == nil {
		a = &alike{since: now}
		b.alike[sort] = a
	}
	if past := now.Sub(a.since); past >= logAlike || past < 0 {
		a.since, a.n = now, 0
	}
	if a.n >= most {
		a.left++
		return 0, false
	}
	a.n++
	left, a.left = a.left, 0
	return left, true
}

// close writes what waits and ends the log.
func (b *benchLog) close() {
	if b == nil {
		return
	}
	b.mu.Lock()
	if !b.closed {
		b.closed = true
		close(b.queue)
	}
	b.mu.Unlock()
	<-b.done
	if b.file != nil {
		_ = b.file.close() // nothing is left to tell it to
	}
}
