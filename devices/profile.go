package devices

import (
	"strconv"
	"strings"
	"time"

	"shimwright/calc/quantity"
)

// A Kind is the sort of message a gauge sends, and so which decoder reads it.
type Kind string

// TextLine is a line of text: parts in order and what ends it.
const TextLine Kind = "text line"

// Kinds lists the kinds a profile may name.
func Kinds() []Kind { return []Kind{TextLine} }

// An End is what ends a text line.
type End string

// The ends. A line feed behind CR, and a carriage return before LF, belong to
// the end too, so each reads CRLF as one line.
const (
	CR   End = "CR"
	LF   End = "LF"
	CRLF End = "CRLF"
)

// Bytes is what a gauge sends to end a line; nil for an end not known.
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
	Kind  Kind   // kind
	Line  Line   // line
	Parts []Part // parts, then the place from 0
	End   End    // end
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
	// HalfLine is how long a line may be quiet before its end. (half line)
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
		End:       CR,
		NoNumber:  []string{"---", "Err", "ERR"},
		Overrange: 4,
		Longest:   MaxRaw,
		HalfLine:  250 * time.Millisecond,
		Settle:    300 * time.Millisecond,
	}
}

// Validate tells all that is wrong with the profile as FieldErrors, or nil.
func (p Profile) Validate() error {
	var list FieldErrors
	f := faults{list: &list}
	if p.Kind != TextLine {
		f.at("kind").add("write "+string(TextLine), "%s is not a kind known here", Quote([]byte(p.Kind)))
	}
	if err := p.Line.Check(); err != nil {
		f.at("line").add(`write it as in "9600 8N1"`, "%s", err.Error())
	}
	if p.End.Bytes() == nil {
		f.at("end").add("write CR, LF or CRLF", "%s does not end a line", Quote([]byte(p.End)))
	}
	p.checkLimits(f)
	p.checkWords(f.at("no number"))
	p.checkParts(f)
	if len(list) == 0 {
		return nil
	}
	return list
}

func (p Profile) checkLimits(f faults) {
	if p.Overrange < 0 || p.Overrange == 1 || p.Overrange > 2*quantity.MaxDigits {
		f.at("overrange").add("write 2 to 18 digits, or 0 for never", "%d digits cannot tell an over-range sign", p.Overrange)
	}
	if p.Longest < 2 || p.Longest > MaxRaw {
		f.at("longest").add("write 2 to 256 bytes", "%d bytes is no limit for a line", p.Longest)
	}
	if p.HalfLine < 40*time.Millisecond || p.HalfLine > 5*time.Second {
		f.at("half line").add("write 40 ms to 5 s; 250 ms is usual", "%s is no time to wait for the rest of a line", p.HalfLine)
	}
	if p.Settle < 0 || p.Settle > 10*time.Second {
		f.at("settle").add("write 0 to 10 s; 300 ms is usual", "%s is no time for a port to settle", p.Settle)
	}
}

func (p Profile) checkWords(f faults) {
	if len(p.NoNumber) > maxWords {
		f.add("write at most 16", "it has %d words", len(p.NoNumber))
	}
	for i, w := range p.NoNumber {
		f := f.at(strconv.Itoa(i))
		switch {
		case w == "" || !printable(w) || w != strings.TrimSpace(w):
			f.add("write printable letters without blanks at either end", "%s cannot be looked for", Quote([]byte(w)))
		case figureByte(w[0]) || w == "-" || w == "+":
			f.add("write what the gauge shows in place of a figure, as in -----", "%s could begin a figure", Quote([]byte(w)))
		}
	}
}

func (p Profile) checkParts(f faults) {
	var signs, figures, units int
	assumed := true
	for i, part := range p.Parts {
		f := f.at("parts", strconv.Itoa(i))
		if !known(part) {
			f.add("write one of literal, skip, sign, figure, unit, flags", "there is no such part")
			continue
		}
		var next Part
		if i+1 < len(p.Parts) && known(p.Parts[i+1]) {
			next = p.Parts[i+1]
		}
		part.check(f, next)
		switch part := part.(type) {
		case Sign:
			signs++
			if _, ok := next.(Figure); !ok {
				f.add("put the sign right before the figure", "a sign stands before something else")
			}
		case Figure:
			figures++
		case UnitWord:
			units++
			assumed = part.Optional
		}
	}
	f.checkCounts(len(p.Parts), signs, figures, units)
	p.checkAssume(f.at("assume"), assumed)
}

// known refuses nil and pointers to parts, which could be nil too.
func known(p Part) bool {
	switch p.(type) {
	case Literal, Skip, Sign, Figure, UnitWord, Flags:
		return true
	}
	return false
}

func (f faults) checkCounts(parts, signs, figures, units int) {
	f = f.at("parts")
	if parts > maxWords {
		f.add("write at most 16", "there are %d parts", parts)
	}
	if figures != 1 {
		f.add("write exactly one figure", "there are %d figures", figures)
	}
	if signs > 1 {
		f.add("write one sign at most", "there are %d signs", signs)
	}
	if units > 1 {
		f.add("write one unit at most", "there are %d units", units)
	}
}

func (p Profile) checkAssume(f faults, needed bool) {
	switch given := p.Assume.Dimension() != quantity.Number; {
	case needed && !given:
		f.add("write the unit it measures in, as in mm", "the gauge need not state a unit and none is given")
	case !needed && given:
		f.add("leave it out, or make the unit part optional", "the gauge always states its unit, so this is never used")
	}
}
