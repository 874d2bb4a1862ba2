package packed

import (
	"fmt"
	"strings"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/devices/internal/wire"
)

// Encoder writes packed-decimal frames. It must be made by NewEncoder.
type Encoder struct {
	p    devices.Profile
	back *Decoder
}

var _ devices.Encoder = (*Encoder)(nil)

// NewEncoder makes an encoder, or tells what is wrong with the profile.
func NewEncoder(p devices.Profile) (*Encoder, error) {
	back, err := New(p)
	if err != nil {
		return nil, err
	}
	return &Encoder{p: p, back: back}, nil
}

// Encode writes the frame of v. A value in another unit than mm and inch, or
// with more digits than a frame has, is refused, never converted; so is one
// that the decoder would not read back, such as an over-range sign.
func (e *Encoder) Encode(v quantity.Value, battery bool) ([]byte, error) {
	if battery {
		return nil, fmt.Errorf("a packed-decimal frame has no place for a low battery")
	}
	g, err := groupsOf(v)
	if err != nil {
		return nil, fmt.Errorf("a packed-decimal frame cannot say %s: %w", v, err)
	}
	if bad := e.back.read(g, &wire.Reading{}); bad != nil {
		return nil, fmt.Errorf("a packed-decimal frame cannot say %s: it would be read as no number, %s", v, bad.Detail)
	}
	if e.p.Packing == devices.InBytes {
		return inBytes(g), nil
	}
	return append([]byte(inHex(g)), e.p.End.Bytes()...), nil
}

func groupsOf(v quantity.Value) (*[groups]byte, error) {
	g := &[groups]byte{mark, mark, mark, mark}
	text, negative := strings.CutPrefix(v.Digits(), "-")
	if negative {
		g[sign] = minus
	}
	text = strings.Replace(text, ".", "", 1)
	if len(text) > figures {
		return nil, fmt.Errorf("it has %d digits, not %d", figures, len(text))
	}
	for i := range len(text) {
		g[point-len(text)+i] = text[i] - '0'
	}
	g[point] = byte(v.Places())
	switch v.Unit() {
	case quantity.MM:
		g[unit] = unitMM
	case quantity.Inch:
		g[unit] = unitInch
	default:
		return nil, fmt.Errorf("it says mm or inch, not %s", v.Unit())
	}
	return g, nil
}

func inBytes(g *[groups]byte) []byte {
	out := make([]byte, (groups+1)/2)
	for i, n := range g {
		out[i/2] |= n << (i % 2 * 4)
	}
	return out
}

func inHex(g *[groups]byte) string {
	var out strings.Builder
	for _, n := range g {
		fmt.Fprintf(&out, "%X", n)
	}
	return out.String()
}
