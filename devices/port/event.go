package port

import (
	"time"

	"shimwright/devices"
)

// What is the sort of an event.
type What uint8

// The events of a port.
const (
	Connected What = iota + 1 // the port is open
	Gone                      // it is not there: unplugged, or not yet plugged in
	Refused                   // it is there and cannot be used; Err says what to do
	Sample                    // a good frame
	BadFrame                  // a bad frame: Err is a *devices.FrameError
	NotSent                   // bytes to send were dropped; Err says why
)

// String is the event's word.
func (w What) String() string {
	words := [...]string{"unknown", "connected", "gone", "refused", "sample", "bad frame", "not sent"}
	if int(w) >= len(words) {
		return words[0]
	}
	return words[w]
}

// An Event is what happened on one gauge's port.
type Event struct {
	Gauge string
	What  What
	// At is when it was seen, with the monotonic clock: of a frame, when the
	// read that completed it returned.
	At time.Time
	// Port is the resolved path, where one was open.
	Port string
	// Sample is set for Sample, and for BadFrame without a value.
	Sample devices.Sample
	// Err is set for all but Connected and Sample.
	Err error
}
