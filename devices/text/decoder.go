package text

import (
	"bytes"
	"fmt"
	"maps"
	"slices"
	"time"

	"shimwright/devices"
)

// Decoder decodes text lines. It must be made by New.
type Decoder struct {
	// fixed
	p     devices.Profile
	parts []any // devices.Part, with word lists in the order to try

	// changing
	buf       []byte // the line so far, at most p.Longest
	last      byte   // the byte before the next one, kept while skipping
	skipping  bool   // inside a line that was too long and is already reported
	quiet     bool   // a tick has come since the last byte
	quietFrom time.Time
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
	d := &Decoder{p: p, buf: make([]byte, 0, p.Longest)}
	for _, part := range p.Parts {
		if u, ok := part.(devices.UnitWord); ok {
			d.parts = append(d.parts, unitWords{UnitWord: u, order: longestFirst(u)})
			continue
		}
		d.parts = append(d.parts, part)
	}
	return d, nil
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

// Reset forgets half a line.
func (d *Decoder) Reset() {
	d.buf, d.skipping, d.quiet, d.last = d.buf[:0], false, false, 0
}

// Push takes bytes and emits each line that they complete.
func (d *Decoder) Push(at time.Time, p []byte, emit func(devices.Frame, error)) {
	if len(p) > 0 {
		d.quiet = false
	}
	end := d.p.End.Bytes()
	final := end[len(end)-1]
	for len(p) > 0 {
		n := bytes.IndexByte(p, final) + 1
		whole := n > 0
		if !whole {
			n = len(p)
		}
		d.take(at, p[:n], whole, emit)
		p = p[n:]
	}
}

// take adds bytes of one line; whole says that the last one may end it.
func (d *Decoder) take(at time.Time, seg []byte, whole bool, emit func(devices.Frame, error)) {
	if whole && d.p.End == devices.CRLF {
		before := d.last
		if len(seg) > 1 {
			before = seg[len(seg)-2]
		}
		whole = before == '\r'
	}
	d.last = seg[len(seg)-1]
	if !d.skipping {
		room := d.p.Longest - len(d.buf)
		d.buf = append(d.buf, seg[:min(room, len(seg))]...)
		if len(seg) > room {
			d.fail(at, devices.TooLong, fmt.Sprintf("no end within %d bytes", d.p.Longest), emit)
			d.skipping = true
		}
	}
	if !whole {
		return
	}
	if !d.skipping {
		d.line(at, emit)
	}
	d.buf, d.skipping, d.last = d.buf[:0], false, 0
}

// line emits the whole line in buf, unless it is empty.
func (d *Decoder) line(at time.Time, emit func(devices.Frame, error)) {
	body := bytes.TrimLeft(d.buf, "\r\n")
	body = bytes.TrimRight(body, "\r\n")
	if len(body) == 0 {
		return
	}
	// What the end of the line before left over is no part of this one.
	raw := bytes.Clone(bytes.TrimLeft(d.buf, "\r\n"))
	f, bad := d.parse(body)
	f.Raw, f.At = raw, at
	if bad != nil {
		bad.Raw = raw
		emit(devices.Frame{Raw: raw, At: at}, bad)
		return
	}
	emit(f, nil)
}

// fail emits buf as a bad frame and empties it.
func (d *Decoder) fail(at time.Time, r devices.Reason, detail string, emit func(devices.Frame, error)) {
	raw := bytes.Clone(d.buf)
	d.buf = d.buf[:0]
	emit(devices.Frame{Raw: raw, At: at}, &devices.FrameError{Reason: r, Detail: detail, Raw: raw})
}

// Tick discards a half line that has been quiet for the profile's half-line
// time. The time runs from the first tick behind the last byte, because only a
// tick says that nothing was waiting.
func (d *Decoder) Tick(at time.Time, emit func(devices.Frame, error)) {
	if !d.quiet {
		d.quiet, d.quietFrom = true, at
		return
	}
	if at.Sub(d.quietFrom) < d.p.HalfLine {
		return
	}
	if len(bytes.Trim(d.buf, "\r\n")) > 0 {
		d.fail(at, devices.HalfLine, d.halfDetail(), emit)
	}
	d.Reset()
}

func (d *Decoder) halfDetail() string {
	other := d.buf[len(d.buf)-1]
	if other == '\r' || other == '\n' {
		return fmt.Sprintf("it ends with %s, the profile says %s", devices.Quote([]byte{other}), d.p.End)
	}
	return fmt.Sprintf("no %s came within %s", d.p.End, d.p.HalfLine)
}
