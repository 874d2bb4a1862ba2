package devices

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// Parity is a line's parity as its letter.
type Parity byte

// The parities met on gauges.
const (
	NoParity   Parity = 'N'
	EvenParity Parity = 'E'
	OddParity  Parity = 'O'
)

// Line is the settings of a serial line.
type Line struct {
	Baud   int // bits a second
	Data   int // data bits: 7 or 8
	Parity Parity
	Stop   int // stop bits: 1 or 2
}

func bauds() []int {
	return []int{300, 600, 1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200}
}

// ParseLine reads "9600 8N1": the rate, one blank, then data bits, parity
// letter and stop bits. Nothing else is accepted.
func ParseLine(s string) (Line, error) {
	const how = `write rate, blank, data bits, parity letter, stop bits, as in "9600 8N1" or "4800 7E2"`
	rate, frame, ok := strings.Cut(s, " ")
	if !ok || len(frame) != 3 {
		return Line{}, fmt.Errorf("%s is not a line setting: %s", Quote([]byte(s)), how)
	}
	baud, err := strconv.Atoi(rate)
	if err != nil || strconv.Itoa(baud) != rate {
		return Line{}, fmt.Errorf("%s is not a line rate: %s", Quote([]byte(rate)), how)
	}
	l := Line{Baud: baud, Data: int(frame[0]) - '0', Parity: Parity(frame[1]), Stop: int(frame[2]) - '0'}
	return l, l.Check()
}

// Check refuses settings that no gauge line has.
func (l Line) Check() error {
	switch {
	case !slices.Contains(bauds(), l.Baud):
		return fmt.Errorf("rate %d is not a usual one: write one of %s", l.Baud, strings.Trim(fmt.Sprint(bauds()), "[]"))
	case l.Data != 7 && l.Data != 8:
		return fmt.Errorf("data bits must be 7 or 8, as in \"9600 8N1\"")
	case l.Parity != NoParity && l.Parity != EvenParity && l.Parity != OddParity:
		return fmt.Errorf("parity %s is not known: write N (none), E (even) or O (odd)", Quote([]byte{byte(l.Parity)}))
	case l.Stop != 1 && l.Stop != 2:
		return fmt.Errorf("stop bits must be 1 or 2, as in \"9600 8N1\"")
	}
	return nil
}

// String is the settings as ParseLine reads them.
func (l Line) String() string {
	return fmt.Sprintf("%d %d%c%d", l.Baud, l.Data, l.Parity, l.Stop)
}

// MarshalText writes what String writes.
func (l Line) MarshalText() ([]byte, error) { return []byte(l.String()), nil }

// UnmarshalText reads as ParseLine does.
func (l *Line) UnmarshalText(b []byte) error {
	got, err := ParseLine(string(b))
	if err == nil {
		*l = got
	}
	return err
}
