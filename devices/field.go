package devices

import (
	"fmt"
	"strings"
)

// A FieldError says which field of a profile is wrong and what to write
// instead. Path lets the reader of a file find its line and column.
type FieldError struct {
	// Path leads to the field: names as Profile and the parts give them, and
	// places in a list or keys of a map, as in "parts", "2", "words".
	Path []string
	// Problem is what was found.
	Problem string
	// Fix is what to write instead.
	Fix string
}

// Error is the path, what was found, and what to write. A step of the path that
// could do anything to a terminal is quoted.
func (e *FieldError) Error() string {
	path := make([]string, len(e.Path))
	for i, step := range e.Path {
		if path[i] = step; !printable(step) {
			path[i] = Quote([]byte(step))
		}
	}
	return fmt.Sprintf("%s: %s: %s", strings.Join(path, "."), e.Problem, e.Fix)
}

// FieldErrors is all that is wrong with a profile, in its order.
type FieldErrors []*FieldError

// Error is one line for each field.
func (es FieldErrors) Error() string {
	lines := make([]string, len(es))
	for i, e := range es {
		lines[i] = e.Error()
	}
	return strings.Join(lines, "\n")
}

// Unwrap gives each field's error to errors.As.
func (es FieldErrors) Unwrap() []error {
	out := make([]error, len(es))
	for i, e := range es {
		out[i] = e
	}
	return out
}

// faults collects field errors under one path.
type faults struct {
	path []string
	list *FieldErrors
}

func (f faults) at(steps ...string) faults {
	return faults{path: append(append([]string(nil), f.path...), steps...), list: f.list}
}

func (f faults) add(fix, problem string, args ...any) {
	*f.list = append(*f.list, &FieldError{Path: f.path, Problem: fmt.Sprintf(problem, args...), Fix: fix})
}
