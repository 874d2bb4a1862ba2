package devices

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"shimwright/calc/quantity"
)

// Validate tells all that is wrong with the profile as FieldErrors, or nil.
func (p Profile) Validate() error {
	var list FieldErrors
	f := faults{list: &list}
	if !slices.Contains(Kinds(), p.Kind) {
		f.at("kind").add("write "+kindWords(), "%s is not a kind known here", Quote([]byte(p.Kind)))
	}
	if err := p.Line.Check(); err != nil {
		f.at("line").add(`write it as in "9600 8N1"`, "%s", err.Error())
	}
	p.checkAsking(f.at("ask"))
	p.checkEnd(f)
	p.checkLimits(f)
	p.checkWords(f.at("no number"))
	if p.Kind == PackedDecimal {
		p.checkPacked(f)
	} else {
		p.checkParts(f)
	}
	if p.Kind != PackedDecimal && p.Packing != "" {
		f.at("packing").add("leave it out, or write the kind "+string(PackedDecimal), "a gauge of kind %s packs nothing", Quote([]byte(p.Kind)))
	}
	if len(list) == 0 {
		return nil
	}
	return list
}

func kindWords() string {
	words := make([]string, len(Kinds()))
	for i, k := range Kinds() {
		words[i] = string(k)
	}
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " or " + words[last]
}

func (p Profile) checkAsking(f faults) {
	switch {
	case p.Kind == AskedLine:
		p.Ask.check(f)
	case p.Ask != Asking{}:
		f.add("leave it out, or write the kind "+string(AskedLine), "a gauge of kind %s is not asked", Quote([]byte(p.Kind)))
	}
}

func (p Profile) checkEnd(f faults) {
	if p.End == NoEnd {
		if p.Kind != PackedDecimal && (p.Length < 1 || p.Length > MaxRaw) {
			f.at("length").add("write how many bytes a line has, 1 to 256", "nothing ends the line, and a length of %d bytes tells nothing", p.Length)
		}
		if p.Gap < 40*time.Millisecond || p.Gap > 5*time.Second {
			f.at("gap").add("write 40 ms to 5 s; 100 ms is usual", "nothing ends the line, and a gap of %s cannot be told", p.Gap)
		}
		return
	}
	if p.End.Bytes() == nil {
		f.at("end").add("write CR, LF or CRLF, or none with a length and a gap", "%s does not end a line", Quote([]byte(p.End)))
	}
	if p.Length != 0 {
		f.at("length").add("leave it out, or write end: none", "the line ends with %s, so its length is never used", Quote([]byte(p.End)))
	}
	if p.Gap != 0 {
		f.at("gap").add("leave it out, or write end: none", "the line ends with %s, so the gap is never used", Quote([]byte(p.End)))
	}
}

func (p Profile) checkLimits(f faults) {
	if p.Overrange < 0 || p.Overrange == 1 || p.Overrange > 2*quantity.MaxDigits {
		f.at("overrange").add("write 2 to 18 digits, or 0 for never", "an over-range sign of %d digits cannot be told from a figure", p.Overrange)
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

// checkPacked checks a frame whose parts are fixed.
func (p Profile) checkPacked(f faults) {
	switch p.Packing {
	case InBytes:
		if p.End != NoEnd {
			f.at("end").add("write none, with a gap", "nothing ends a frame that is packed in bytes")
		}
	case InHex:
	default:
		f.at("packing").add("write bytes or hex text", "%s is not how a frame is packed", Quote([]byte(p.Packing)))
	}
	if p.End == NoEnd && p.Length != 0 {
		f.at("length").add("leave it out", "a packed-decimal frame has a length of its own")
	}
	if len(p.Parts) > 0 {
		f.at("parts").add("leave them out", "the parts of a packed-decimal frame are fixed")
	}
	p.checkAssume(f.at("assume"), false)
}

// parts is how many of each part there are.
type parts struct {
	all, signs, figures, units, channels, codes int
	assumed                                     bool // the gauge need not state its unit
}

func (p Profile) checkParts(f faults) {
	n := parts{all: len(p.Parts), assumed: true}
	for i, part := range p.Parts {
		f := f.at("parts", strconv.Itoa(i))
		if !known(part) {
			f.add("write one of literal, skip, channel, code, sign, figure, unit, flags", "there is no such part")
			continue
		}
		part.check(f, behind(p.Parts[i+1:]))
		switch part := part.(type) {
		case Sign:
			n.signs++
			if i+1 == len(p.Parts) || !isFigure(p.Parts[i+1]) {
				f.add("put the sign right before the figure", "a sign stands before something else")
			}
		case Figure:
			n.figures++
			if p.End == NoEnd && (part.Digits == 0 || part.Places == nil) {
				f.at("digits").add("write digits and places", "nothing ends the line, so a longer figure would be cut and taken")
			}
		case UnitWord:
			n.units++
			n.assumed = part.Optional
		case Channel:
			n.channels++
		case Code:
			n.codes++
		}
	}
	n.check(f.at("parts"))
	p.checkAssume(f.at("assume"), n.assumed)
	p.checkLength(f.at("length"))
}

// behind is the parts that may stand directly behind another: those that may
// be left out, and the first that may not.
func behind(rest []Part) []Part {
	for i, part := range rest {
		if !known(part) {
			return rest[:i]
		}
		if part.width() > 0 {
			return rest[:i+1]
		}
	}
	return rest
}

func isFigure(p Part) bool { _, ok := p.(Figure); return ok }

// known refuses nil and pointers to parts, which could be nil too.
func known(p Part) bool {
	switch p.(type) {
	case Literal, Skip, Channel, Code, Sign, Figure, UnitWord, Flags:
		return true
	}
	return false
}

func (n parts) check(f faults) {
	if n.all > maxWords {
		f.add("write at most 16", "there are %d parts", n.all)
	}
	if n.figures != 1 {
		f.add("write exactly one figure", "there are %d figures", n.figures)
	}
	for _, one := range []struct {
		word string
		n    int
	}{{"sign", n.signs}, {"unit", n.units}, {"channel", n.channels}, {"code", n.codes}} {
		if one.n > 1 {
			f.add(fmt.Sprintf("write one %s at most", one.word), "there are %d %ss", one.n, one.word)
		}
	}
}

func (p Profile) checkAssume(f faults, needed bool) {
	switch given := p.Assume.Dimension() != quantity.Number; {
	case needed && !given:
		f.add("write the unit it measures in, as in mm", "the gauge need not state a unit and none is given")
	case !needed && given:
		f.add("leave it out, or make a unit part optional", "the gauge always states its unit, so this is never used")
	}
}

// checkLength holds the length of a line that nothing ends against its parts.
// Blanks may stand between them, so it may be more than they are.
func (p Profile) checkLength(f faults) {
	if p.End != NoEnd {
		return
	}
	least := 0
	for _, part := range p.Parts {
		if known(part) {
			least += part.width()
		}
	}
	if p.Length >= 1 && p.Length < least {
		f.add(fmt.Sprintf("write how many bytes a line has, %d or more", least), "its parts have %d bytes, the line %d", least, p.Length)
	}
}
