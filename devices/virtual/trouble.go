package virtual

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"slices"

	"shimwright/devices"
)

// A Trouble is one thing that goes wrong between a gauge's button and the
// bench. A script names it by its word.
type Trouble string

// The troubles of one press. Unplugging, a low battery, silence, a flood and a
// pressed unit key are methods of Gauge, because they last.
const (
	// Split: the line comes in pieces.
	Split Trouble = "split"
	// Doubled: the line is sent twice.
	Doubled Trouble = "doubled"
	// Truncated: the line stops before its end.
	Truncated Trouble = "truncated"
	// Lost: one byte of the line is lost on the way.
	Lost Trouble = "lost byte"
	// Noise: a byte that no text has comes in between.
	Noise Trouble = "noise"
	// Flipped: one bit of one byte is another.
	Flipped Trouble = "flipped bit"
	// OverRange: every figure is a nine.
	OverRange Trouble = "over range"
	// ErrorSign: the gauge says that it has no number.
	ErrorSign Trouble = "error sign"
)

// Troubles lists them all.
func Troubles() []Trouble {
	return []Trouble{Split, Doubled, Truncated, Lost, Noise, Flipped, OverRange, ErrorSign}
}

// A Mishap is how one press goes wrong: the trouble, the randomness that chooses
// where, and the wait between pieces.
type Mishap struct {
	Trouble Trouble
	// Channel is the channel pressed, where the gauge is a multiplexer.
	Channel string
	Rand    *rand.Rand
	// Pace is called between two pieces and may wait; nil does not wait.
	Pace func() error
}

// spoil gives the pieces that are sent in place of a line.
func (m Mishap) spoil(p devices.Profile, line []byte) ([][]byte, error) {
	if m.Rand == nil {
		return nil, fmt.Errorf("the trouble %q has no randomness to choose by: give it some", m.Trouble)
	}
	body := len(bytes.TrimRight(line, "\r\n")) // never below 1: a line has a figure
	line = slices.Clone(line)
	switch at := m.Rand.IntN(body); m.Trouble {
	case Split:
		return m.pieces(line), nil
	case Doubled:
		return [][]byte{line, line}, nil
	case Truncated:
		keep := min(1+m.Rand.IntN(body), len(line)-1) // where nothing ends it, less is half of it
		return [][]byte{line[:keep]}, nil
	case Lost:
		return [][]byte{slices.Delete(line, at, at+1)}, nil
	case Noise:
		return [][]byte{slices.Insert(line, at, noise(m.Rand))}, nil
	case Flipped:
		line[at] ^= 1 << m.Rand.IntN(8)
		return [][]byte{line}, nil
	case OverRange:
		return nines(p, line)
	case ErrorSign:
		if len(p.NoNumber) == 0 || p.Kind == devices.PackedDecimal {
			return nil, fmt.Errorf("a gauge of this profile has no sign for an error")
		}
		return [][]byte{append([]byte(p.NoNumber[0]), line[body:]...)}, nil
	}
	return nil, fmt.Errorf("%q is no trouble: it is one of %q", m.Trouble, Troubles())
}

// pieces cuts a line at up to four places.
func (m Mishap) pieces(line []byte) [][]byte {
	var out [][]byte
	for range 4 {
		if len(line) < 2 {
			break
		}
		n := 1 + m.Rand.IntN(len(line)-1)
		out, line = append(out, line[:n]), line[n:]
	}
	return append(out, line)
}

// noise is a byte that no text line has. A line's end among the noise would cut
// a line in two whole ones, which only a fixed number of digits can tell.
func noise(r *rand.Rand) byte { return byte(0x80 + r.IntN(0x80)) }

// nines makes every digit of the figure a nine, as gauges show that they are
// out of their range.
func nines(p devices.Profile, line []byte) ([][]byte, error) {
	if p.Kind == devices.PackedDecimal {
		return nil, fmt.Errorf("the over-range sign of a packed gauge is not known here")
	}
	digits, fixed := 0, digitsOf(p)
	for i := lastOfFigure(p, line); i >= 0; i-- {
		b := line[i]
		if b == '.' || b == ',' {
			continue
		}
		if (b < '0' || b > '9') && (b != ' ' || digits >= fixed) {
			break
		}
		line[i] = '9'
		digits++
	}
	if p.Overrange == 0 || digits < p.Overrange {
		return nil, fmt.Errorf("%d nines are a figure and no over-range sign of this profile", digits)
	}
	return [][]byte{line}, nil
}

// lastOfFigure is where the last digit of the figure stands: digits behind it
// belong to a channel.
func lastOfFigure(p devices.Profile, line []byte) int {
	end := len(line)
	for _, part := range slices.Backward(p.Parts) {
		if _, ok := part.(devices.Figure); ok {
			break
		}
		if c, ok := part.(devices.Channel); ok {
			end = bytes.LastIndexAny(line, "0123456789") + 1 - c.Width
		}
	}
	return bytes.LastIndexAny(line[:max(0, end)], "0123456789")
}

// digitsOf is how many digits the gauge always sends; 0 where that is not fixed.
func digitsOf(p devices.Profile) int {
	for _, part := range p.Parts {
		if f, ok := part.(devices.Figure); ok {
			return f.Digits
		}
	}
	return 0
}
