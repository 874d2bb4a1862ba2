package capture

import (
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"

	"shimwright/devices"
	"shimwright/devices/port"
)

// AtOnce is the speed at which nothing is waited for: the player's clock jumps
// from one thing recorded to the next.
const AtOnce = 0

// maxSpeed keeps a tick longer than a computer needs to wait for one.
const maxSpeed = 100

// A Player plays a capture as a port, at its Opener, for one port.Run. That run
// should have the player's Now as its clock, so that half lines, settling and
// asking take as long as they took; at speed 1 the real clock does as well, but
// for a recording that was held up.
type Player struct {
	name  string
	speed time.Duration // times as fast; AtOnce is a special case
	now   func() time.Time
	start time.Time
	done  chan struct{}

	mu    sync.Mutex
	steps steps
	at    time.Duration // what the clock shows at AtOnce
	late  time.Duration // how far the playing is behind the recording
	prev  time.Duration // when the last step was, as recorded
	// skipped is how far the clock went on at once, where the recording was
	// held up.
	skipped time.Duration
	open    bool
	ended   bool
}

// NewPlayer readies a capture to be played so many times as fast as it was
// recorded, 1 to 100, or AtOnce. Now is the real clock; the player's begins with
// it.
func NewPlayer(c Capture, speed int, now func() time.Time) (*Player, error) {
	if speed < AtOnce || speed > maxSpeed {
		return nil, fmt.Errorf("a capture cannot be played %d times as fast: give 1 to %d, or 0 for at once", speed, maxSpeed)
	}
	return &Player{
		name: "capture of " + c.Port, speed: time.Duration(speed), now: now, start: now(),
		done: make(chan struct{}), steps: steps{items: slices.Clone(c.Items), thin: speed == AtOnce},
	}, nil
}

// Done is closed when all was played and the run, having said what there was to
// say of it, tried to open once more.
func (p *Player) Done() <-chan struct{} { return p.done }

// Now is the clock of what is played.
func (p *Player) Now() time.Time {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.speed == AtOnce {
		return p.start.Add(p.at)
	}
	return p.start.Add(p.played())
}

// played is how long the playing has gone on, as recorded.
func (p *Player) played() time.Duration { return p.now().Sub(p.start)*p.speed + p.skipped }

// Opener opens the capture whatever port is asked for. Its source is virtual.
func (p *Player) Opener() port.Opener {
	return func(port.Find, devices.Line) (port.Opened, error) {
		p.mu.Lock()
		defer p.mu.Unlock()
		for !p.open {
			next, ok := p.steps.peek()
			if !ok || next.item.What == Full {
				if !p.ended {
					p.ended = true
					close(p.done)
				}
				return port.Opened{}, &port.AbsentError{Port: p.name, Hint: "all of it was played"}
			}
			if p.wait(next) > 0 {
				return port.Opened{}, &port.AbsentError{Port: p.name, Hint: "nothing was plugged in at this time"}
			}
			p.pass(next)
			if next.item.What == None {
				return port.Opened{}, &port.AbsentError{Port: p.name, Hint: "it was recorded that " + next.item.Words}
			}
			p.open = next.item.What == Open
		}
		return port.Opened{Port: playing{p}, Path: p.name, Source: devices.SourceVirtual}, nil
	}
}

// wait is how long from now the step is due, in real time.
func (p *Player) wait(s step) time.Duration {
	if p.speed == AtOnce {
		return 0
	}
	return (s.at + p.late - p.played()) / p.speed
}

// pass leaves a step at its time. Of what is late, only an opening delays the
// rest: bytes wait in the port, but the settling time runs from the opening.
func (p *Player) pass(s step) {
	if p.speed == AtOnce {
		p.at = s.at
	} else if s.item.What == Open {
		p.late = max(p.late, p.played()-s.at)
	}
	p.prev = s.at
	p.steps.advance()
}

// playing is the player while its port is open.
type playing struct{ p *Player }

// Read gives what was recorded when it is due: bytes, or nothing for a tick in
// which the line was found quiet. A time without even ticks, when the recording
// was held up, is played as one tick, so that no Read waits for more than two.
func (o playing) Read(b []byte) (int, error) {
	p := o.p
	for {
		p.mu.Lock()
		next, ok := p.steps.peek()
		if !ok {
			p.open = false
			p.mu.Unlock()
			return 0, errors.New("the capture is at its end")
		}
		if gap := next.at - p.prev; p.speed != AtOnce && gap > 2*port.Tick {
			p.skipped += gap - port.Tick
			p.prev = next.at - port.Tick
		}
		if wait := p.wait(next); wait > 0 {
			p.mu.Unlock()
			time.Sleep(wait)
			continue
		}
		n, done, err := p.play(next, b)
		p.mu.Unlock()
		if done {
			return n, err
		}
	}
}

// play gives one step to a reader; done is false where it is none of his.
func (p *Player) play(s step, b []byte) (n int, done bool, err error) {
	switch s.item.What {
	case Read:
		n = copy(b, s.item.Bytes)
		if n < len(s.item.Bytes) {
			p.steps.items[0].Bytes = s.item.Bytes[n:]
			return n, true, nil
		}
	case Lost:
		err = errors.New("lost: " + s.item.Words)
	case Closed:
		err = errors.New("the recording was stopped here")
	case Full:
		err = errors.New("the recording ended here: its file was full")
	}
	p.pass(s)
	if err != nil {
		p.open = false
	}
	return n, s.item.What != Sent, err
}

// Write takes bytes and does nothing with them: what the gauge answered was
// recorded.
func (o playing) Write(b []byte) (int, error) { return len(b), nil }

// Close leaves the capture where it is; opening goes on from there.
func (o playing) Close() error { return nil }

// Ports is an opener for a bench: each path's own capture.
func Ports(players map[string]*Player) port.Opener {
	return func(f port.Find, l devices.Line) (port.Opened, error) {
		p, ok := players[f.Path]
		if !ok {
			return port.Opened{}, &port.AbsentError{Port: f.Path, Hint: "no capture is played there"}
		}
		return p.Opener()(f, l)
	}
}
