package packed

import (
	"fmt"
	"time"

	"shimwright/devices"
	"shimwright/devices/internal/wire"
)

// Decoder decodes packed-decimal frames. It must be made by New.
type Decoder struct {
	overrange int
	framer    framer
}

// framer is what cuts the bytes.
type framer interface {
	Push(at time.Time, p []byte, emit func(devices.Frame, error))
	Tick(at time.Time, emit func(devices.Frame, error))
	Reset()
}

var _ devices.Decoder = (*Decoder)(nil)

// New makes a decoder, or tells what is wrong with the profile.
func New(p devices.Profile) (*Decoder, error) {
	if err := p.Validate(); err != nil {
		return nil, fmt.Errorf("no packed-decimal decoder: %w", err)
	}
	if p.Kind != devices.PackedDecimal {
		return nil, fmt.Errorf("no packed-decimal decoder: the profile is of kind %q", p.Kind)
	}
	d := &Decoder{overrange: p.Overrange}
	switch {
	case p.Packing == devices.InBytes:
		d.framer = newMarked(bytesForm(), p.Gap, d.bytes)
	case p.End == devices.NoEnd:
		d.framer = newMarked(hexForm(), p.Gap, d.hex)
	default:
		d.framer = wire.NewLines(p, d.hex)
	}
	return d, nil
}

// Push takes bytes and emits each frame that they complete.
func (d *Decoder) Push(at time.Time, p []byte, emit func(devices.Frame, error)) {
	d.framer.Push(at, p, emit)
}

// Tick discards half a frame that has been quiet for too long.
func (d *Decoder) Tick(at time.Time, emit func(devices.Frame, error)) { d.framer.Tick(at, emit) }

// Reset forgets half a frame.
func (d *Decoder) Reset() { d.framer.Reset() }

// bytes reads a frame of two groups to a byte.
func (d *Decoder) bytes(body []byte, r *wire.Reading) *devices.FrameError {
	var g [groups]byte
	for i := range g {
		g[i] = body[i/2] >> (i % 2 * 4) & 0xF
	}
	if body[groups/2]>>4 != 0 {
		return bad(devices.BadShape, "the half byte behind the frame is %X, not 0", body[groups/2]>>4)
	}
	return d.read(&g, r)
}

// hex reads a frame of one hex digit to a group.
func (d *Decoder) hex(body []byte, r *wire.Reading) *devices.FrameError {
	var g [groups]byte
	for i, b := range body {
		n, ok := hexDigit(b)
		switch {
		case !ok && (b < ' ' || b > '~'):
			return bad(devices.Noise, "byte %d is %s: interference, or line settings that are not the gauge's", i+1, devices.Quote(body[i:i+1]))
		case !ok:
			return bad(devices.BadShape, "a hex digit was expected at byte %d, not %s", i+1, devices.Quote(body[i:i+1]))
		case i < groups:
			g[i] = n
		}
	}
	if len(body) != groups {
		return bad(devices.BadShape, "%d hex digits, a frame has %d", len(body), groups)
	}
	return d.read(&g, r)
}

func hexDigit(b byte) (byte, bool) {
	switch {
	case b >= '0' && b <= '9':
		return b - '0', true
	case b >= 'A' && b <= 'F':
		return b - 'A' + 10, true
	case b >= 'a' && b <= 'f':
		return b - 'a' + 10, true
	}
	return 0, false
}
