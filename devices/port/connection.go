package port

import (
	"context"
	"errors"
	"fmt"
	"time"

	"shimwright/devices"
)

// A connection is one port while it is open.
type connection struct {
	*runner
	Opened
	from    time.Time // when it was opened
	settled bool
	dropped int // bytes that came before it was
	// Until the first frame that ends after settling: whether bytes from before
	// may be part of it, and how many came after.
	straddling bool
	fresh      int

	heard time.Time // when bytes last came, or when it was opened
	still time.Time // when the line was first found quiet since; zero before it
	quiet bool      // and it was said since

	asked   Ask       // the last one begun
	askedAt time.Time // and when, or when it was opened

	waits time.Duration // how long a read waits now
}

// raise sets the lines that power some interfaces, where the port has them.
func (c *connection) raise() error {
	p, ok := c.Port.(Raiser)
	if !ok {
		return nil
	}
	if err := p.Raise(c.Profile.RaiseDTR, c.Profile.RaiseRTS); err != nil {
		return fmt.Errorf("raise its lines: %w", err)
	}
	return nil
}

// read reads until the port fails or ctx is done.
func (c *connection) read(ctx context.Context) error {
	buf := make([]byte, 512)
	c.settled = c.Profile.Settle == 0
	c.heard, c.askedAt, c.waits = c.from, c.from, Tick
	for ctx.Err() == nil {
		n, err := c.Port.Read(buf)
		at := c.Now()
		if !c.settled && at.Sub(c.from) >= c.Profile.Settle {
			c.settled, c.straddling = true, true
			c.sayAll(Event{What: Settled, At: at, Port: c.Path, Dropped: c.dropped})
		}
		if n > 0 {
			err = errors.Join(err, c.bytes(at, buf[:n]))
		}
		if err != nil {
			return err
		}
		c.runner.wait = c.Waits.First
		if n == 0 {
			err = c.tick(at)
		}
		if err = errors.Join(err, c.take(at), c.patience(at)); err != nil {
			return err
		}
	}
	return ctx.Err()
}

// patience has the next read wait as long as it may, where the port can: each
// read that ends without a byte wakes the computer for nothing.
func (c *connection) patience(at time.Time) error {
	want := c.mayWait(at)
	w, ok := c.Port.(Waiter)
	if !ok || want == c.waits {
		return nil
	}
	if err := w.Wait(want); err != nil {
		return fmt.Errorf("set how long to wait for it: %w", err)
	}
	c.waits = want
	return nil
}

// mayWait is how long nothing can be missed by waiting: a Tick where a decoder
// may hold half a frame, whose time runs out, or where an ask is on its way; a
// Rest else, but not past the moment when quiet is to be said.
func (c *connection) mayWait(at time.Time) time.Duration {
	silent, most := at.Sub(c.heard), Rest
	switch {
	case !c.settled, c.still.IsZero(), at.Sub(c.still) <= max(c.Profile.HalfLine, c.Profile.Gap):
		return Tick
	case c.asker == nil:
	case c.asker.Asking(), min(silent, at.Sub(c.askedAt)) < inUse:
		return Tick
	default:
		most = restAsked
	}
	if c.Quiet > 0 && !c.quiet {
		most = min(most, max(Tick, c.Quiet-silent))
	}
	return most
}

func drop(devices.Frame, error) {}

// bytes takes what one read gave.
func (c *connection) bytes(at time.Time, p []byte) error {
	c.heard, c.still, c.quiet = at, time.Time{}, false
	var err error
	if c.asker != nil {
		err = c.follow(c.asker.Push(at, len(p)))
	}
	c.push(at, p)
	return err
}

func (c *connection) push(at time.Time, p []byte) {
	if !c.settled {
		c.dropped += len(p)
		c.Decoder.Push(at, p, drop)
		return
	}
	// Byte by byte up to the first frame, to know which bytes are in it.
	for c.straddling && len(p) > 0 {
		c.fresh++
		c.Decoder.Push(at, p[:1], c.first)
		p = p[1:]
	}
	c.Decoder.Push(at, p, c.emit)
}

// tick takes a read that found the line quiet.
func (c *connection) tick(at time.Time) error {
	if c.still.IsZero() {
		c.still = at
	}
	switch {
	case !c.settled:
		c.Decoder.Tick(at, drop)
	case c.straddling:
		c.Decoder.Tick(at, c.first)
	default:
		c.Decoder.Tick(at, c.emit)
	}
	if c.Quiet > 0 && !c.quiet && at.Sub(c.heard) >= c.Quiet {
		c.quiet = true
		c.sayAll(Event{What: Quiet, At: at, Port: c.Path, Err: fmt.Errorf("nothing was heard on %s for %s: press the gauge's button; if nothing comes, see that it is switched on and that its cable is in", c.Path, c.Quiet)})
	}
	if c.asker == nil {
		return nil
	}
	return c.follow(c.asker.Tick(at))
}

// first emits the first frame that ends after settling: not at all where no
// byte of it came after, and as a bad one where some came before.
func (c *connection) first(f devices.Frame, err error) {
	c.straddling = false
	if c.fresh == 0 {
		return
	}
	if err == nil && len(f.Raw) > c.fresh {
		err = &devices.FrameError{Reason: devices.Unsettled, Detail: "press again", Raw: f.Raw}
		f = devices.Frame{Raw: f.Raw, At: f.At, Channel: f.Channel}
	}
	c.emit(f, err)
}

// emit says what a frame is: a sample of its gauge, a bad frame, no frame where
// a multiplexer says that a channel has no gauge, or a stray.
func (c *connection) emit(f devices.Frame, err error) {
	gauge, known := c.gaugeOf(f)
	e := Event{Gauge: gauge, What: Sample, At: f.At, Port: c.Path, Err: err,
		Sample: devices.Sample{Gauge: gauge, Frame: f, Source: c.Source}}
	var bad *devices.FrameError
	absent := errors.As(err, &bad) && bad.Reason == devices.Absent
	switch {
	case absent && !known:
		return
	case absent:
		e.What, e.Sample = Absent, devices.Sample{}
		e.Err = fmt.Errorf("gauge %s is not in its socket%s: plug it into the multiplexer", gauge, onChannel(f))
	case !known:
		e.What = Stray
		e.Err = c.strayed(f, err)
	case err != nil:
		e.What = BadFrame
	}
	e.Asked = known && c.answers(gauge, err)
	c.say(e)
}

// strayed says why a frame is no gauge's.
func (c *connection) strayed(f devices.Frame, bad error) error {
	switch {
	case bad != nil && f.Channel == "":
		return fmt.Errorf("a frame from one of %q that does not say which: %w", c.gauges, bad)
	case bad != nil:
		return fmt.Errorf("a bad frame%s, which has no gauge on this bench: %w", onChannel(f), bad)
	}
	return fmt.Errorf("a press%s, which has no gauge on this bench: lay that gauge aside, or give the channel its gauge (received %s)", onChannel(f), devices.Quote(f.Raw))
}

func onChannel(f devices.Frame) string {
	if f.Channel == "" {
		return ""
	}
	return ", channel " + devices.Quote([]byte(f.Channel))
}
