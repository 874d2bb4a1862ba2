package devices

import (
	"fmt"
	"strings"

	"shimwright/calc/quantity"
)

// A Part is one piece of a gauge's line, in the order sent: Literal, Skip,
// Channel, Code, Sign, Figure, UnitWord or Flags. Blanks before a sign, figure,
// unit word or flag are passed over.
type Part interface {
	// check adds what is wrong with the part; next is the parts of which one
	// may stand directly behind it.
	check(f faults, next []Part)
	// starts tells whether the part may begin with a byte that b reports.
	starts(b func(byte) bool) bool
	// width is the fewest bytes the part takes, blanks before it left out.
	width() int
}

// Literal is bytes that are always the same. Path of its field: text.
type Literal struct{ Text string }

// Skip is bytes that say nothing we need, any printable ones. Path: count.
type Skip struct{ Count int }

// Channel is the channel of a multiplexer: a fixed number of digits, or of
// letters. Paths: width.
type Channel struct {
	// Width is how many there are.
	Width int
	// Letters is true where they are letters, else they are digits.
	Letters bool
}

// A CodeMeaning is what a kind code says of the figure behind it.
type CodeMeaning uint8

// The meanings.
const (
	CodeReading CodeMeaning = iota // the figure is a reading
	CodeAbsent                     // there is no gauge; the figure means nothing
)

// Code is the kind code of a multiplexer, which is judged before the figure: a
// channel without a gauge answers with a plausible figure behind another code.
// Path: words.
type Code struct {
	// Words are the codes, all of one length, each with its meaning.
	Words map[string]CodeMeaning
}

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
	maxWidth = 8  // digits or letters of a channel
)

// Check refuses a channel that the part cannot say, in words that tell what it
// can.
func (p Channel) Check(channel string) error {
	if len(channel) == p.Width && !strings.ContainsFunc(channel, func(r rune) bool { return r > '~' || !p.Has(byte(r)) }) {
		return nil
	}
	return fmt.Errorf("%s is no channel of this profile: write %d %s, as in %s",
		Quote([]byte(channel)), p.Width, p.what(), p.Example())
}

// Has tells whether a byte may stand in the channel.
func (p Channel) Has(b byte) bool {
	if p.Letters {
		return b >= 'A' && b <= 'Z' || b >= 'a' && b <= 'z'
	}
	return b >= '0' && b <= '9'
}

func (p Channel) what() string {
	what := "digit"
	if p.Letters {
		what = "letter"
	}
	if p.Width != 1 {
		what += "s"
	}
	return what
}

// Example is a channel that the part can say.
func (p Channel) Example() string {
	if p.Letters {
		return strings.Repeat("A", p.Width)
	}
	return strings.Repeat("0", max(0, p.Width-1)) + "3"
}
