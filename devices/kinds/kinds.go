// Package kinds is the one list of what decodes and encodes each kind of
// gauge. A new kind is added here and in devices.Kinds; nothing registers
// itself.
package kinds

import (
	"fmt"

	"shimwright/devices"
	"shimwright/devices/packed"
	"shimwright/devices/text"
)

// Codec is both halves of one kind.
type Codec struct {
	Kind    devices.Kind
	Decoder func(devices.Profile) (devices.Decoder, error)
	Encoder func(devices.Profile) (devices.Encoder, error)
}

// All lists every kind.
func All() []Codec {
	lineDecoder := func(p devices.Profile) (devices.Decoder, error) { return text.New(p) }
	lineEncoder := func(p devices.Profile) (devices.Encoder, error) { return text.NewEncoder(p) }
	return []Codec{
		{Kind: devices.TextLine, Decoder: lineDecoder, Encoder: lineEncoder},
		{Kind: devices.AskedLine, Decoder: lineDecoder, Encoder: lineEncoder},
		{
			Kind:    devices.PackedDecimal,
			Decoder: func(p devices.Profile) (devices.Decoder, error) { return packed.New(p) },
			Encoder: func(p devices.Profile) (devices.Encoder, error) { return packed.NewEncoder(p) },
		},
	}
}

// Decoder makes the decoder of a profile, or tells what is wrong with it.
func Decoder(p devices.Profile) (devices.Decoder, error) {
	c, err := find(p)
	if err != nil {
		return nil, err
	}
	d, err := c.Decoder(p)
	if err != nil {
		return nil, err
	}
	return d, nil
}

// Encoder makes the encoder of a profile, or tells what is wrong with it.
func Encoder(p devices.Profile) (devices.Encoder, error) {
	c, err := find(p)
	if err != nil {
		return nil, err
	}
	e, err := c.Encoder(p)
	if err != nil {
		return nil, err
	}
	return e, nil
}

func find(p devices.Profile) (Codec, error) {
	if err := p.Validate(); err != nil {
		return Codec{}, err
	}
	for _, c := range All() {
		if c.Kind == p.Kind {
			return c, nil
		}
	}
	return Codec{}, fmt.Errorf("kind %q has no decoder yet: write one of %q", p.Kind, devices.Kinds())
}
