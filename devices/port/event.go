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
	NotSent                   // an ask was dropped; Err says why
	Settled                   // what it says counts from now on; Dropped tells what did not
	Quiet                     // it is open, and nothing was heard for Config.Quiet
	Stray                     // a frame that is no gauge's: Sample has it, Err says why
	Absent                    // the multiplexer says that the gauge is not on its channel
	NoReply                   // the gauge was asked and did not answer; Err says what to do
)

// String is the event's word.
func (w What) String() string {
	words := [...]string{"unknown", "connected", "gone", "refused", "sample", "bad frame", "not sent", "settled", "quiet", "stray", "absent", "no reply"}
	if int(w) >= len(words) {
		return words[0]
	}
	return words[w]
}

// An Event is what happened on one gauge's port. What happens to a port with
// several gauges is said once for each of them, in the order of their channels.
type Event struct {
	// Gauge is empty for a stray alone.
	Gauge string
	What  What
	// At is when it was seen, with the monotonic clock: of a frame, when the
	// read that completed it returned.
	At time.Time
	// Port is the resolved path, where one was open.
	Port string
	// Sample is set for Sample and Stray, and for BadFrame without a value.
	Sample devices.Sample
	// Asked is true where the frame answers an Ask.
	Asked bool
	// Dropped is how many bytes were dropped while settling; set for Settled,
	// and for Gone where the port went before it had settled.
	Dropped int
	// Err is set for all but Connected, Settled and Sample.
	Err error
}
