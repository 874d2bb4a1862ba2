// Package asked asks a gauge that answers when asked: what to send, when to ask
// again and when to give up. It is pure: time is handed in, and it owns no
// port, no goroutine and no clock.
//
// Time is judged by Tick, which says that the line was found quiet, and by Push
// only against a line that is never quiet. A program that was held up reads a
// reply late though the gauge was not; the reply is pushed before the next
// tick, so it counts.
//
// A line that nobody asked for is a press all the same: a gauge that can be
// asked often has a data button too, and a reply that comes after the asking
// was given up, or twice because it crossed with asking again, cannot be told
// from one. Nothing is dropped here; whether two like frames are one press is
// the business of those who know the job.
package asked

import (
	"errors"
	"fmt"
	"time"

	"shimwright/devices"
)

// An Outcome is what an event meant for the asking.
type Outcome uint8

// The outcomes.
const (
	Nothing Outcome = iota // no asking ended by it
	Reply                  // the frame answers the asking, which is over
	Unasked                // the frame came by itself: a press all the same
	NoReply                // the asking is over without an answer; the step's Err says so
)

// String is the outcome's word.
func (o Outcome) String() string {
	words := [...]string{"nothing", "reply", "unasked", "no reply"}
	if int(o) >= len(words) {
		return "unknown"
	}
	return words[o]
}

// A Step is what to do after an event.
type Step struct {
	// Send is bytes to send now, at most 64; nil for none. It must not be
	// changed.
	Send []byte
	// Outcome is what the event meant.
	Outcome Outcome
	// Err is a *NoReplyError with NoReply, else nil.
	Err error
}

// A NoReplyError says that a gauge did not answer.
type NoReplyError struct {
	// Times is how often it was asked.
	Times int
	// Timeout is how long each wait was.
	Timeout time.Duration
	// Garbled is true where something came that could not be read.
	Garbled bool
}

// Error is one plain sentence that says what to do.
func (e *NoReplyError) Error() string {
	times := "once"
	if e.Times > 1 {
		times = fmt.Sprintf("%d times", e.Times)
	}
	if e.Garbled {
		return fmt.Sprintf("no reply that could be read, asked %s: see to the line settings and the cable, then ask again", times)
	}
	return fmt.Sprintf("no reply: off, asleep or busy (asked %s, %s each): wake the gauge and ask again", times, e.Timeout)
}

// patience is how many time-outs an asking may last on a line that is never
// quiet.
const patience = 4

// Asker asks one gauge. It must be made by New and is used by one goroutine.
type Asker struct {
	ask    devices.Asking
	prompt []byte

	left    int // how often to ask again; -1 while not asking
	sent    time.Time
	heard   time.Time // of the last bytes since sent, or sent
	garbled bool
	overdue bool // bytes still came when the patience was over
}

// New makes an asker from the profile of a gauge that answers when asked.
func New(p devices.Profile) (*Asker, error) {
	if err := p.Validate(); err != nil {
		return nil, fmt.Errorf("nothing to ask with: %w", err)
	}
	if p.Kind != devices.AskedLine {
		return nil, errors.New("nothing to ask with: the profile's kind is not " + string(devices.AskedLine))
	}
	return &Asker{ask: p.Ask, prompt: []byte(p.Ask.Prompt), left: -1}, nil
}

// Asking tells whether an answer is waited for.
func (a *Asker) Asking() bool { return a.left >= 0 }

// Ask begins an asking and gives the prompt to send. While one is under way
// nothing is sent and it goes on: two presses of a pedal are one question.
func (a *Asker) Ask(at time.Time) Step {
	if a.Asking() {
		return Step{}
	}
	a.left, a.garbled = a.ask.Retries, false
	return a.send(at)
}

func (a *Asker) send(at time.Time) Step {
	a.sent, a.heard, a.overdue = at, at, false
	return Step{Send: a.prompt}
}

// Push tells that a read gave n bytes, before the frames in them are given to
// Frame. A reply that has begun holds the next asking off until the line was
// quiet for the time-out, or noise has kept it busy for four.
func (a *Asker) Push(at time.Time, n int) Step {
	if !a.Asking() || n == 0 {
		return Step{}
	}
	if a.overdue {
		return a.again(at)
	}
	// What is in the bytes of a late read may answer yet; the next read will not.
	a.overdue = at.Sub(a.sent) >= patience*a.ask.Timeout
	a.heard, a.garbled = at, true
	return Step{}
}

// Frame tells of a frame that the decoder emitted, with its error. A good frame
// answers; so does one by which the gauge says that it has no number. Anything
// else is noise, and the gauge is asked again in time.
func (a *Asker) Frame(err error) Step {
	var bad *devices.FrameError
	answers := err == nil || errors.As(err, &bad) && (bad.Reason == devices.NoNumber || bad.Reason == devices.Absent)
	switch {
	case !a.Asking() && err == nil:
		return Step{Outcome: Unasked}
	case !a.Asking() || !answers:
		return Step{}
	}
	a.left = -1
	return Step{Outcome: Reply}
}

// Tick tells that the line was found quiet. It asks again after the time-out,
// and gives up after the last.
func (a *Asker) Tick(at time.Time) Step {
	if !a.Asking() || at.Sub(a.heard) < a.ask.Timeout {
		return Step{}
	}
	return a.again(at)
}

func (a *Asker) again(at time.Time) Step {
	if a.left > 0 {
		a.left--
		return a.send(at)
	}
	a.left = -1
	return Step{Outcome: NoReply, Err: &NoReplyError{Times: a.ask.Retries + 1, Timeout: a.ask.Timeout, Garbled: a.garbled}}
}

// Reset forgets the asking without a word, as after a reconnection.
func (a *Asker) Reset() { a.left = -1 }
