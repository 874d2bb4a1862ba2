package bench

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
)

// A Command is something a person asks of the bench. The set is closed: keys,
// command lines, the demonstration and tests use only these.
type Command interface {
	carryOut(context.Context, *Bench) (Reply, error)
}

// A Reply is what came of a command.
type Reply struct {
	Words string // one sentence
	Seq   int64  // of the last fact it recorded; 0 for none
}

// The commands.
type (
	// OpenJob begins a job on a drive by a sheet of the bench. Training says that
	// it is opened to learn by; Another, that a second job on a serial number that
	// is being worked at is meant.
	OpenJob struct {
		Sheet, Serial     string
		Training, Another bool
	}
	// ChooseStep makes a step the one that waits. It records nothing.
	ChooseStep struct{ Step string }
	// DrawPiece says which piece stands in a standard's role, by its number.
	DrawPiece struct{ Standard, Piece string }
	// SayIn says whether a pack is in while a step is measured.
	SayIn struct {
		Step, Pack string
		In         bool
	}
	// Mark enters a mark: its digits, its figure, or that there is none.
	Mark struct {
		Step, Digits string // digits as etched, as in +8
		Figure       string // or the figure itself, with its unit
		Absent       bool
	}
	// Record answers a record.
	Record struct{ Step, Answer string }
	// Confirm confirms a step.
	Confirm struct{ Step string }
	// Keyed enters a reading by hand; it is marked so for good.
	Keyed struct{ Step, Spot, Value, Reason string }
	// Fit says that a pack is fitted, as measured or by its leaves.
	Fit struct {
		Step             string
		Leaves, Measured []string
	}
	// Metal says that other metal was changed.
	Metal struct {
		Step    string
		Lengths []string
		Reason  string
	}
	// See says what was seen on each flank.
	See struct {
		Step  string
		Marks map[string]string
	}
	// Move asks for a gear to be moved on purpose: IN or OUT, TOWARD or AWAY.
	Move struct{ Step, Gear, Way, By string }
	// Take lets a held press count.
	Take struct {
		Press  int64
		Reason string
	}
	// Strike leaves a press out; 0 is the last one of the open step.
	Strike struct {
		Press  int64
		Reason string
	}
	// Retake begins a step anew.
	Retake struct{ Step, Reason string }
)

// apply carries out a command.
func (b *Bench) apply(ctx context.Context, c Command) (Reply, error) {
	before := b.seq
	r, err := c.carryOut(ctx, b)
	if err == nil && b.seq > before {
		r.Seq = b.seq
		b.trouble = ""
	}
	return r, err
}

// oneLine holds what people type to a line that prints.
func oneLine(what, s string) (string, error) {
	s = strings.TrimSpace(s)
	switch {
	case s == "":
		return "", fmt.Errorf("%s is empty: write it", what)
	case utf8.RuneCountInString(s) > 300:
		return "", fmt.Errorf("%s has %d characters: at most 300 are kept", what, utf8.RuneCountInString(s))
	case !utf8.ValidString(s) || strings.ContainsFunc(s, func(r rune) bool { return !unicode.IsGraphic(r) }):
		return "", fmt.Errorf("%s holds characters that do not print: take them out", what)
	}
	return s, nil
}

// step finds a step of the open job, of one of the kinds given.
func (b *Bench) step(name string, kinds ...sheet.Kind) (*sheet.Step, error) {
	if b.job == nil {
		return nil, fmt.Errorf("no job is open: open one first")
	}
	st, ok := b.job.Sheet.Step(name)
	if !ok {
		return nil, fmt.Errorf("%s is no step of sheet %s", shown(name), b.job.Sheet.ID)
	}
	if len(kinds) > 0 && !slices.Contains(kinds, st.Kind) {
		return nil, fmt.Errorf("%q is a %s step: this is not for it", name, st.Kind)
	}
	return st, nil
}

// figureLong refuses what is too long for a figure, which would be said back
// whole.
func figureLong(s string) error {
	const most = 60
	if utf8.RuneCountInString(s) > most {
		return fmt.Errorf("%s is no figure: write digits, a blank and a unit, as in 0.12 mm", shown(s))
	}
	return nil
}

func lengthOf(s string) (quantity.Value, error) {
	if err := figureLong(s); err != nil {
		return quantity.Value{}, err
	}
	v, err := quantity.ParseWithUnit(s)
	if err != nil {
		return v, err
	}
	if v.Unit().Dimension() != quantity.Length {
		return v, fmt.Errorf("%s is a %s: want a length", v, v.Unit().Dimension())
	}
	return v, nil
}

// trimmed is words without the stop that a sentence goes on after.
func trimmed(s string) string { return strings.TrimSuffix(strings.TrimSpace(s), ".") }

// capital begins a sentence.
func capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[n:]
}

// mostShown is how many characters of a name that is not known are said back.
const mostShown = 60

// shown is what a person wrote, in quotes, cut where it is long.
func shown(s string) string {
	if r := []rune(s); len(r) > mostShown {
		s = string(r[:mostShown]) + "…"
	}
	return strconv.Quote(s)
}
