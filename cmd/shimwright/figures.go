package main

import (
	"context"
	"fmt"
	"io"
	"sync"
	"time"

	"shimwright/cmd/shimwright/benchfile"
	"shimwright/ingest/bench"
	"shimwright/ingest/journal"
	"shimwright/ingest/metrics"
)

// figures are what a scraper gets of a bench; nil where the bench file asks for
// none, and then its methods do nothing.
type figures struct {
	*metrics.Metrics
	at   metrics.Listener
	tell func(words string)
}

// readyFigures counts from now on where the bench file asks for it.
func readyFigures(ctx context.Context, f *benchfile.File, folder string, r *journal.Reader, w wires) (*figures, error) {
	if f.Metrics == nil || w.play != "" { // what is played is not the bay's work
		return nil, nil
	}
	sheets, _ := readable(f, folder)
	cfg := metrics.Config{Bay: f.Name, Program: version(), Now: time.Now, Journal: r, Sheets: sheets,
		Room: func() (int64, error) { return metrics.Room(r.Path()) }}
	for _, g := range f.Gauges {
		cfg.Gauges = append(cfg.Gauges, g.ID)
	}
	m, err := metrics.New(ctx, cfg)
	if err != nil {
		return nil, err
	}
	tell := w.tell
	if tell == nil {
		tell = func(string) {}
	}
	return &figures{m, *f.Metrics, tell}, nil
}

// beside counts each fact before next, which may be nil, is told of it.
func (g *figures) beside(next func(bench.Recorded)) func(bench.Recorded) {
	switch {
	case g == nil:
		return next
	case next == nil:
		return g.Fact
	}
	return func(r bench.Recorded) {
		g.Fact(r)
		next(r)
	}
}

func (g *figures) watch(b *bench.Bench, s *shipping) {
	if g == nil {
		return
	}
	g.Watch(b)
	if s == nil {
		return
	}
	g.WatchRelay(func() metrics.Relay {
		is := s.State()
		return metrics.Relay{Connected: is.Connected, Queue: is.Queue(), Lag: is.Lag(time.Now())}
	})
}

// serve serves until ctx is done or stop is called, which waits for it.
func (g *figures) serve(ctx context.Context) (stop func()) {
	if g == nil {
		return func() {}
	}
	ctx, cancel := context.WithCancel(ctx)
	var served sync.WaitGroup
	served.Go(func() { g.Serve(ctx, g.at, g.tell, func(string) {}) })
	return func() {
		cancel()
		served.Wait()
	}
}

// asides are words on what goes on beside the bench. While a screen stands where
// they would be written, they wait until it is left.
type asides struct {
	mu   sync.Mutex
	out  io.Writer
	wait bool
	kept []string
}

// mostKept is how many words wait at most; the oldest go.
const mostKept = 20

func (a *asides) say(words string) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.wait {
		a.kept = append(a.kept, words)
		a.kept = a.kept[max(0, len(a.kept)-mostKept):]
		return
	}
	_, _ = fmt.Fprintln(a.out, "shimwright: "+words) // the error stream has nowhere to tell its own trouble
}

// done says what waited.
func (a *asides) done() {
	a.mu.Lock()
	kept := a.kept
	a.wait, a.kept = false, nil
	a.mu.Unlock()
	for _, words := range kept {
		a.say(words)
	}
}
