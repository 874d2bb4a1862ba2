package devices

import (
	"maps"
	"slices"
	"strings"

	"shimwright/calc/quantity"
)

func (p Literal) check(f faults, _ []Part) {
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

func (p Skip) check(f faults, _ []Part) {
	if p.Count < 1 || p.Count > maxText {
		f.at("count").add("write how many bytes to pass over, 1 to 64", "%d bytes cannot be passed over", p.Count)
	}
}

func (p Channel) check(f faults, _ []Part) {
	if p.Width < 1 || p.Width > maxWidth {
		f.at("width").add("write 1 to 8", "a channel of %d digits or letters cannot be read", p.Width)
	}
}

func (p Code) check(f faults, _ []Part) {
	f = f.at("words")
	if len(p.Words) == 0 || len(p.Words) > maxWords {
		f.add("write 1 to 16 codes with their meanings, as in QR: reading", "it has %d codes", len(p.Words))
		return
	}
	readings := 0
	words := slices.Sorted(maps.Keys(p.Words))
	for _, w := range words {
		switch {
		case w == "" || len(w) > maxText || !printable(w):
			f.at(w).add("write the printable bytes the gauge sends, 1 to 64", "%s cannot be looked for", Quote([]byte(w)))
		case len(w) != len(words[0]):
			f.at(w).add("write codes of one length, blanks included", "%s and %s are not of one length, so one could swallow what stands behind the other", Quote([]byte(words[0])), Quote([]byte(w)))
		case p.Words[w] > CodeAbsent:
			f.at(w).add("write reading or absent", "its meaning is not known")
		case p.Words[w] == CodeReading:
			readings++
		}
	}
	if readings == 0 {
		f.add("write the code of a reading too", "no code means a reading, so none would ever be taken")
	}
}

func (p Sign) check(f faults, _ []Part) {
	if p.Required && p.Blank {
		f.at("blank").add("choose one of required and blank", "a sign that is always sent leaves no blank")
	}
}

func (p Figure) check(f faults, next []Part) {
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
	for _, n := range next {
		if _, skip := n.(Skip); skip && p.Digits == 0 {
			f.at("digits").add("fix the digits, or write the bytes behind the figure as a literal", "the skip behind the figure could swallow a part of it")
			return
		}
		if n.starts(p.takes) {
			f.add("give the figure's digits to the figure part", "the part behind the figure begins as a figure does")
			return
		}
	}
}

// takes tells whether a byte could be taken for one of the figure. The mark
// that is not this gauge's could be taken for a mistaken one, except where the
// number of digits tells.
func (p Figure) takes(b byte) bool {
	other := byte(',')
	if p.Comma {
		other = '.'
	}
	return figureByte(b) && (b != other || p.Digits == 0 || p.Places == nil)
}

func (p UnitWord) check(f faults, next []Part) {
	f = f.at("words")
	if len(p.Words) == 0 || len(p.Words) > maxWords {
		f.add("write 1 to 16 words with their units, as in mm: mm", "it has %d words", len(p.Words))
	}
	words := slices.Sorted(maps.Keys(p.Words))
	for _, w := range words {
		checkWord(f.at(w), w)
		if p.Words[w].Dimension() == quantity.Number {
			f.at(w).add("write a unit of measure, as in mm or in", "the word has no unit")
		}
	}
	if p.Optional {
		words = append(words, "")
	}
	swallow(f, words, next)
}

func (p Flags) check(f faults, next []Part) {
	f = f.at("letters")
	if len(p.Letters) == 0 || len(p.Letters) > maxWords {
		f.add("write 1 to 16 letters with their meanings", "it has %d letters", len(p.Letters))
	}
	letters := slices.Sorted(maps.Keys(p.Letters))
	for _, l := range letters {
		checkWord(f.at(l), l)
		if len(l) != 1 {
			f.at(l).add("write a single letter", "a flag is one byte, this is %d", len(l))
		}
		if p.Letters[l] > FlagBattery {
			f.at(l).add("write battery or nothing", "its meaning is not known")
		}
	}
	swallow(f, append(letters, ""), next)
}

// swallow tells where a longer word begins with a shorter one, or with none,
// and what is longer could be the next part's beginning: the longest word is
// taken, so it would swallow that.
func swallow(f faults, words []string, next []Part) {
	for _, long := range words {
		for _, short := range words {
			rest, ok := strings.CutPrefix(long, short)
			if !ok || rest == "" {
				continue
			}
			for _, n := range next {
				_, skip := n.(Skip)
				if skip || n.starts(func(b byte) bool { return b == rest[0] }) {
					f.at(long).add("put a literal between them, or make the words differ", "it could swallow the beginning of the part behind it")
					return
				}
			}
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
func (p Code) starts(b func(byte) bool) bool    { return anyKey(p.Words, b) }
func (p Sign) starts(b func(byte) bool) bool    { return b('+') || b('-') }
func (p Figure) starts(b func(byte) bool) bool  { return b('0') }
func (p UnitWord) starts(b func(byte) bool) bool {
	return anyKey(p.Words, b)
}
func (p Flags) starts(b func(byte) bool) bool { return anyKey(p.Letters, b) }

func (p Channel) starts(b func(byte) bool) bool {
	for c := byte('0'); c <= 'z'; c++ {
		if p.Has(c) && b(c) {
			return true
		}
	}
	return false
}

func anyKey[V any](m map[string]V, b func(byte) bool) bool {
	for w := range m {
		if w != "" && b(w[0]) {
			return true
		}
	}
	return false
}

func (p Literal) width() int { return len(p.Text) }
func (p Skip) width() int    { return p.Count }
func (p Channel) width() int { return p.Width }
func (p Code) width() int    { return shortest(p.Words) }
func (p Flags) width() int   { return 0 }

func (p Sign) width() int {
	if p.Required || p.Blank {
		return 1
	}
	return 0
}

func (p Figure) width() int {
	if p.Places != nil && *p.Places > 0 {
		return max(1, p.Digits) + 1
	}
	return max(1, p.Digits)
}

func (p UnitWord) width() int {
	if p.Optional {
		return 0
	}
	return shortest(p.Words)
}

func shortest[V any](m map[string]V) int {
	least := 0
	for w := range m {
		if least == 0 || len(w) < least {
			least = len(w)
		}
	}
	return least
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
