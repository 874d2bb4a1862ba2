package port

import (
	"errors"
	"fmt"
	"time"

	"shimwright/devices"
	"shimwright/devices/asked"
)

// An Ask is one question to a gauge: its profile's prompt is sent, and again
// where no reply comes in time. Each has one outcome: an event with a frame and
// Asked, NoReply, or NotSent; but one that comes while the same gauge is being
// asked is the same question.
type Ask struct {
	// Gauge is the gauge that should answer.
	Gauge string
}

// take begins at most one ask.
func (c *connection) take(at time.Time) error {
	select {
	case a, ok := <-c.Asks:
		if !ok {
			c.Asks = nil
			return nil
		}
		return c.begin(at, a)
	default:
		return nil
	}
}

func (c *connection) begin(at time.Time, a Ask) error {
	switch {
	case !c.has(a):
		c.unknown(a)
	case c.asker == nil:
		c.notSent(a, errors.New("this gauge cannot be asked: press its button, or give its profile the prompt"))
	case !c.settled:
		c.notSent(a, errors.New("the port is settling: ask again in a moment"))
	case c.asker.Asking() && c.asked != a:
		c.notSent(a, fmt.Errorf("gauge %s on the same port is being asked: ask again when it has answered", c.asked.Gauge))
	default:
		c.asked, c.askedAt = a, at
		return c.follow(c.asker.Ask(at))
	}
	return nil
}

func (c *connection) notSent(a Ask, err error) {
	c.say(Event{Gauge: a.Gauge, What: NotSent, Port: c.Path, Err: err})
}

// follow does what a step of the asking says.
func (c *connection) follow(s asked.Step) error {
	if s.Outcome == asked.NoReply {
		c.say(Event{Gauge: c.asked.Gauge, What: NoReply, Port: c.Path, Err: s.Err})
	}
	if len(s.Send) == 0 {
		return nil
	}
	n, err := c.Port.Write(s.Send)
	if err == nil && n < len(s.Send) {
		err = fmt.Errorf("only %d of %d bytes were taken", n, len(s.Send))
	}
	if err != nil {
		err = fmt.Errorf("send %s: %w", devices.Quote(s.Send), err)
		c.asker.Reset()
		c.notSent(c.asked, err)
	}
	return err
}

// answers tells whether a frame of a gauge answers what it was asked.
func (c *connection) answers(gauge string, err error) bool {
	if c.asker == nil || !c.asker.Asking() || gauge != c.asked.Gauge {
		return false
	}
	return c.asker.Frame(err).Outcome == asked.Reply
}

// unanswered ends an asking with the port.
func (c *connection) unanswered() {
	if c.asker == nil || !c.asker.Asking() {
		return
	}
	c.asker.Reset()
	c.say(Event{Gauge: c.asked.Gauge, What: NoReply, Port: c.Path, Err: errors.New("no reply: the gauge was unplugged: plug it in and ask again")})
}
