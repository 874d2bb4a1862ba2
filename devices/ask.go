package devices

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"
)

// Asking is how a gauge that answers when asked is asked. It is empty for one
// that is not. The paths of its fields are those in the comments.
type Asking struct {
	// Prompt is the bytes to send. (ask, prompt)
	Prompt string
	// Timeout is how long to wait for a reply. (ask, time-out)
	Timeout time.Duration
	// Retries is how often to ask again where none came. (ask, retries)
	Retries int
}

// DefaultAsking is the usual waits with no prompt. Common practice, no source.
func DefaultAsking() Asking { return Asking{Timeout: 500 * time.Millisecond, Retries: 2} }

// maxPrompt is what any port takes at once without blocking.
const maxPrompt = 64

func (a Asking) check(f faults) {
	switch {
	case a.Prompt == "":
		f.at("prompt").add(`write the bytes to send, as in R or ?\r`, "the gauge answers when asked and nothing says how to ask")
	case len(a.Prompt) > maxPrompt:
		f.at("prompt").add("write at most 64", "it is %d bytes", len(a.Prompt))
	}
	if a.Timeout < 40*time.Millisecond || a.Timeout > 10*time.Second {
		f.at("time-out").add("write 40 ms to 10 s; 0.5 s is usual", "%s is no time to wait for a reply", a.Timeout)
	}
	if a.Retries < 0 || a.Retries > 10 {
		f.at("retries").add("write 0 to 10; 2 is usual", "a gauge cannot be asked again %d times", a.Retries)
	}
}

// Unescape turns text into the bytes it stands for: \r, \n, \t, \e (escape),
// \\ and \x with two hex digits; everything else printable stands for itself.
func Unescape(text string) (string, error) {
	var out strings.Builder
	for i := 0; i < len(text); i++ {
		switch b := text[i]; {
		case b < ' ' || b > '~':
			return "", fmt.Errorf("byte %d is %s: write it as an escape, as in \\r or \\x0D", i+1, Quote([]byte{b}))
		case b != '\\':
			out.WriteByte(b)
		default:
			value, took, err := escape(text[i+1:])
			if err != nil {
				return "", fmt.Errorf("the escape at byte %d: %w", i+1, err)
			}
			out.WriteByte(value)
			i += took
		}
	}
	return out.String(), nil
}

// escape reads what stands behind a backslash and tells how many bytes it took.
func escape(rest string) (value byte, took int, err error) {
	how := errors.New(`write one of \r \n \t \e \\, or \x and two hex digits`)
	if rest == "" {
		return 0, 0, how
	}
	if at := strings.IndexByte(`rnte\`, rest[0]); at >= 0 {
		return "\r\n\t\x1b\\"[at], 1, nil
	}
	if rest[0] != 'x' || len(rest) < 3 {
		return 0, 0, how
	}
	n, err := strconv.ParseUint(rest[1:3], 16, 8)
	if err != nil {
		return 0, 0, how
	}
	return byte(n), 3, nil
}
