package devices

import (
	"maps"
	"slices"
	"strings"

	"shimwright/calc/quantity"
)

// A Part is one piece of a gauge's line, in the order sent: Literal, Skip,
// Sign, Figure, UnitWord or Flags. Blanks before a sign, figure, unit word or
// flag are passed over.
type Part interface {
	// check adds what is wrong with the part; next is the part behind it, or nil.
	check(f faults, next Part)
	// starts tells whether the part may begin with a byte that b reports.
	starts(b func(byte) bool) bool
}

// Literal is bytes that are always the same. Path of its field: text.
type Literal struct{ Text string }

// Skip is bytes that say nothing we need, any printable ones. Path: count.
type Skip struct{ Count int }

// Sign is plus, minus or nothing.
type Sign struct {
	// Required is true where plus or minus is always sent.
	Required bool
	// Blank is true where a blank stands for plus, so that it is no padding.
	Blank bool
}

// Figure is the number: digits, and a decimal mark with digits behind it.
// Paths: digits, places.
type Figure struct {
	// Comma is true where the decimal mark is a comma, else it is a point.
	Comma bool
	// Digits is how many digits the gauge always sends; 0 means any number.
	// Give it where you can: it is what catches a line that lost a digit.
	Digits int
	// Places is how many decimals the gauge always sends; nil means any number.
	Places *int
	// Padded is true where blanks stand for leading noughts: they count as
	// digits then.
	Padded bool
}

// UnitWord is the unit as the gauge writes it. Paths: words, optional.
type UnitWord struct {
	// Words are the gauge's words, each with its unit.
	Words map[string]quantity.Unit
	// Optional is true where the gauge may send none; then the profile's
	// assumed unit stands.
	Optional bool
}

// A Flag is the meaning of a flag letter.
type Flag uint8

// The meanings.
const (
	FlagNothing Flag = iota // a letter to accept and ignore
	FlagBattery             // the battery is low
)

// Flags is letters that may or may not be sent, each at most once and in any
// order. Path: letters.
type Flags struct{ Letters map[string]Flag }

const (
	maxText  = 64 // bytes of a literal, or of a skip
	maxWords = 16 // words or letters in a part
)

func (p Literal) check(f faults, _ Part) {
	f = f.at("text")
	switch {
	case p.Text == "":
		f.add("write the bytes the gauge always sends here, or leave the part out", "it is empty")
	case len(p.Text) > maxText:
		f.add("write at most 64", "it is %d bytes", len(p.Text))
	case strings.ContainsAny(p.Text, "\r\n"):
		f.add("leave it to end", "it holds what ends a line")
	}
}

func (p Skip) check(f faults, _ Part) {
	if p.Count < 1 || p.Count > maxText {
		f.at("count").add("write how many bytes to pass over, 1 to 64", "%d bytes cannot be passed over", p.Count)
	}
}

func (p Sign) check(f faults, _ Part) {
	if p.Required && p.Blank {
		f.at("blank").add("choose one of required and blank", "a sign that is always sent leaves no blank")
	}
}

func (p Figure) check(f faults, next Part) {
	if p.Digits < 0 || p.Digits > 2*quantity.MaxDigits {
		f.at("digits").add("write 1 to 18, or 0 for any number", "%d digits are no figure", p.Digits)
	}
	if p.Places != nil && (*p.Places < 0 || *p.Places > quantity.MaxDigits) {
		f.at("places").add("write 0 to 9, or leave it out", "%d decimals are no figure", *p.Places)
	}
	if p.Places != nil && p.Digits > 0 && *p.Places >= p.Digits {
		f.at("places").add("leave at least one digit before the mark", "%d of %d digits are decimals", *p.Places, p.Digits)
	}
	if p.Padded && p.Digits == 0 {
		f.at("padded").add("write digits, how many blanks and digits there are together", "blanks are counted as digits, but the digits are not fixed")
	}
	if _, skip := next.(Skip); skip && p.Digits == 0 {
		f.at("digits").add("fix the digits, or write the bytes behind the figure as a literal", "the skip behind the figure could swallow a part of it")
	}
	if next != nil && next.starts(figureByte) {
		f.add("give the figure's digits to the figure part", "the part behind the figure begins as a figure does")
	}
}

func (p UnitWord) check(f faults, _ Part) {
	f = f.at("words")
	if len(p.Words) == 0 || len(p.Words) > maxWords {
		f.add("write 1 to 16 words with their units, as in mm: mm", "it has %d words", len(p.Words))
	}
	for _, w := range slices.Sorted(maps.Keys(p.Words)) {
		checkWord(f.at(w), w)
		if p.Words[w].Dimension() == quantity.Number {
			f.at(w).add("write a unit of measure, as in mm or in", "the word has no unit")
		}
	}
}

func (p Flags) check(f faults, _ Part) {
	f = f.at("letters")
	if len(p.Letters) == 0 || len(p.Letters) > maxWords {
		f.add("write 1 to 16 letters with their meanings", "it has %d letters", len(p.Letters))
	}
	for _, l := range slices.Sorted(maps.Keys(p.Letters)) {
		checkWord(f.at(l), l)
		if len(l) != 1 {
			f.at(l).add("write a single letter", "a flag is one byte, this is %d", len(l))
		}
		if p.Letters[l] > FlagBattery {
			f.at(l).add("write battery or nothing", "its meaning is not known")
		}
	}
}

func checkWord(f faults, w string) {
	switch {
	case w == "" || len(w) > maxText:
		f.add("write the letters the gauge sends, 1 to 64 bytes", "a word of %d bytes cannot be looked for", len(w))
	case !printable(w) || w != strings.TrimSpace(w):
		f.add("write printable letters without blanks at either end", "it holds bytes that cannot be looked for")
	case figureByte(w[0]) || w[0] == '+' || w[0] == '-':
		f.add("begin it with a letter; fixed digits belong in a literal before the figure", "it begins as a figure does")
	}
}

func (p Literal) starts(b func(byte) bool) bool { return p.Text != "" && b(p.Text[0]) }
func (p Skip) starts(func(byte) bool) bool      { return false }
func (p Sign) starts(b func(byte) bool) bool    { return b('+') || b('-') }
func (p Figure) starts(b func(byte) bool) bool  { return b('0') }
func (p UnitWord) starts(b func(byte) bool) bool {
	return anyKey(p.Words, b)
}
func (p Flags) starts(b func(byte) bool) bool { return anyKey(p.Letters, b) }

func anyKey[V any](m map[string]V, b func(byte) bool) bool {
	for w := range m {
		if w != "" && b(w[0]) {
			return true
		}
	}
	return false
}

func figureByte(b byte) bool { return b >= '0' && b <= '9' || b == '.' || b == ',' }

func printable(s string) bool {
	for i := range len(s) {
		if s[i] < ' ' || s[i] > '~' {
			return false
		}
	}
	return true
}
