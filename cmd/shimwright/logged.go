package main

import (
	"context"
	"log/slog"
	"runtime"
	"strings"
	"sync"
	"time"

	"shimwright/devices"
	"shimwright/devices/port"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ingest/relay"
)

// started tells which bench runs over what.
func (b *benchLog) started(r *running, name string, gauges int) {
	if b == nil {
		return
	}
	s := r.Snapshot()
	b.say(slog.LevelInfo, "bench started", slog.String("bench", name), slog.String("version", version()), slog.String("go", runtime.Version()),
		slog.String("journal", r.journal.Path()), slog.Int64("facts", s.Seq), slog.Int("gauges", gauges), slog.Int("open_jobs", len(s.Open)))
	for _, words := range s.Differs {
		b.say(slog.LevelWarn, "bench file differs", slog.String("words", words))
	}
	for _, words := range r.faults {
		b.say(slog.LevelWarn, "sheet not read", slog.String("words", words))
	}
}

// stopped tells that the bench ended, and why where it did not end well.
func (b *benchLog) stopped(err error) {
	if err != nil {
		b.say(slog.LevelError, "bench stopped", slog.String("error", err.Error()))
		return
	}
	b.say(slog.LevelInfo, "bench stopped")
}

// beside logs each fact that a keeper wants to know of before next, which may be
// nil, is told of it. It is called on the bench's goroutine and waits for nothing.
func (b *benchLog) beside(next func(bench.Recorded)) func(bench.Recorded) {
	if b == nil {
		return next
	}
	return func(r bench.Recorded) {
		b.fact(r)
		if next != nil {
			next(r)
		}
	}
}

func (b *benchLog) fact(r bench.Recorded) {
	job, _ := strings.CutPrefix(r.Stored.Subject, "job/")
	at := []slog.Attr{slog.String("job", job), slog.Int64("fact", r.Stored.Seq)}
	step := func(name string) []slog.Attr { return append(at, slog.String("step", name)) }
	switch f := r.Fact.(type) {
	case fact.Pressed:
		b.press(f, r.Stored.Seq)
	case fact.Opened:
		b.say(slog.LevelInfo, "job opened", append(at, slog.String("sheet", f.Sheet), slog.Bool("training", f.Training))...)
	case fact.OnHold:
		b.say(slog.LevelInfo, "hold placed", append(step(f.Step), slog.String("reason", f.Reason))...)
	case fact.Lifted:
		b.say(slog.LevelInfo, "hold lifted", append(at, slog.Int64("hold", f.Hold), slog.String("reason", f.Reason))...)
	case fact.Signed:
		b.say(slog.LevelInfo, "job signed", append(at, slog.String("as", string(f.As)), slog.Bool("ends", f.Ends))...)
	case fact.Finished:
		b.say(slog.LevelInfo, "job finished as training", at...)
	case fact.Abandoned:
		b.say(slog.LevelInfo, "job abandoned", append(at, slog.String("reason", f.Reason))...)
	case fact.ClockSet:
		b.say(slog.LevelWarn, "clock set", slog.String("by", f.By), slog.Int64("after_fact", f.After))
	}
}

// press logs what is no reading, seldom, and what is one at debug.
func (b *benchLog) press(f fact.Pressed, seq int64) {
	why := slog.String("cause", string(f.Why()))
	if f.Value == nil {
		b.seldom(1, f.Gauge, slog.LevelWarn, "bad frame", why, slog.String("received", devices.Quote(f.Raw)), slog.Int64("fact", seq))
		return
	}
	b.say(slog.LevelDebug, "press", slog.String("gauge", f.Gauge), slog.String("value", f.Value.String()), slog.String("outcome", string(f.Outcome)),
		why, slog.String("step", f.Step), slog.String("received", devices.Quote(f.Raw)), slog.Int64("fact", seq))
}

// watch logs each change of the ports and of what cannot be recorded until stop is
// called, which waits for it.
func (b *benchLog) watch(ctx context.Context, r *bench.Bench) (stop func()) {
	if b == nil {
		return func() {}
	}
	ctx, cancel := context.WithCancel(ctx)
	woken, end := r.Watch()
	done := make(chan struct{})
	go func() {
		defer close(done)
		defer end()
		seen := watched{state: map[string]string{}}
		for {
			seen.look(b, r.Snapshot())
			select {
			case <-woken:
			case <-ctx.Done():
				seen.look(b, r.Snapshot())
				return
			}
		}
	}()
	return func() { cancel(); <-done }
}

// watched is what was told of a bench.
type watched struct {
	state   map[string]string // by gauge
	trouble string
	failing bool
}

func (w *watched) look(b *benchLog, s *bench.Snapshot) {
	for _, g := range s.Gauges {
		if was := w.state[g.ID]; was != g.State {
			w.state[g.ID] = g.State
			b.port(g, was)
		}
	}
	if s.Trouble != w.trouble || s.Failing != w.failing {
		w.trouble, w.failing = s.Trouble, s.Failing
		switch {
		case s.Trouble != "":
			b.say(slog.LevelError, "trouble", slog.String("words", s.Trouble))
		case s.Failing:
			b.say(slog.LevelError, "trouble", slog.String("words", "The journal did not store what it was given; who gave it was told why."))
		default:
			b.say(slog.LevelInfo, "trouble is over")
		}
	}
}

func (b *benchLog) port(g bench.GaugeState, was string) {
	words := slog.String("words", g.Words)
	open := port.State(was) == port.StateConnected || port.State(was) == port.StateQuiet
	switch port.State(g.State) {
	case port.StateConnected:
		if !open {
			b.seldom(mostAMinute, g.ID, slog.LevelInfo, "port found", slog.String("port", g.Port))
		}
	case port.StateQuiet:
		b.seldom(mostAMinute, g.ID, slog.LevelInfo, "port quiet", words)
	case port.StateGone:
		is := "port not there"
		if open {
			is = "port lost"
		}
		b.seldom(mostAMinute, g.ID, slog.LevelWarn, is, words)
	case port.StateRefused:
		b.seldom(mostAMinute, g.ID, slog.LevelWarn, "port refused", words)
	}
}

// relayTold logs how the relay stands where that is another than before.
func (b *benchLog) relayTold(next func(relay.State)) func(relay.State) {
	if b == nil {
		return next
	}
	var mu sync.Mutex
	var told relay.State
	return func(s relay.State) {
		mu.Lock()
		defer mu.Unlock()
		if s.Connected != told.Connected || s.Trouble != told.Trouble || s.Notice != told.Notice {
			told = s
			level := slog.LevelInfo
			if s.Trouble != "" || s.Notice != "" {
				level = slog.LevelWarn
			}
			b.say(level, "relay", slog.Bool("connected", s.Connected), slog.Int64("waiting", s.Queue()), slog.String("words", s.Words(time.Now())))
		}
		next(s)
	}
}

// asWell logs the words that a person is told beside the bench, and tells them
// where the log goes to another place than they do.
func (b *benchLog) asWell(tell func(words string)) func(words string) {
	if b == nil {
		return tell
	}
	return func(words string) {
		b.say(slog.LevelWarn, "metrics", slog.String("words", words))
		if b.file != nil {
			tell(words)
		}
	}
}
