package text

import (
	"fmt"
	"maps"
	"slices"
	"time"

	"shimwright/devices"
	"shimwright/devices/internal/wire"
)

// Decoder decodes text lines. It must be made by New.
type Decoder struct {
	p     devices.Profile
	parts []any       // as prepared gives them
	signs [256]bool   // the bytes that words for no number begin with
	ahead bool        // the first part judges for itself how the line begins
	lines *wire.Lines // cuts the bytes
	// made by parsing
	names wire.Names
}

var _ devices.Decoder = (*Decoder)(nil)

// New makes a decoder, or tells what is wrong with the profile. The profile's
// lists and maps must not be changed afterwards.
func New(p devices.Profile) (*Decoder, error) {
	if err := p.Validate(); err != nil {
		return nil, fmt.Errorf("no text line decoder: %w", err)
	}
	if p.Kind != devices.TextLine && p.Kind != devices.AskedLine {
		return nil, fmt.Errorf("no text line decoder: the profile is of kind %q", p.Kind)
	}
	d := &Decoder{p: p}
	d.lines = wire.NewLines(p, d.parse)
	for _, w := range p.NoNumber {
		d.signs[w[0]] = true
	}
	for _, part := range p.Parts {
		d.parts = append(d.parts, prepared(part))
	}
	switch p.Parts[0].(type) {
	case devices.Channel, devices.Code, devices.Sign, devices.Figure:
		d.ahead = true
	}
	return d, nil
}

// prepared is a part ready to read with: a pointer, so that it is not copied
// for each line.
func prepared(part devices.Part) any {
	switch part := part.(type) {
	case devices.Literal:
		return &part
	case devices.Skip:
		return &part
	case devices.Channel:
		return &part
	case devices.Code:
		return &codes{Code: part, width: codeWidth(part)}
	case devices.Sign:
		return &part
	case devices.Figure:
		return &part
	case devices.UnitWord:
		return &unitWords{UnitWord: part, order: longestFirst(part)}
	case devices.Flags:
		return &part
	}
	return nil
}

type unitWords struct {
	devices.UnitWord
	order []string
}

// longestFirst puts "inch" before "in"; equal lengths in the alphabet's order.
func longestFirst(u devices.UnitWord) []string {
	words := slices.Sorted(maps.Keys(u.Words))
	slices.SortStableFunc(words, func(a, b string) int { return len(b) - len(a) })
	return words
}

type codes struct {
	devices.Code
	width int
}

// codeWidth is the one length that all codes have.
func codeWidth(c devices.Code) int {
	for w := range c.Words {
		return len(w)
	}
	return 0
}

// Push takes bytes and emits each line that they complete.
func (d *Decoder) Push(at time.Time, p []byte, emit func(devices.Frame, error)) {
	d.lines.Push(at, p, emit)
}

// Tick discards a half line that has been quiet for too long.
func (d *Decoder) Tick(at time.Time, emit func(devices.Frame, error)) { d.lines.Tick(at, emit) }

// Reset forgets half a line.
func (d *Decoder) Reset() { d.lines.Reset() }
