package port

import (
	"context"
	"fmt"
	"time"

	"shimwright/devices"
)

// A session is one port while it is open.
type session struct {
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
func (s *session) read(ctx context.Context) error {
	buf := make([]byte, 512)
	s.settled = s.Profile.Settle == 0
	for ctx.Err() == nil {
		n, err := s.Port.Read(buf)
		at := s.Now()
		if !s.settled && at.Sub(s.from) >= s.Profile.Settle {
			s.settled, s.straddling = true, true
		}
		if n > 0 {
			s.push(at, buf[:n])
		}
		if err != nil {
			return err
		}
		s.runner.wait = firstWait
		if n == 0 {
			s.tick(at)
		}
		if err := s.ask(); err != nil {
			return err
		}
	}
	return ctx.Err()
}

func drop(devices.Frame, error) {}

func (s *session) push(at time.Time, p []byte) {
	if !s.settled {
		s.Decoder.Push(at, p, drop)
		return
	}
	// Byte by byte up to the first frame, to know which bytes are in it.
	for s.straddling && len(p) > 0 {
		s.fresh++
		s.Decoder.Push(at, p[:1], s.first)
		p = p[1:]
	}
	s.Decoder.Push(at, p, s.emit)
}

func (s *session) tick(at time.Time) {
	switch {
	case !s.settled:
		s.Decoder.Tick(at, drop)
	case s.straddling:
		s.Decoder.Tick(at, s.first)
	default:
		s.Decoder.Tick(at, s.emit)
	}
}

// first emits the first frame that ends after settling: not at all where no
// byte of it came after, and as a bad one where some came before.
func (s *session) first(f devices.Frame, err error) {
	s.straddling = false
	if s.fresh == 0 {
		return
	}
	if err == nil && len(f.Raw) > s.fresh {
		err = &devices.FrameError{Reason: devices.Unsettled, Detail: "press again", Raw: f.Raw}
		f = devices.Frame{Raw: f.Raw, At: f.At}
	}
	s.emit(f, err)
}

func (s *session) emit(f devices.Frame, err error) {
	e := Event{What: Sample, At: f.At, Port: s.Path, Err: err,
		Sample: devices.Sample{Gauge: s.Gauge, Frame: f, Source: s.Source}}
	if err != nil {
		e.What = BadFrame
	}
	s.say(e)
}

// ask sends what waits to be sent, one message for each read.
func (s *session) ask() error {
	select {
	case p, ok := <-s.Asks:
		switch {
		case !ok:
			s.Asks = nil
		case len(p) > maxAsk:
			s.say(Event{What: NotSent, Port: s.Path, Err: fmt.Errorf("%d bytes are too many to send at once: send at most %d", len(p), maxAsk)})
		default:
			return s.write(p)
		}
	default:
	}
	return nil
}

func (s *session) write(p []byte) error {
	n, err := s.Port.Write(p)
	if err == nil && n < len(p) {
		err = fmt.Errorf("only %d of %d bytes were taken", n, len(p))
	}
	if err != nil {
		err = fmt.Errorf("send %s: %w", devices.Quote(p), err)
		s.say(Event{What: NotSent, Port: s.Path, Err: err})
	}
	return err
}
