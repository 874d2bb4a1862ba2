package port

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"shimwright/devices"
	"shimwright/devices/asked"
)

// Run keeps the port open and gives its events to sink until ctx is done; then
// it closes the port and returns nil, within a Rest and a Tick unless sink holds it up.
// It returns an error at once, and only then, where the configuration can never
// work. It starts no goroutine; sink is called on the caller's.
func Run(ctx context.Context, cfg Config, open Opener, sink func(Event)) error {
	if cfg.Waits == (Waits{}) {
		cfg.Waits = DefaultWaits()
	}
	if err := cfg.check(); err != nil {
		return err
	}
	r := &runner{Config: cfg, gauges: cfg.names(), sink: sink, wait: cfg.Waits.First}
	if cfg.Profile.Kind == devices.AskedLine {
		var err error
		if r.asker, err = asked.New(cfg.Profile); err != nil {
			return fmt.Errorf("gauge %s: %w", r.gauges[0], err)
		}
	}
	for ctx.Err() == nil {
		r.connect(ctx, open)
		r.pause(ctx)
	}
	return nil
}

type runner struct {
	Config
	gauges []string // in the order of their channels
	sink   func(Event)
	wait   time.Duration
	said   string       // the last trouble said, so that it is said once
	asker  *asked.Asker // nil where the gauge cannot be asked
}

// say gives the sink what happened to one gauge.
func (r *runner) say(e Event) {
	if e.At.IsZero() {
		e.At = r.Now()
	}
	r.sink(e)
}

// sayAll gives the sink what happened to the port, for each of its gauges. What
// is counted by bytes is counted once, for the first.
func (r *runner) sayAll(e Event) {
	if e.At.IsZero() {
		e.At = r.Now()
	}
	for i, name := range r.gauges {
		e.Gauge = name
		if i > 0 {
			e.Dropped = 0
		}
		r.sink(e)
	}
}

// connect opens the port and stays with it until it is gone.
func (r *runner) connect(ctx context.Context, open Opener) {
	o, err := open(r.Find, r.Profile.Line)
	if err != nil {
		r.trouble(err)
		return
	}
	r.said = ""
	r.Decoder.Reset()
	c := &connection{runner: r, Opened: o, from: r.Now()}
	r.sayAll(Event{What: Connected, At: c.from, Port: o.Path})
	err = c.raise()
	if err == nil {
		err = c.read(ctx)
	}
	if closing := o.Port.Close(); closing != nil {
		err = errors.Join(err, fmt.Errorf("close: %w", closing))
	}
	if ctx.Err() != nil {
		return
	}
	c.unanswered()
	gone := Event{What: Gone, Port: o.Path, Err: fmt.Errorf("%s is gone, plug the gauge in again: %w", o.Path, err)}
	if !c.settled {
		gone.Dropped = c.dropped
	}
	r.sayAll(gone)
}

// trouble says why there is no port, once for each reason.
func (r *runner) trouble(err error) {
	if err.Error() == r.said {
		return
	}
	r.said = err.Error()
	what := Refused
	var absent *AbsentError
	if errors.As(err, &absent) {
		what = Gone
	}
	r.sayAll(Event{What: what, Err: err})
}

// pause waits before the next try, longer each time.
func (r *runner) pause(ctx context.Context) {
	t := time.NewTimer(r.wait)
	defer t.Stop()
	r.wait = min(2*r.wait, r.Waits.Last)
	for {
		select {
		case <-ctx.Done():
			return
		case <-t.C:
			return
		case a, ok := <-r.Asks:
			switch {
			case !ok:
				r.Asks = nil
			case !r.has(a):
				r.unknown(a)
			default:
				r.say(Event{Gauge: a.Gauge, What: NotSent, Err: errors.New("the gauge is not connected: plug it in and ask again")})
			}
		}
	}
}

func (r *runner) has(a Ask) bool { return slices.Contains(r.gauges, a.Gauge) }

// unknown says that an ask came to the wrong port.
func (r *runner) unknown(a Ask) {
	r.say(Event{Gauge: a.Gauge, What: NotSent, Err: fmt.Errorf("gauge %s is not on this port, which has %q: ask it on its own", devices.Quote([]byte(a.Gauge)), r.gauges)})
}
