package port

import (
	"errors"
	"maps"
	"time"

	"shimwright/devices"
)

// Counts is what came of one gauge's port since the counting began. The zero
// Counts is a beginning; Add is the only way it grows.
type Counts struct {
	// Good is frames with a value.
	Good int
	// Bad is bad frames by their reason; nil while there is none.
	Bad map[devices.Reason]int
	// Strays is frames that are no gauge's.
	Strays int
	// Connects is how often the port was opened.
	Connects int
	// Dropped is bytes that came while the port settled.
	Dropped int
	// NotSent is asks that were dropped, NoReplies those without an answer.
	NotSent, NoReplies int
	// LastGood is when the last frame with a value arrived; zero before it.
	LastGood time.Time
}

// Add is the counts with one more event. It changes nothing that c shares.
func (c Counts) Add(e Event) Counts {
	c.Dropped += e.Dropped
	switch e.What {
	case Connected:
		c.Connects++
	case Sample:
		c.Good++
		c.LastGood = e.At
	case BadFrame:
		var fe *devices.FrameError
		reason := devices.BadShape
		if errors.As(e.Err, &fe) {
			reason = fe.Reason
		}
		bad := make(map[devices.Reason]int, len(c.Bad)+1)
		maps.Copy(bad, c.Bad)
		bad[reason]++
		c.Bad = bad
	case Stray:
		c.Strays++
	case NotSent:
		c.NotSent++
	case NoReply:
		c.NoReplies++
	}
	return c
}

// Reconnects is how often the port was opened again.
func (c Counts) Reconnects() int { return max(0, c.Connects-1) }

// AllBad is bad frames of any reason.
func (c Counts) AllBad() int {
	n := 0
	for _, k := range c.Bad {
		n += k
	}
	return n
}

// Age is how long ago the last frame with a value arrived; ok is false where
// none has.
func (c Counts) Age(now time.Time) (age time.Duration, ok bool) {
	if c.LastGood.IsZero() {
		return 0, false
	}
	return now.Sub(c.LastGood), true
}

// A Tally is the counts of every gauge by name, and those of strays under "".
type Tally map[string]Counts

// Add counts an event where it belongs.
func (t Tally) Add(e Event) { t[e.Gauge] = t[e.Gauge].Add(e) }

// A State is how one gauge's port stands, as a word.
type State string

// The states. A port that is open and heard is connected.
const (
	StateStarting  State = "starting"
	StateConnected State = "connected"
	StateQuiet     State = "quiet"
	StateGone      State = "gone"
	StateRefused   State = "refused"
)

// After is the state after an event.
func (s State) After(e Event) State {
	switch e.What {
	case Connected, Settled, Sample, BadFrame:
		return StateConnected
	case Quiet:
		return StateQuiet
	case Gone, Absent:
		return StateGone
	case Refused:
		return StateRefused
	}
	return s
}
