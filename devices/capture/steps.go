package capture

import (
	"time"

	"shimwright/devices"
	"shimwright/devices/port"
)

// judged is how long a silence is played in every tick where time is not kept:
// no decoder and no asking waits longer for anything.
const judged = 15 * time.Second

// A step is one thing to play.
type step struct {
	at   time.Duration
	item Item // of What Quiet: the line was found quiet at this time
}

// steps goes through a capture, one step after the other.
type steps struct {
	items []Item
	// thin leaves ticks out of a long silence, all but the last.
	thin bool
	tick time.Duration // the next tick of the first item, where that is Quiet
	in   bool          // inside that item
}

// peek is the next step; false at the end.
func (s *steps) peek() (step, bool) {
	if len(s.items) == 0 {
		return step{}, false
	}
	i := s.items[0]
	if i.What == Quiet && !s.in {
		s.in, s.tick = true, i.At
	}
	if i.What == Quiet {
		return step{s.tick, i}, true
	}
	return step{i.At, i}, true
}

// advance leaves the step that peek gave.
func (s *steps) advance() {
	i := s.items[0]
	if i.What == Quiet && s.tick < i.Until {
		s.tick = min(s.tick+port.Tick, i.Until)
		if s.thin && s.tick > i.At+judged {
			s.tick = i.Until
		}
		return
	}
	s.items, s.in = s.items[1:], false
}

// Decode pushes a capture through a decoder with the recorded times: all of it,
// also what a port drops while it settles. The decoder is reset where the port
// was opened.
func (c Capture) Decode(d devices.Decoder, emit func(devices.Frame, error)) {
	s := steps{items: c.Items, thin: true}
	for {
		next, ok := s.peek()
		if !ok {
			return
		}
		at := c.Began.Add(next.at)
		switch next.item.What {
		case Open:
			d.Reset()
		case Read:
			d.Push(at, next.item.Bytes, emit)
		case Quiet:
			d.Tick(at, emit)
		}
		s.advance()
	}
}
