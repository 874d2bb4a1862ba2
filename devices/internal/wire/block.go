package wire

import (
	"bytes"
	"strings"
)

// A Block makes strings of short figures, many to one allocation. A string that
// is kept keeps its whole block, so it is for strings that are soon let go. The
// zero Block is ready; it must not be copied.
type Block struct{ b strings.Builder }

// blockSize is how many bytes one allocation holds.
const blockSize = 1024

// Figure is a figure as a string, with a point in the place of a decimal comma
// and a minus before it where asked.
func (x *Block) Figure(minus bool, digits []byte) string {
	if x.b.Cap()-x.b.Len() < len(digits)+1 {
		x.b.Reset()
		x.b.Grow(max(blockSize, len(digits)+1))
	}
	from := x.b.Len()
	if minus {
		x.b.WriteByte('-')
	}
	whole := bytes.IndexByte(digits, ',')
	if whole < 0 {
		x.b.Write(digits)
		return x.b.String()[from:]
	}
	x.b.Write(digits[:whole])
	x.b.WriteByte('.')
	x.b.Write(digits[whole+1:])
	return x.b.String()[from:]
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
