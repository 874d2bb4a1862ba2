package port

import (
	"errors"
	"fmt"
	"os"
	"path"
	"regexp"
	"strings"

	"shimwright/devices"
)

// Find says which port a gauge is on: by one of its fields. The names that the
// system hands out in the order of plugging in are refused, since they change.
type Find struct {
	// Path is a name under /dev/serial/by-id or /dev/serial/by-path, or one
	// that resolves to a pseudo-terminal.
	Path string
	// USBSerial is the serial number of the USB cable or adapter.
	USBSerial string
}

const (
	byID    = "/dev/serial/by-id/"
	byPath  = "/dev/serial/by-path/"
	instead = "write the cable's USB serial number, or its socket's name under " + byPath +
		" (a name under " + byID + " also does)"
)

// Check refuses what can be refused without looking at the machine.
func (f Find) Check() error {
	switch {
	case f.Path == "" && f.USBSerial == "":
		return fmt.Errorf("no port is given: %s", instead)
	case f.Path != "" && f.USBSerial != "":
		return errors.New("both a path and a USB serial number are given: write only one of them")
	case f.USBSerial != "":
		return nil
	case portName(f.Path) && !ptyName(f.Path):
		return fmt.Errorf("port name %s changes when cables are plugged in another order: %s", devices.Quote([]byte(f.Path)), instead)
	case !path.IsAbs(f.Path) || path.Clean(f.Path) != f.Path:
		return fmt.Errorf("path %s is not a full, plain path: write it from / on, without .. or double slashes", devices.Quote([]byte(f.Path)))
	}
	return nil
}

// portName tells the names that systems give in the order of plugging in.
func portName(p string) bool {
	return regexp.MustCompile(`^(/dev/(tty|cu\.)[^/]*|(?i)(\\\\\.\\)?COM[0-9]+)$`).MatchString(p)
}

// ptyName tells a pseudo-terminal by its resolved name: /dev/pts/3 on Linux and
// FreeBSD, /dev/ttys003 on macOS.
func ptyName(resolved string) bool {
	return regexp.MustCompile(`^/dev/(pts/[0-9]+|ttys[0-9]+)$`).MatchString(resolved)
}

// stable tells a name that stays with its cable or its socket.
func stable(p string) bool { return strings.HasPrefix(p, byID) || strings.HasPrefix(p, byPath) }

// An AbsentError says that there is no such port now; plugging in helps.
type AbsentError struct {
	Port string
	// Hint is what else to look at; it may be empty.
	Hint string
	Err  error
}

// Error says what is not there and what to do.
func (e *AbsentError) Error() string {
	s := fmt.Sprintf("%s is not there: plug the gauge in", e.Port)
	if e.Hint != "" {
		s += "; " + e.Hint
	}
	return s
}

// Unwrap is the cause, where the system gave one.
func (e *AbsentError) Unwrap() error { return e.Err }

// A RefusedError says why a port cannot be used and what to do.
type RefusedError struct {
	Port    string
	Problem string
	Fix     string
	Err     error
}

// Error is the port, the problem and the fix.
func (e *RefusedError) Error() string {
	return fmt.Sprintf("%s %s: %s", e.Port, e.Problem, e.Fix)
}

// Unwrap is the cause, where the system gave one.
func (e *RefusedError) Unwrap() error { return e.Err }

// found is a port to open.
type found struct {
	path   string // resolved
	source devices.Source
}

// resolve looks the port up on a machine.
func (f Find) resolve(m machine) (found, error) {
	if err := f.Check(); err != nil {
		return found{}, err
	}
	name := f.Path
	if f.USBSerial != "" {
		var err error
		if name, err = lookUp(f.USBSerial, m.list); err != nil {
			return found{}, err
		}
	}
	resolved, err := m.follow(name)
	switch {
	case errors.Is(err, os.ErrNotExist):
		return found{}, &AbsentError{Port: name, Err: err}
	case err != nil:
		return found{}, &RefusedError{Port: name, Problem: "cannot be resolved", Fix: "see that its folder can be read", Err: err}
	case ptyName(resolved) || ptyDevice(resolved):
		return found{resolved, devices.SourceVirtual}, nil
	case f.USBSerial == "" && !stable(f.Path):
		return found{}, &RefusedError{Port: name, Problem: "leads to " + resolved + ", which is no pseudo-terminal", Fix: instead}
	}
	return found{resolved, devices.SourceGauge}, nil
}
