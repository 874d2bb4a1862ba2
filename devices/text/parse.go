package text

import (
	"bytes"
	"errors"
	"fmt"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/devices/internal/wire"
)

// cursor walks one line without its end.
type cursor struct {
	line []byte
	pos  int
	// what was found so far
	channel string
	battery bool
	stated  bool // the unit was
	minus   bool
	pad     int    // blanks passed over before the figure
	figure  []byte // a part of line
	unit    quantity.Unit
	overrun bool // every digit is a nine, or every digit an eight
}

func bad(r devices.Reason, format string, args ...any) *devices.FrameError {
	return &devices.FrameError{Reason: r, Detail: fmt.Sprintf(format, args...)}
}

// parse reads one line, its end taken off.
func (d *Decoder) parse(line []byte, r *wire.Reading) *devices.FrameError {
	c := &cursor{line: line, unit: d.p.Assume}
	if err := d.blankOrSign(line); err != nil {
		return err
	}
	for _, part := range d.parts {
		if err := d.part(c, part); err != nil {
			r.Channel = c.channel
			return c.orNoise(err)
		}
	}
	r.Channel = c.channel
	if c.blanks(); c.pos < len(c.line) {
		return c.orNoise(c.unexpected("the end of the line"))
	}
	return value(c, r)
}

// blankOrSign tells a line that is blank, or begins with a word for no number
// in the place of its first part. Signs and figures tell that themselves, and
// channels and codes could begin as such a word does.
func (d *Decoder) blankOrSign(line []byte) *devices.FrameError {
	for len(line) > 0 && line[0] == ' ' {
		line = line[1:]
	}
	if len(line) > 0 && (d.ahead || !d.signs[line[0]]) {
		return nil
	}
	return d.noNumber(line)
}

// noNumber tells an error sign or a blank.
func (d *Decoder) noNumber(rest []byte) *devices.FrameError {
	if len(rest) == 0 {
		return bad(devices.NoNumber, "the line is blank")
	}
	for _, w := range d.p.NoNumber {
		if w[0] == rest[0] && len(rest) >= len(w) && string(rest[:len(w)]) == w {
			return bad(devices.NoNumber, "the gauge shows %q", w)
		}
	}
	return nil
}

func (d *Decoder) part(c *cursor, part any) *devices.FrameError {
	switch part := part.(type) {
	case *devices.Literal:
		if !c.begins(part.Text) {
			return c.unexpected(devices.Quote([]byte(part.Text)))
		}
		c.pos += len(part.Text)
	case *devices.Skip:
		return c.skip(part.Count)
	case *devices.Channel:
		return d.channel(c, part)
	case *codes:
		return c.code(part)
	case *devices.Sign:
		c.pad += c.blanks()
		return d.sign(c, part)
	case *devices.Figure:
		c.pad += c.blanks()
		return d.number(c, part)
	case *unitWords:
		return c.unitWord(part)
	case *devices.Flags:
		c.flags(part)
	}
	return nil
}

// begins tells whether what is left begins with a word.
func (c *cursor) begins(w string) bool {
	rest := c.line[c.pos:]
	return len(rest) >= len(w) && string(rest[:len(w)]) == w
}

func (d *Decoder) channel(c *cursor, p *devices.Channel) *devices.FrameError {
	from := c.pos
	for c.pos < from+p.Width {
		if !p.Has(c.peek()) {
			return c.unexpected("the channel")
		}
		c.pos++
	}
	c.channel = d.names.Of(c.line[from:c.pos])
	return nil
}

// code judges the kind code, before anybody looks at the figure.
func (c *cursor) code(p *codes) *devices.FrameError {
	if len(c.line)-c.pos < p.width {
		return bad(devices.BadShape, "it is cut short: the kind code was expected at its end")
	}
	word := c.line[c.pos : c.pos+p.width]
	meaning, ok := p.Words[string(word)]
	switch {
	case !ok:
		return bad(devices.BadShape, "the kind code at byte %d is %s, which the profile does not have", c.pos+1, devices.Quote(word))
	case meaning == devices.CodeAbsent:
		return bad(devices.Absent, "the kind code is %s", devices.Quote(word))
	}
	c.pos += p.width
	return nil
}

func (c *cursor) skip(n int) *devices.FrameError {
	if len(c.line)-c.pos < n {
		return bad(devices.BadShape, "it is cut short")
	}
	for ; n > 0; n-- {
		if b := c.line[c.pos]; b < ' ' || b > '~' {
			return c.unexpected("a letter")
		}
		c.pos++
	}
	return nil
}

func (d *Decoder) sign(c *cursor, p *devices.Sign) *devices.FrameError {
	first := c.peek()
	if d.signs[first] {
		if err := d.noNumber(c.line[c.pos:]); err != nil {
			return err
		}
	}
	switch first {
	case '-':
		c.minus = true
		c.pos++
	case '+':
		c.pos++
	default:
		if p.Required || p.Blank && c.pad == 0 {
			return c.unexpected("a sign")
		}
		if p.Blank {
			c.pad--
		}
	}
	return nil
}

// number takes the longest run of digits with at most one decimal mark.
func (d *Decoder) number(c *cursor, p *devices.Figure) *devices.FrameError {
	rest := c.line[c.pos:]
	if d.signs[c.peek()] {
		if err := d.noNumber(rest); err != nil {
			return err
		}
	}
	mark, wrong := byte('.'), byte(',')
	if p.Comma {
		mark, wrong = wrong, mark
	}
	whole := digits(rest)
	n, frac := whole, 0
	if n < len(rest) && rest[n] == mark {
		frac = digits(rest[n+1:])
		n += 1 + frac
	}
	switch {
	case n == 0 && c.pos > 0 && c.line[c.pos-1] == ' ':
		return bad(devices.NoNumber, "a blank where the figure belongs")
	case n == 0:
		return c.unexpected("the figure")
	case whole > 0 && n > whole && frac == 0:
		return bad(devices.BadShape, "it is cut short behind the decimal mark")
	case n < len(rest) && rest[n] == wrong && !c.exactly(p, whole+frac, frac):
		return bad(devices.BadShape, "%q in the figure, where this gauge's decimal mark is %q", wrong, mark)
	case n < len(rest) && (rest[n] == 'e' || rest[n] == 'E') && digits(bytes.TrimLeft(rest[n+1:], "+-")) > 0:
		return bad(devices.BadShape, "a power of ten in the figure")
	}
	c.pos += n
	c.figure = rest[:n]
	return c.counts(p, whole+frac, frac, d.p.Overrange)
}

// counts holds the figure against the numbers of digits that the gauge sends.
func (c *cursor) counts(p *devices.Figure, all, places, overrange int) *devices.FrameError {
	sent := c.sent(p, all)
	switch {
	case p.Places != nil && places != *p.Places:
		return bad(devices.BadShape, "%d decimals, this gauge sends %d: cut short, or its unit was changed", places, *p.Places)
	case p.Digits > 0 && sent != p.Digits:
		return bad(devices.BadShape, "%d digits, this gauge sends %d", sent, p.Digits)
	}
	full := p.Digits == 0 || all == p.Digits
	c.overrun = full && overrange > 0 && all >= overrange && (onlyOf(c.figure, '9') || onlyOf(c.figure, '8'))
	return nil
}

// sent is how many digits the gauge sent, with the blanks that stand for some.
func (c *cursor) sent(p *devices.Figure, all int) int {
	if p.Padded {
		return all + c.pad
	}
	return all
}

// exactly tells whether a figure has the digits and decimals that are fixed,
// so that nothing behind it can be a part of it.
func (c *cursor) exactly(p *devices.Figure, all, places int) bool {
	return p.Digits > 0 && c.sent(p, all) == p.Digits && p.Places != nil && places == *p.Places
}

// onlyOf tells whether every digit of a figure is the given one.
func onlyOf(figure []byte, digit byte) bool {
	for _, b := range figure {
		if b != digit && b != '.' && b != ',' {
			return false
		}
	}
	return true
}

func (c *cursor) unitWord(p *unitWords) *devices.FrameError {
	at := c.pos
	c.blanks()
	for _, w := range p.order {
		if c.begins(w) {
			c.pos += len(w)
			c.unit, c.stated = p.Words[w], true
			return nil
		}
	}
	if !p.Optional {
		return c.unexpected("the unit")
	}
	c.pos = at
	return nil
}

func (c *cursor) flags(p *devices.Flags) {
	var seen [256]bool
	for {
		at := c.pos
		c.blanks()
		letter := c.peek()
		meaning, ok := p.Letters[string(c.line[c.pos:min(c.pos+1, len(c.line))])]
		if !ok || seen[letter] {
			c.pos = at
			return
		}
		seen[letter] = true
		c.pos++
		if meaning == devices.FlagBattery {
			c.battery = true
		}
	}
}

// value reads the figure once every part was found.
func value(c *cursor, r *wire.Reading) *devices.FrameError {
	if c.overrun {
		return bad(devices.NoNumber, "all nines or all eights: out of the gauge's range, or its battery is low")
	}
	var room [32]byte // so that the text of a figure needs no allocation
	v, err := quantity.Parse(string(wire.Figure(room[:0], c.minus, c.figure)), c.unit)
	if err != nil {
		if why := errors.Unwrap(err); why != nil {
			err = why // the bytes are quoted once, by the frame's error
		}
		return bad(devices.BadShape, "%s", err.Error())
	}
	r.Value, r.UnitStated, r.Battery = v, c.stated, c.battery
	return nil
}

func (c *cursor) blanks() (n int) {
	for c.pos < len(c.line) && c.line[c.pos] == ' ' {
		c.pos++
		n++
	}
	return n
}

func (c *cursor) peek() byte {
	if c.pos < len(c.line) {
		return c.line[c.pos]
	}
	return 0
}

func (c *cursor) unexpected(wanted string) *devices.FrameError {
	if c.pos >= len(c.line) {
		return bad(devices.BadShape, "it is cut short: %s was expected at its end", wanted)
	}
	return bad(devices.BadShape, "%s was expected at byte %d, not %s", wanted, c.pos+1, devices.Quote(c.line[c.pos:c.pos+1]))
}

// orNoise says noise instead where the line holds bytes that no text has.
func (c *cursor) orNoise(err *devices.FrameError) *devices.FrameError {
	for i, b := range c.line[c.pos:] {
		if b < ' ' && b != '\t' || b > '~' {
			return bad(devices.Noise, "byte %d is %s: interference, or line settings that are not the gauge's",
				c.pos+i+1, devices.Quote([]byte{b}))
		}
	}
	return err
}

func digits(b []byte) (n int) {
	for n < len(b) && b[n] >= '0' && b[n] <= '9' {
		n++
	}
	return n
}
