package devices

import (
	"time"

	"shimwright/calc/quantity"
)

// A Kind is the sort of message a gauge sends, and so which decoder reads it.
type Kind string

// The kinds.
const (
	// TextLine is a line of text for each press: parts in order and what ends
	// it. A multiplexer's line has a channel part.
	TextLine Kind = "text line"
	// AskedLine is the same line as the answer to a prompt. Lines that nobody
	// asked for are taken too: many such gauges have a data button beside.
	AskedLine Kind = "text line when asked"
	// PackedDecimal is 13 groups of four bits: four that mark the beginning,
	// sign, six digits, place of the point, unit.
	PackedDecimal Kind = "packed decimal"
)

// Kinds lists the kinds a profile may name.
func Kinds() []Kind { return []Kind{TextLine, AskedLine, PackedDecimal} }

// A Packing is how the groups of a packed-decimal frame come over the line.
type Packing string

// The packings.
const (
	// InBytes is two groups to a byte, the first in its low half, and noughts
	// in the high half of the last: the frame's 52 bits, low bit first.
	InBytes Packing = "bytes"
	// InHex is a hex digit for each group.
	InHex Packing = "hex text"
)

// An End is what ends a text line.
type End string

// The ends. A line feed behind CR, and a carriage return before LF, belong to
// the end too, so each reads CRLF as one line.
const (
	CR    End = "CR"
	LF    End = "LF"
	CRLF  End = "CRLF"
	NoEnd End = "none" // the line has a fixed length, and a gap behind it
)

// Bytes is what a gauge sends to end a line; nil for an end not known, and for
// none.
func (e End) Bytes() []byte {
	switch e {
	case CR:
		return []byte("\r")
	case LF:
		return []byte("\n")
	case CRLF:
		return []byte("\r\n")
	}
	return nil
}

// A Profile says how one gauge talks. It is data: nothing in it runs. The path
// that a FieldError gives is the name in the comment.
type Profile struct {
	Kind Kind // kind
	Line Line // line
	// RaiseDTR and RaiseRTS say which of the port's lines are raised on
	// opening: some interfaces live on their power. (raise)
	RaiseDTR, RaiseRTS bool
	// Ask is empty for every kind but AskedLine. (ask)
	Ask Asking
	// Packing is empty for every kind but PackedDecimal. (packing)
	Packing Packing
	// Parts is empty for PackedDecimal, whose parts are fixed.
	Parts []Part // parts, then the place from 0
	End   End    // end
	// Length is the bytes of a line that nothing ends, else 0; a packed-decimal
	// frame has its own. (length)
	Length int
	// Gap is the quiet behind a line that nothing ends: with fewer bytes than
	// Length before it, they were half a line. Else it is 0. (gap)
	Gap time.Duration
	// Assume is the unit where the gauge states none. (assume)
	Assume quantity.Unit
	// NoNumber is the words a gauge sends where it has no number; text that
	// begins with one is no number. (no number)
	NoNumber []string
	// Overrange: a figure of at least so many digits that are all nines or all
	// eights is no number; 0 switches this off. (overrange)
	Overrange int
	// Longest is the most bytes of a frame, its end included. (longest)
	Longest int
	// HalfLine is how long a line may be quiet before its end; Gap is used
	// instead where nothing ends it. (half line)
	HalfLine time.Duration
	// Settle is how long after opening the port what it says is dropped:
	// adapters and gauges that power up spit junk. 0 drops nothing. (settle)
	Settle time.Duration
}

// Defaults is a profile to begin from: all but the parts and the unit. The
// times and words are common practice, no source.
func Defaults() Profile {
	return Profile{
		Kind:      TextLine,
		Line:      Line{Baud: 9600, Data: 8, Parity: NoParity, Stop: 1},
		RaiseDTR:  true,
		RaiseRTS:  true,
		End:       CR,
		NoNumber:  []string{"---", "Err", "ERR"},
		Overrange: 4,
		Longest:   MaxRaw,
		HalfLine:  250 * time.Millisecond,
		Settle:    300 * time.Millisecond,
	}
}

// Channel is the profile's channel part; false where it has none.
func (p Profile) Channel() (Channel, bool) {
	for _, part := range p.Parts {
		if c, ok := part.(Channel); ok {
			return c, true
		}
	}
	return Channel{}, false
}
