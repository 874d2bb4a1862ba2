package devices

import (
	"fmt"
	"strconv"
	"time"

	"shimwright/calc/quantity"
)

// MaxRaw is the most bytes a frame keeps: longer runs are noise.
const MaxRaw = 256

// A Frame is one whole message of a gauge.
type Frame struct {
	// Raw is every byte of the frame as received, what ended it included. It
	// is the frame's own copy.
	Raw []byte
	// At is when the read that completed the frame returned.
	At time.Time
	// Value is the figure as sent, with its unit and resolution. It is empty in
	// a bad frame.
	Value quantity.Value
	// UnitStated is false where the unit is the profile's assumption.
	UnitStated bool
	// Battery is true where the gauge flagged a low battery.
	Battery bool
	// Channel is the channel as sent, where the profile has a channel part;
	// else it is empty. A bad frame has it if it was read before the fault.
	Channel string
}

// A Decoder turns bytes into frames. It is pure and used by one goroutine.
//
// Emit is called once for each whole frame: with a nil error for a good one,
// with a *FrameError and a Frame that has Raw, At and what was read of the
// channel for a bad one. Where the
// bytes are cut into pushes changes no frame, only when it is complete.
type Decoder interface {
	// Push takes the bytes of one read. It keeps no reference to p.
	Push(at time.Time, p []byte, emit func(Frame, error))
	// Tick says that the line was found quiet at this time. It ends what only
	// a gap ends, and discards a half line that waited too long.
	Tick(at time.Time, emit func(Frame, error))
	// Reset forgets half a frame without a word, as after a reconnection.
	Reset()
}

// An Encoder writes what a gauge of its profile would send for a value: the
// other half of a decoder, for virtual gauges.
type Encoder interface {
	// Encode refuses a value that the profile cannot say.
	Encode(v quantity.Value, battery bool) ([]byte, error)
}

// A ChannelEncoder writes what a multiplexer of its profile would send. An
// encoder whose profile has a channel part is one, and its Encode refuses.
type ChannelEncoder interface {
	Encoder
	// EncodeChannel refuses a channel or a value that the profile cannot say.
	EncodeChannel(channel string, v quantity.Value, battery bool) ([]byte, error)
	// EncodeAbsent is what the multiplexer says for a channel without a gauge:
	// a plausible figure behind another code. It refuses where the profile has
	// no code for that.
	EncodeAbsent(channel string) ([]byte, error)
}

// A Source tells where a sample came from. The driver sets it; no profile,
// sheet or bench file can.
type Source uint8

// The sources. The zero Source is none of them, so a forgotten one shows.
const (
	SourceGauge   Source = iota + 1 // read from a real port
	SourceVirtual                   // read from a pseudo-terminal
	SourceKeyed                     // typed by a person
)

// String is the source's word: gauge, virtual, keyed; else unknown.
func (s Source) String() string {
	switch s {
	case SourceGauge:
		return "gauge"
	case SourceVirtual:
		return "virtual"
	case SourceKeyed:
		return "keyed"
	default:
		return "unknown"
	}
}

// MarshalText writes the source's word and refuses an unknown one.
func (s Source) MarshalText() ([]byte, error) {
	if s < SourceGauge || s > SourceKeyed {
		return nil, fmt.Errorf("source %d is none of gauge, virtual, keyed: the driver must set it", s)
	}
	return []byte(s.String()), nil
}

// UnmarshalText reads what MarshalText writes.
func (s *Source) UnmarshalText(b []byte) error {
	for _, known := range []Source{SourceGauge, SourceVirtual, SourceKeyed} {
		if known.String() == string(b) {
			*s = known
			return nil
		}
	}
	return fmt.Errorf("%s is not a source: write gauge, virtual or keyed", Quote(b))
}

// A Sample is what a named gauge said, and where it came from.
type Sample struct {
	// Gauge is the gauge's name on this bench.
	Gauge string
	Frame
	Source Source
}

// A Reason is the sort of thing that is wrong with a bad frame; a metric may
// count by it.
type Reason string

// The reasons.
const (
	NoNumber  Reason = "no number"                         // the gauge said that it has none: error sign, blank, over range
	BadShape  Reason = "not a line of this gauge"          // readable, but not as the profile says
	Absent    Reason = "no gauge on this channel"          // the multiplexer's code says so; the figure behind it means nothing
	Noise     Reason = "noise on the line"                 // bytes that no text line has
	HalfLine  Reason = "half a line"                       // nothing ended it in time
	TooLong   Reason = "too long"                          // more bytes than the profile allows
	Unsettled Reason = "began before the port had settled" // so its beginning cannot be trusted
)

// A FrameError says why a frame is bad.
type FrameError struct {
	Reason Reason
	// Detail is what was found and where, in plain words; it may be empty.
	Detail string
	// Raw is the frame's bytes.
	Raw []byte
}

// Error is one plain sentence in printable ASCII, with the bytes quoted.
func (e *FrameError) Error() string {
	s := string(e.Reason)
	if e.Detail != "" {
		s += ": " + e.Detail
	}
	return s + " (received " + Quote(e.Raw) + ")"
}

// quoted is how many bytes Quote shows.
const quoted = 64

// Quote writes bytes for a person: in double quotes, everything but printable
// ASCII escaped, so that no control byte reaches a terminal, and cut with a
// count where long.
func Quote(b []byte) string {
	if len(b) <= quoted {
		return strconv.QuoteToASCII(string(b))
	}
	return fmt.Sprintf("%s and %d more bytes", strconv.QuoteToASCII(string(b[:quoted])), len(b)-quoted)
}
