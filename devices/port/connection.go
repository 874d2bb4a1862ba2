package port

import (
	"context"
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
	// Until the first frame that ends after settling: whether bytes from before
	// may be part of it, and how many came after.
	straddling bool
	fresh      int
}

// read reads until the port fails or ctx is done.
func (c *connection) read(ctx context.Context) error {
	buf := make([]byte, 512)
	c.settled = c.Profile.Settle == 0
	for ctx.Err() == nil {
		n, err := c.Port.Read(buf)
		at := c.Now()
		if !c.settled && at.Sub(c.from) >= c.Profile.Settle {
			c.settled, c.straddling = true, true
		}
		if n > 0 {
			c.push(at, buf[:n])
		}
		if err != nil {
			return err
		}
		c.runner.wait = firstWait
		if n == 0 {
			c.tick(at)
		}
		if err := c.ask(); err != nil {
			return err
		}
	}
	return ctx.Err()
}

func drop(devices.Frame, error) {}

func (c *connection) push(at time.Time, p []byte) {
	if !c.settled {
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

func (c *connection) tick(at time.Time) {
	switch {
	case !c.settled:
		c.Decoder.Tick(at, drop)
	case c.straddling:
		c.Decoder.Tick(at, c.first)
	default:
		c.Decoder.Tick(at, c.emit)
	}
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
		f = devices.Frame{Raw: f.Raw, At: f.At}
	}
	c.emit(f, err)
}

func (c *connection) emit(f devices.Frame, err error) {
	e := Event{What: Sample, At: f.At, Port: c.Path, Err: err,
		Sample: devices.Sample{Gauge: c.Gauge, Frame: f, Source: c.Source}}
	if err != nil {
		e.What = BadFrame
	}
	c.say(e)
}

// ask sends what waits to be sent, one message for each read.
func (c *connection) ask() error {
	select {
	case p, ok := <-c.Asks:
		switch {
		case !ok:
			c.Asks = nil
		case len(p) > maxAsk:
			c.say(Event{What: NotSent, Port: c.Path, Err: fmt.Errorf("%d bytes are too many to send at once: send at most %d", len(p), maxAsk)})
		default:
			return c.write(p)
		}
	default:
	}
	return nil
}

func (c *connection) write(p []byte) error {
	n, err := c.Port.Write(p)
	if err == nil && n < len(p) {
		err = fmt.Errorf("only %d of %d bytes were taken", n, len(p))
	}
	if err != nil {
		err = fmt.Errorf("send %s: %w", devices.Quote(p), err)
		c.say(Event{What: NotSent, Port: c.Path, Err: err})
	}
	return err
}
