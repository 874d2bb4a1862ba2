//go:build unix

package virtual

import (
	"errors"
	"fmt"
	"os"
	"regexp"
	"time"

	"github.com/creack/pty"
	"golang.org/x/sys/unix"
	"golang.org/x/term"
)

// A pair is both ends of a pseudo-terminal. The reader's end is held open so
// that what is sent before a reader comes is kept, and so that it is raw from
// the start: a terminal fresh from the kernel echoes and changes line ends.
type pair struct {
	name   string   // of the reader's end
	gauge  *os.File // the gauge's end
	reader *os.File
}

func openPair() (*pair, error) {
	master, reader, err := pty.Open()
	if err != nil {
		return nil, fmt.Errorf("open a pseudo-terminal: %w", err)
	}
	defer master.Close()
	p := &pair{name: reader.Name(), reader: reader}
	if _, err := term.MakeRaw(int(reader.Fd())); err != nil {
		return nil, errors.Join(fmt.Errorf("make the pseudo-terminal raw: %w", err), reader.Close())
	}
	if p.gauge, err = pollable(master); err != nil {
		return nil, errors.Join(err, reader.Close())
	}
	return p, nil
}

// pollable makes the gauge's end one that deadlines and Close can wake: as it
// comes it blocks for ever.
func pollable(master *os.File) (*os.File, error) {
	fd, err := unix.FcntlInt(master.Fd(), unix.F_DUPFD_CLOEXEC, 0)
	if err != nil {
		return nil, fmt.Errorf("copy the pseudo-terminal: %w", err)
	}
	if err := unix.SetNonblock(fd, true); err != nil {
		return nil, errors.Join(fmt.Errorf("make the pseudo-terminal wait: %w", err), unix.Close(fd))
	}
	return os.NewFile(uintptr(fd), master.Name()), nil
}

func (p *pair) write(b []byte) error {
	if err := p.gauge.SetWriteDeadline(time.Now().Add(patience)); err != nil {
		return err
	}
	_, err := p.gauge.Write(b)
	return err
}

func (p *pair) read(wait time.Duration) ([]byte, error) {
	if err := p.gauge.SetReadDeadline(time.Now().Add(wait)); err != nil {
		return nil, err
	}
	buf := make([]byte, 512)
	n, err := p.gauge.Read(buf)
	if errors.Is(err, os.ErrDeadlineExceeded) {
		err = nil
	}
	return buf[:n], err
}

// close hangs up: the gauge's end first, so that the reader sees it go.
func (p *pair) close() error { return errors.Join(p.gauge.Close(), p.reader.Close()) }

// leftOver tells a link's target that a virtual gauge may have left: a
// pseudo-terminal's name, there or not.
func leftOver(target string) bool {
	return regexp.MustCompile(`^/dev/(pts/|ttys)[0-9]+$`).MatchString(target)
}
