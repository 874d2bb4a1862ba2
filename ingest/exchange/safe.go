package exchange

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Neutral is a text that no spreadsheet runs, and that reads in the direction it
// is written: see the package's own words.
func Neutral(s string) string {
	if plain(s) {
		return s
	}
	var b strings.Builder
	if runs(s) {
		b.WriteByte('\'')
	}
	for i, r := range s {
		switch {
		case r == utf8.RuneError && strings.HasPrefix(s[i:], string(utf8.RuneError)):
			b.WriteRune(r)
		case r == utf8.RuneError:
			fmt.Fprintf(&b, `\x%02x`, s[i])
		case hides(r) && r > 0xffff:
			fmt.Fprintf(&b, `\U%08x`, r)
		case hides(r):
			fmt.Fprintf(&b, `\u%04x`, r)
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// Undone takes off the apostrophe that Neutral put before a text that a
// spreadsheet would run.
func Undone(s string) string {
	if rest, ok := strings.CutPrefix(s, "'"); ok && runs(rest) {
		return rest
	}
	return s
}

// plain tells at a look that nothing needs to be done: most texts are names.
func plain(s string) bool {
	if s == "" {
		return true
	}
	if !(s[0] >= 'a' && s[0] <= 'z' || s[0] >= 'A' && s[0] <= 'Z' || s[0] >= '0' && s[0] <= '9') {
		return false
	}
	for i := range len(s) {
		if s[i] < ' ' || s[i] >= 0x7f {
			return false
		}
	}
	return true
}

// runs tells whether a cell of this text would be taken for a formula, or for
// Neutral's own apostrophe.
func runs(s string) bool {
	if strings.HasPrefix(s, "\t") || strings.HasPrefix(s, "\r") {
		return true
	}
	r, _ := utf8.DecodeRuneInString(strings.TrimLeftFunc(s, func(r rune) bool { return unicode.IsSpace(r) || hides(r) }))
	return strings.ContainsRune("=+-@'＝＋－＠−", r) && r != utf8.RuneError
}

// hides tells a character that shows nothing itself and changes how others are
// shown or read: controls, directions, and what XML cannot hold.
func hides(r rune) bool {
	return unicode.IsControl(r) || unicode.Is(unicode.Cf, r) || unicode.Is(unicode.Zl, r) || unicode.Is(unicode.Zp, r) ||
		r == 0xfffe || r == 0xffff
}
