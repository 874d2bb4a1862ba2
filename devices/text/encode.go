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

var _ devices.ChannelEncoder = (*Encoder)(nil)

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
	if _, ok := e.p.Channel(); ok {
		return nil, fmt.Errorf("a multiplexer says a channel with every value: give one")
	}
	return e.line("", v, battery)
}

// EncodeChannel is Encode for one channel of a multiplexer.
func (e *Encoder) EncodeChannel(channel string, v quantity.Value, battery bool) ([]byte, error) {
	if err := e.checkChannel(channel); err != nil {
		return nil, err
	}
	return e.line(channel, v, battery)
}

func (e *Encoder) checkChannel(channel string) error {
	part, ok := e.p.Channel()
	if !ok {
		return fmt.Errorf("a gauge of this profile has no channels")
	}
	return part.Check(channel)
}

func (e *Encoder) line(channel string, v quantity.Value, battery bool) ([]byte, error) {
	w := &writer{p: e.p, v: v, channel: channel, code: devices.CodeReading, battery: battery}
	line, err := w.line()
	if err != nil {
		return nil, fmt.Errorf("a gauge of this profile cannot say %s: %w", v, err)
	}
	if !w.unitDone && v.Unit() != e.p.Assume {
		return nil, fmt.Errorf("a gauge of this profile cannot say %s: it sends no unit and measures in %s", v, e.p.Assume)
	}
	if battery && !w.batteryDone {
		return nil, fmt.Errorf("a gauge of this profile has no letter for a low battery")
	}
	if err := e.readBack(line, v); err != nil {
		return nil, fmt.Errorf("a gauge of this profile cannot say %s: %w", v, err)
	}
	return line, nil
}

// EncodeAbsent writes what a multiplexer sends for a channel without a gauge:
// nines behind the code for that.
func (e *Encoder) EncodeAbsent(channel string) ([]byte, error) {
	if err := e.checkChannel(channel); err != nil {
		return nil, err
	}
	if !slices.ContainsFunc(e.p.Parts, func(p devices.Part) bool { _, ok := p.(devices.Code); return ok }) {
		return nil, fmt.Errorf("a multiplexer of this profile has no code for a channel without a gauge")
	}
	v, err := e.nines()
	if err != nil {
		return nil, err
	}
	return (&writer{p: e.p, v: v, channel: channel, code: devices.CodeAbsent}).line()
}

// nines is a figure of nines as the profile has them, in a unit it can say.
func (e *Encoder) nines() (quantity.Value, error) {
	digits, places, unit := 6, 2, e.p.Assume
	for _, part := range e.p.Parts {
		switch part := part.(type) {
		case devices.Figure:
			if part.Digits > 0 {
				digits = min(part.Digits, quantity.MaxDigits)
			}
			if places = min(places, digits-1); part.Places != nil {
				places = *part.Places
			}
		case devices.UnitWord:
			if !part.Optional {
				unit = part.Words[slices.Sorted(maps.Keys(part.Words))[0]]
			}
		}
	}
	whole := strings.Repeat("9", max(1, digits-places))
	if places > 0 {
		whole += "." + strings.Repeat("9", min(places, quantity.MaxDigits-len(whole)))
	}
	return quantity.Parse(whole, unit)
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
	p       devices.Profile
	v       quantity.Value
	channel string
	code    devices.CodeMeaning
	battery bool

	out         bytes.Buffer
	digits      string
	minus       bool
	signed      bool
	unitDone    bool
	batteryDone bool
}

// line is the whole line with its end.
func (w *writer) line() ([]byte, error) {
	w.digits, w.minus = strings.CutPrefix(w.v.Digits(), "-")
	for _, part := range w.p.Parts {
		if err := w.part(part); err != nil {
			return nil, err
		}
	}
	if w.p.End != devices.NoEnd {
		return append(w.out.Bytes(), w.p.End.Bytes()...), nil
	}
	more := w.p.Length - w.out.Len()
	if more < 0 {
		return nil, fmt.Errorf("its lines have %d bytes, not %d", w.p.Length, w.out.Len())
	}
	return append(w.out.Bytes(), bytes.Repeat([]byte(" "), more)...), nil
}

func (w *writer) part(part devices.Part) error {
	switch part := part.(type) {
	case devices.Literal:
		w.out.WriteString(part.Text)
	case devices.Skip:
		w.out.WriteString(strings.Repeat(" ", part.Count))
	case devices.Channel:
		w.out.WriteString(w.channel)
	case devices.Code:
		return w.kind(part)
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

func (w *writer) kind(p devices.Code) error {
	for _, word := range slices.Sorted(maps.Keys(p.Words)) {
		if p.Words[word] == w.code {
			w.out.WriteString(word)
			return nil
		}
	}
	return fmt.Errorf("it has no code for a channel without a gauge")
}

func (w *writer) sign(p devices.Sign) {
	w.signed = true
	switch {
	case w.minus:
		w.out.WriteByte('-')
	case p.Blank:
		w.out.WriteByte(' ')
	case p.Required || w.p.End != devices.NoEnd:
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
	if p.Optional && w.v.Unit() == w.p.Assume {
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
