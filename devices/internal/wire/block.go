package wire

import "bytes"

// Figure writes a figure behind to, with a point in the place of a decimal comma
// and a minus before it where asked.
func Figure(to []byte, minus bool, digits []byte) []byte {
	if minus {
		to = append(to, '-')
	}
	at := len(to)
	to = append(to, digits...)
	if comma := bytes.IndexByte(to[at:], ','); comma >= 0 {
		to[at+comma] = '.'
	}
	return to
}

// Copies makes copies of a few bytes, with no room behind them, many to one
// allocation. A copy that is kept keeps its whole block of 512 bytes. The zero
// Copies is ready.
type Copies struct{ free []byte }

const copiesSize = 512

// Of is the copy.
func (x *Copies) Of(b []byte) []byte {
	n := len(b)
	if n > len(x.free) {
		x.free = make([]byte, max(copiesSize, n))
	}
	out := x.free[:n:n]
	x.free = x.free[n:]
	copy(out, b)
	return out
}

// maxNames bounds what a Names remembers.
const maxNames = 64

// Names makes strings of words that come again and again, such as channels,
// one allocation for each of the first 64 and one for each sight of any other.
// The zero Names is ready.
type Names struct{ known map[string]string }

// Of is the word as a string.
func (x *Names) Of(word []byte) string {
	if s, ok := x.known[string(word)]; ok {
		return s
	}
	s := string(word)
	if x.known == nil {
		x.known = map[string]string{}
	}
	if len(x.known) < maxNames {
		x.known[s] = s
	}
	return s
}
