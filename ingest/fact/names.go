package fact

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/rivo/uniseg"

	"shimwright/devices"
)

const (
	maxID      = 40 // characters of what is called by a number, as in S-31
	maxWords   = 60 // characters of a name
	maxMarks   = 3  // accents on one letter: more hide the line above
	maxReason  = 300
	maxPersons = 5 // characters of initials
)

// CheckID holds a piece's, gauge's, tray's or sheet's name to what can be read
// aloud and compared by eye. The error says what to write.
func CheckID(what, s string) error {
	if err := checkLine(what, s, maxID); err != nil {
		return err
	}
	if strings.ContainsFunc(s, unicode.IsMark) || uniseg.StringWidth(s) != utf8.RuneCountInString(s) {
		return fmt.Errorf("%s, %s, holds a character that takes no room or the room of two: write it in plain letters and digits", what, devices.Quote([]byte(s)))
	}
	return nil
}

// CheckName holds a person's name, or another in any script, to one line.
func CheckName(what, s string) error {
	if err := checkLine(what, s, maxWords); err != nil {
		return err
	}
	marks := 0
	for i, r := range s {
		if !unicode.IsMark(r) {
			marks = 0
			continue
		}
		if marks++; marks > maxMarks || i == 0 {
			return fmt.Errorf("%s, %s, holds accents on nothing, or more than %d on one letter: take them out", what, devices.Quote([]byte(s)), maxMarks)
		}
	}
	return nil
}

// CheckReason holds what a person writes to one line.
func CheckReason(what, s string) error { return checkLine(what, s, maxReason) }

func checkLine(what, s string, most int) error {
	n := utf8.RuneCountInString(s)
	shown := devices.Quote([]byte(s))
	switch {
	case s == "":
		return fmt.Errorf("%s is empty: write it", what)
	case n > most:
		return fmt.Errorf("%s has %d characters: write at most %d", what, n, most)
	case !utf8.ValidString(s) || strings.ContainsFunc(s, func(r rune) bool { return !unicode.IsPrint(r) }):
		return fmt.Errorf("%s, %s, holds characters that do not print: take them out", what, shown)
	case strings.TrimSpace(s) != s:
		return fmt.Errorf("%s, %s, begins or ends with a blank: take it off", what, shown)
	}
	return nil
}

// ReadInitials reads a person's initials, in capitals.
func ReadInitials(s string) (string, error) {
	s = strings.ToUpper(strings.TrimSpace(s))
	const write = "write one to five plain letters or digits, as in AB"
	n := utf8.RuneCountInString(s)
	switch {
	case s == "":
		return "", fmt.Errorf("no initials are given: %s", write)
	case n > maxPersons:
		return "", fmt.Errorf("the initials have %d characters: %s", n, write)
	case strings.ContainsFunc(s, func(r rune) bool { return !unicode.IsLetter(r) && (r < '0' || r > '9') }), uniseg.StringWidth(s) != n:
		return "", fmt.Errorf("the initials are %s: %s", devices.Quote([]byte(s)), write)
	}
	return s, nil
}
