package text

import (
	"bytes"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices"
)

// Encoder writes text lines. It must be made by NewEncoder and is used
// by one goroutine.
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

// Encode writes the line a gauge of this profile sends for v. A value in
// another unit, with other decimals or with more digits than the gauge has is
// refused, never converted; so is one that the decoder would not read back,
// such as an over-range sign.
func (e *Encoder) Encode(v quantity.Value, battery bool) ([]byte, error) {
	w := &writer{v: v, battery: battery, assume: e.p.Assume}
	w.digits, w.minus = strings.CutPrefix(v.Digits(), "-")
	for _, part := range e.p.Parts {
		if err := w.part(part); err != nil {
			return nil, fmt.Errorf("a gauge of this profile cannot say %s: %w", v, err)
		}
	}
	if !w.unitDone && v.Unit() != e.p.Assume {
		return nil, fmt.Errorf("a gauge of this profile cannot say %s: it sends no unit and measures in %s", v, e.p.Assume)
	}
	if battery && !w.batteryDone {
		return nil, fmt.Errorf("a gauge of this profile has no letter for a low battery")
	}
	line := append(w.out.Bytes(), e.p.End.Bytes()...)
	if err := e.readBack(line, v); err != nil {
		return nil, fmt.Errorf("a gauge of this profile cannot say %s: %w", v, err)
	}
	return line, nil
}

func (e *Encoder) readBack(line []byte, v quantity.Value) (err error) {
	e.back.Reset()
	got := false
	e.back.Push(time.Time{}, line, func(f devices.Frame, bad error) {
		got = true
		if err = bad; err == nil && f.Value.String() != v.String() {
			err = fmt.Errorf("it would be read as %s", f.Value)
		}
	})
	if !got {
		return fmt.Errorf("it would not be read at all")
	}
	return err
}

type writer struct {
	out         bytes.Buffer
	v           quantity.Value
	digits      string
	minus       bool
	signed      bool
	assume      quantity.Unit
	unitDone    bool
	battery     bool
	batteryDone bool
}

func (w *writer) part(part devices.Part) error {
	switch part := part.(type) {
	case devices.Literal:
		w.out.WriteString(part.Text)
	case devices.Skip:
		w.out.WriteString(strings.Repeat(" ", part.Count))
	case devices.Sign:
		w.sign(part)
	case devices.Figure:
		return w.figure(part)
	case devices.UnitWord:
		return w.unit(part)
	case devices.Flags:
		w.flags(part)
	}
	return nil
}

func (w *writer) sign(p devices.Sign) {
	w.signed = true
	switch {
	case w.minus:
		w.out.WriteByte('-')
	case p.Blank:
		w.out.WriteByte(' ')
	default:
		w.out.WriteByte('+')
	}
}

func (w *writer) figure(p devices.Figure) error {
	if w.minus && !w.signed {
		return fmt.Errorf("it sends no sign")
	}
	if p.Places != nil && int(w.v.Places()) != *p.Places {
		return fmt.Errorf("it sends %d decimals, not %d", *p.Places, w.v.Places())
	}
	figure := w.digits
	have := len(strings.Replace(figure, ".", "", 1))
	if p.Digits > 0 {
		if have > p.Digits {
			return fmt.Errorf("it sends %d digits, not %d", p.Digits, have)
		}
		pad := "0"
		if p.Padded {
			pad = " "
		}
		figure = strings.Repeat(pad, p.Digits-have) + figure
	}
	if p.Comma {
		figure = strings.Replace(figure, ".", ",", 1)
	}
	w.out.WriteString(figure)
	return nil
}

func (w *writer) unit(p devices.UnitWord) error {
	w.unitDone = true
	for _, word := range slices.Sorted(maps.Keys(p.Words)) {
		if p.Words[word] == w.v.Unit() {
			w.out.WriteString(word)
			return nil
		}
	}
	if p.Optional && w.v.Unit() == w.assume {
		return nil
	}
	return fmt.Errorf("it has no word for %s", w.v.Unit())
}

func (w *writer) flags(p devices.Flags) {
	if !w.battery || w.batteryDone {
		return
	}
	for _, l := range slices.Sorted(maps.Keys(p.Letters)) {
		if p.Letters[l] == devices.FlagBattery {
			w.out.WriteString(l)
			w.batteryDone = true
			return
		}
	}
}
