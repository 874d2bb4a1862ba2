package record

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/rivo/uniseg"
)

// columns is how wide the plain text is, and the trail of the PDF with it: at 10 pt
// it fills an A4 sheet between margins of 20 mm.
const columns = 80

// clean writes out what does not print or turns the direction of writing, as
// <U+202E>, so that a line reads as it was meant.
func clean(s string) string {
	ok := true
	for _, r := range s {
		if !shows(r) {
			ok = false
			break
		}
	}
	if ok && utf8.ValidString(s) {
		return s
	}
	var b strings.Builder
	for len(s) > 0 {
		r, n := utf8.DecodeRuneInString(s)
		switch {
		case r == utf8.RuneError && n == 1:
			fmt.Fprintf(&b, "<byte %02X>", s[0])
		case shows(r):
			b.WriteRune(r)
		default:
			fmt.Fprintf(&b, "<U+%04X>", r)
		}
		s = s[n:]
	}
	return b.String()
}

// shows tells whether a character is printed as itself: a letter, mark, figure,
// sign or a blank. Controls, overrides of direction and joiners are not.
func shows(r rune) bool {
	return r == ' ' || unicode.IsPrint(r) && !unicode.Is(unicode.Variation_Selector, r)
}

// wide is how many columns a text takes.
func wide(s string) int { return uniseg.StringWidth(s) }

// folded breaks a text into lines of at most so many columns, between words
// where it can and inside a word that is longer than a line.
func folded(s string, width int) []string {
	var out []string
	at := ""
	for _, word := range strings.Fields(s) {
		for _, piece := range cut(word, width) {
			switch {
			case at == "":
				at = piece
			case wide(at)+1+wide(piece) <= width:
				at += " " + piece
			default:
				out = append(out, at)
				at = piece
			}
		}
	}
	if at != "" || len(out) == 0 {
		out = append(out, at)
	}
	return out
}

// cut breaks a word that is longer than a line.
func cut(word string, width int) []string {
	if wide(word) <= width {
		return []string{word}
	}
	var out []string
	at, n, state := "", 0, -1
	for word != "" {
		var g string
		var w int
		g, word, w, state = uniseg.FirstGraphemeClusterInString(word, state)
		if n+w > width && at != "" {
			out = append(out, at)
			at, n = "", 0
		}
		at, n = at+g, n+w
	}
	return append(out, at)
}

// broken breaks a line that stands as it is, keeping its blanks.
func broken(s string, width int) []string {
	if wide(s) <= width {
		return []string{s}
	}
	return cut(s, width)
}

// Shown is a text of any content as it is printed in a sentence.
func Shown(s string) string { return clean(s) }
