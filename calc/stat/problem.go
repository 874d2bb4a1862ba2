package stat

import (
	"errors"
	"fmt"
)

// A Kind sorts problems by what the caller can do about them.
type Kind uint8

// The kinds of problem.
const (
	TooFew     Kind = iota + 1 // not enough readings, groups, parts, operators
	TooMany                    // more than a stated limit
	NoSpread                   // nothing differs, so the figure has no meaning
	Unbalanced                 // groups or cells of unequal size, or missing
	UpsideDown                 // a lower limit not below its upper limit
	OutOfRange                 // a figure or setting outside what is allowed
)

// String names the kind in plain words.
func (k Kind) String() string {
	switch k {
	case TooFew:
		return "too few"
	case TooMany:
		return "too many"
	case NoSpread:
		return "no spread"
	case Unbalanced:
		return "unbalanced"
	case UpsideDown:
		return "upside down"
	case OutOfRange:
		return "out of range"
	}
	return "unknown"
}

// A Problem says why a figure cannot be given: which input, what was found
// there, and what is wanted instead. Every error of this package is one.
type Problem struct {
	Kind   Kind
	Field  string // the input at fault, in the words of the call
	Found  string
	Wanted string
}

// Error is the problem as one sentence.
func (p *Problem) Error() string {
	return fmt.Sprintf("%s: found %s; wanted %s", p.Field, p.Found, p.Wanted)
}

func problem(k Kind, field, wanted, found string, args ...any) error {
	return &Problem{Kind: k, Field: field, Found: fmt.Sprintf(found, args...), Wanted: wanted}
}

// inGroup says which group, counted from 1, a problem is in.
func inGroup(err error, i int) error {
	var p *Problem
	if !errors.As(err, &p) {
		return err
	}
	q := *p
	q.Field = fmt.Sprintf("group %d", i+1)
	return &q
}
