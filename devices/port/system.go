package port

import (
	"errors"
	"fmt"
	"io"
	"runtime"
	"syscall"
	"time"

	"go.bug.st/serial"

	"shimwright/devices"
)

// Tick is how long a read waits on a quiet line while something may be under
// way: while the port settles, while a frame may be half in, while a gauge that
// can be asked is in use.
const Tick = 20 * time.Millisecond

// Rest is how long a read waits on a line where nothing is under way. Bytes and
// an unplugging end it at once; the end of the run waits for it.
const Rest = 250 * time.Millisecond

// A gauge that can be asked is listened to for an ask after each read: every
// Tick while it is in use, which is inUse after its last byte or ask, and every
// restAsked later, which a person who asks for a reading does not notice.
const (
	inUse     = time.Minute
	restAsked = 100 * time.Millisecond
)

// A Port is an open port. Read returns 0 and no error when the line was quiet
// for one Tick, or for as long as a Waiter was told to wait.
type Port interface{ io.ReadWriteCloser }

// A Waiter is a Port that can wait longer on a quiet line than one Tick. Wait
// is called between reads, by whoever reads. A port that is none waits a Tick.
type Waiter interface {
	Wait(quiet time.Duration) error
}

// A Raiser is a Port with lines beside the data that power some interfaces.
// Raise sets each to up or down; a port that has no such lines ignores it. Most
// systems raise both for a moment on opening, whatever is wanted.
type Raiser interface{ Raise(dtr, rts bool) error }

// Opened is an open port and what the driver knows of it.
type Opened struct {
	Port Port
	// Path is the resolved path.
	Path string
	// Source is what the driver found the port to be.
	Source devices.Source
}

// An Opener finds and opens a port. Its error is an *AbsentError where there is
// nothing to open now.
type Opener func(Find, devices.Line) (Opened, error)

// System is the Opener of real ports, and of pseudo-terminals, which the same
// driver reads.
func System(list Lister) Opener { return thisMachine(list).opener() }

func (m machine) opener() Opener {
	return func(f Find, l devices.Line) (Opened, error) {
		at, err := f.resolve(m)
		if err != nil {
			return Opened{}, err
		}
		if err := roomForFiles(); err != nil {
			return Opened{}, &RefusedError{Port: at.path, Problem: "cannot be opened: " + err.Error(), Fix: "too many files are open; stop and start the program", Err: err}
		}
		if at.source == devices.SourceGauge && m.superuser {
			// The superuser is not kept out of a port that another program
			// reads, and the two would share its bytes between them.
			if held := m.holders(at.path); len(held) > 0 {
				return Opened{}, m.busy(at.path, held, nil)
			}
		}
		p, err := open(at.path, l)
		if err != nil {
			return Opened{}, m.inWords(at.path, l, err)
		}
		return Opened{Port: p, Path: at.path, Source: at.source}, nil
	}
}

func open(path string, l devices.Line) (Port, error) {
	p, err := serial.Open(path, &serial.Mode{BaudRate: l.Baud, DataBits: l.Data, Parity: parity(l.Parity), StopBits: stopBits(l.Stop)})
	if err != nil {
		return nil, err
	}
	if err := p.SetReadTimeout(Tick); err != nil {
		return nil, errors.Join(err, p.Close())
	}
	return systemPort{p}, nil
}

func parity(p devices.Parity) serial.Parity {
	switch p {
	case devices.EvenParity:
		return serial.EvenParity
	case devices.OddParity:
		return serial.OddParity
	}
	return serial.NoParity
}

func stopBits(n int) serial.StopBits {
	if n == 2 {
		return serial.TwoStopBits
	}
	return serial.OneStopBit
}

type systemPort struct{ serial.Port }

// Wait sets how long a read waits: see the package's invariants for who may.
func (p systemPort) Wait(quiet time.Duration) error { return p.SetReadTimeout(quiet) }

// Raise sets the lines. A pseudo-terminal, and an adapter without these lines,
// says ENOTTY or, from older drivers, EINVAL.
func (p systemPort) Raise(dtr, rts bool) error {
	for _, err := range []error{p.SetDTR(dtr), p.SetRTS(rts)} {
		if err != nil && !errors.Is(err, syscall.ENOTTY) && !errors.Is(err, syscall.EINVAL) {
			return err
		}
	}
	return nil
}

// Read turns the library's panic on a file descriptor too high for select,
// which roomForFiles could not see coming, into an error.
func (p systemPort) Read(b []byte) (n int, err error) {
	defer func() {
		switch r := recover().(type) {
		case nil:
		case runtime.Error:
			n, err = 0, fmt.Errorf("too many files are open for this port to be read; stop and start the program: %w", r)
		default:
			panic(r)
		}
	}()
	return p.Port.Read(b)
}
