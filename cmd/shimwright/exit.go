package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"strings"

	"shimwright/calc/document"
	"shimwright/ui/draw"
)

// An exitStatus is what the program tells the shell.
type exitStatus int

// The exit statuses. They are part of the interface and never change.
const (
	exitDone    exitStatus = 0
	exitNotGood exitStatus = 1 // a verdict is not good, or a check failed
	exitInput   exitStatus = 2 // the input or the command line is wrong
	exitMachine exitStatus = 3 // the machine failed us: disk, port, network
)

// errNotGood ends a command whose results are written and are not good. The
// results say why, so nothing is written to the error stream.
var errNotGood = errors.New("a verdict is not good")

// A machineError is an error of the machine, not of what was asked.
type machineError struct{ err error }

func (e *machineError) Error() string { return e.err.Error() }
func (e *machineError) Unwrap() error { return e.err }

// machine marks an error as the machine's; nil stays nil.
func machine(what string, err error) error {
	if err == nil {
		return nil
	}
	return &machineError{fmt.Errorf("%s: %w", what, err)}
}

// statusOf tells the exit status of an error. Work that was stopped is counted with
// the machine's faults: nothing was wrong with what was asked. A file that is not there is the
// command line's fault, any other trouble with a file the machine's. An error
// that says nothing else is of the command line, which is all that cobra itself
// finds fault with.
func statusOf(err error) exitStatus {
	var broken *machineError
	var file *fs.PathError
	switch {
	case err == nil:
		return exitDone
	case errors.Is(err, errNotGood):
		return exitNotGood
	case errors.As(err, &broken), errors.Is(err, context.Canceled):
		return exitMachine
	case errors.As(err, &file) && !errors.Is(err, fs.ErrNotExist):
		return exitMachine
	}
	return exitInput
}

// complaint is what the error stream gets: faults of a file as file:line:col
// lines, anything else behind the program's name; "" where nothing is said.
func complaint(err error) string {
	var fault *document.Fault
	switch {
	case err == nil, errors.Is(err, errNotGood):
		return ""
	case errors.As(err, &fault):
		return shown(err.Error())
	}
	return "shimwright: " + shown(stopWords(err))
}

// stopWords are an error's words, without the Go library's own for what was
// stopped.
func stopWords(err error) string {
	return strings.ReplaceAll(err.Error(), context.Canceled.Error(), "it was stopped")
}

// shown writes out what a terminal would obey: a file's name or an argument may
// hold escapes, and an error repeats it.
func shown(words string) string {
	lines := strings.Split(words, "\n")
	for i, l := range lines {
		lines[i] = draw.Visible(l)
	}
	return strings.Join(lines, "\n")
}

// fileError tells a file that is not there, which the command line got wrong,
// from one that the machine does not give.
func fileError(what, name string, err error) error {
	if errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s %s: there is no such file", what, name)
	}
	if errors.Is(err, fs.ErrPermission) {
		return machine(what+" "+name, &barred{err})
	}
	return machine(what+" "+name, cause(err))
}

// A barred is a file that the system keeps this user from.
type barred struct{ err error }

func (b *barred) Error() string {
	return "this user may not open it: let them, or run as who owns it"
}
func (b *barred) Unwrap() error { return b.err }

// cause takes off the path that the operating system's error repeats.
func cause(err error) error {
	var at *fs.PathError
	if errors.As(err, &at) {
		return at.Err
	}
	return err
}
