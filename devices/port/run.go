package port

import (
	"context"
	"errors"
	"fmt"
	"time"

	"shimwright/devices"
)

// The wait before trying again: doubled each time, begun anew once a port has
// been read.
const (
	firstWait = 10 * time.Millisecond
	lastWait  = 5 * time.Second
)

// maxAsk is the most bytes sent at once: what any port takes without blocking.
const maxAsk = 64

// Config is one gauge's port.
type Config struct {
	// Gauge is the name that samples carry.
	Gauge string
	Find  Find
	// Profile gives the line settings and the settling time.
	Profile devices.Profile
	// Decoder was made from the profile. Run alone uses it.
	Decoder devices.Decoder
	// Now is the clock, with its monotonic part: time.Now.
	Now func() time.Time
	// Asks, which may be nil, is bytes to send to the gauge, at most 64 at a
	// time. What cannot be sent is dropped with an event, never kept.
	Asks <-chan []byte
}

func (c Config) check() error {
	switch {
	case c.Gauge == "":
		return errors.New("the gauge has no name: give it one")
	case c.Decoder == nil || c.Now == nil:
		return fmt.Errorf("gauge %s has no decoder or no clock: the program must give both", c.Gauge)
	}
	if err := c.Find.Check(); err != nil {
		return fmt.Errorf("gauge %s: %w", c.Gauge, err)
	}
	if err := c.Profile.Validate(); err != nil {
		return fmt.Errorf("gauge %s: %w", c.Gauge, err)
	}
	return nil
}

// Run keeps the port open and gives its events to sink until ctx is done; then
// it closes the port and returns nil, within two ticks unless sink holds it up.
// It returns an error at once, and only then, where the configuration can never
// work. It starts no goroutine; sink is called on the caller's.
func Run(ctx context.Context, cfg Config, open Opener, sink func(Event)) error {
	if err := cfg.check(); err != nil {
		return err
	}
	r := &runner{Config: cfg, sink: sink, wait: firstWait}
	for ctx.Err() == nil {
		r.connect(ctx, open)
		r.pause(ctx)
	}
	return nil
}

type runner struct {
	Config
	sink func(Event)
	wait time.Duration
	said string // the last trouble said, so that it is said once
}

func (r *runner) say(e Event) {
	e.Gauge = r.Gauge
	if e.At.IsZero() {
		e.At = r.Now()
	}
	r.sink(e)
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
	r.say(Event{What: Connected, At: c.from, Port: o.Path})
	err = c.read(ctx)
	if closing := o.Port.Close(); closing != nil {
		err = errors.Join(err, fmt.Errorf("close: %w", closing))
	}
	if ctx.Err() == nil {
		r.say(Event{What: Gone, Port: o.Path, Err: fmt.Errorf("%s is gone, plug the gauge in again: %w", o.Path, err)})
	}
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
	r.say(Event{What: what, Err: err})
}

// pause waits before the next try, longer each time.
func (r *runner) pause(ctx context.Context) {
	t := time.NewTimer(r.wait)
	defer t.Stop()
	r.wait = min(2*r.wait, lastWait)
	for {
		select {
		case <-ctx.Done():
			return
		case <-t.C:
			return
		case _, ok := <-r.Asks:
			if !ok {
				r.Asks = nil
				continue
			}
			r.say(Event{What: NotSent, Err: errors.New("the gauge is not connected: plug it in and ask again")})
		}
	}
}
