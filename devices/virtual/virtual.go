//go:build unix

package virtual

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"sync"
	"time"

	"golang.org/x/sys/unix"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/devices/kinds"
)

// patience is how long a send waits for room: nobody has read for long by then.
const patience = time.Second

// A Gauge is a virtual gauge. Its methods may be called by any goroutine.
type Gauge struct {
	link string

	mu      sync.Mutex
	profile devices.Profile
	enc     devices.Encoder // as the profile says
	keyed   devices.Encoder // with the other unit; nil unless its key was pressed
	battery bool
	silent  bool                       // switched off, or asleep: it sends nothing
	shows   map[string]*quantity.Value // by channel; nil for one without a gauge
	line    *pair                      // nil while unplugged
	closed  bool
	changed chan struct{} // closed when line or closed changes, and made anew
}

// New makes a virtual gauge and plugs it in: a new pseudo-terminal, and a
// symbolic link to it at link, which must not exist yet or must be a link that
// an earlier virtual gauge left. Close it when done.
func New(p devices.Profile, link string) (*Gauge, error) {
	enc, err := kinds.Encoder(p)
	if err != nil {
		return nil, fmt.Errorf("virtual gauge: %w", err)
	}
	g := &Gauge{link: link, profile: p, enc: enc, shows: map[string]*quantity.Value{}, changed: make(chan struct{})}
	if err := g.Replug(); err != nil {
		return nil, err
	}
	return g, nil
}

// Path is the symbolic link: what a bench gives as the port's path.
func (g *Gauge) Path() string { return g.link }

// SetBattery sets whether presses carry the flag of a low battery.
func (g *Gauge) SetBattery(low bool) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.battery = low
}

// UnitKey presses the gauge's unit key: from now on it sends what it shows in
// its other unit, converted, with the decimals that it has there; or as its
// profile says again.
func (g *Gauge) UnitKey() error {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.keyed != nil {
		g.keyed = nil
		return nil
	}
	enc, err := kinds.Encoder(rekeyed(g.profile))
	if err != nil {
		return fmt.Errorf("virtual gauge %s: %w", g.link, err)
	}
	g.keyed = enc
	return nil
}

// encode writes a value as the gauge stands.
func (g *Gauge) encode(v quantity.Value) ([]byte, error) {
	if g.keyed == nil {
		return g.enc.Encode(v, g.battery)
	}
	v, err := converted(v)
	if err != nil {
		return nil, err
	}
	return g.keyed.Encode(v, g.battery)
}

// Press sends a value as the profile says. A value that the gauge could not
// have is refused.
func (g *Gauge) Press(v quantity.Value) error {
	g.mu.Lock()
	defer g.mu.Unlock()
	line, err := g.encode(v)
	if err != nil {
		return err
	}
	return g.send(line)
}

// PressBadly is a press that goes wrong on its way.
func (g *Gauge) PressBadly(v quantity.Value, m Mishap) error {
	g.mu.Lock()
	line, err := g.encodeOn(m.Channel, v)
	g.mu.Unlock()
	if err != nil {
		return err
	}
	pieces, err := m.spoil(g.profile, line)
	if err != nil {
		return err
	}
	for i, piece := range pieces {
		if i > 0 && m.Pace != nil {
			if err := m.Pace(); err != nil {
				return err
			}
		}
		if err := g.SendRaw(piece); err != nil {
			return err
		}
	}
	return nil
}

// mostFlood is how many presses a flood has at most.
const mostFlood = 100_000

// Flood sends a press n times as fast as the reader takes them.
func (g *Gauge) Flood(v quantity.Value, n int) error {
	if n < 1 || n > mostFlood {
		return fmt.Errorf("%d presses are no flood: ask for 1 to %d", n, mostFlood)
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	line, err := g.encode(v)
	if err != nil {
		return err
	}
	const together = 100
	for ; n > 0; n -= together {
		if err := g.send(bytes.Repeat(line, min(n, together))); err != nil {
			return err
		}
	}
	return nil
}

// SetSilent switches the gauge off, or on again: while it is off its button
// sends nothing, and it answers nobody.
func (g *Gauge) SetSilent(off bool) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.silent = off
}

// SendRaw sends bytes as they are.
func (g *Gauge) SendRaw(p []byte) error {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.send(p)
}

func (g *Gauge) send(p []byte) error {
	switch {
	case g.line == nil:
		return g.unplugged()
	case g.silent:
		return nil
	}
	if err := g.line.write(p); err != nil {
		return fmt.Errorf("virtual gauge %s: nobody reads it: %w", g.link, err)
	}
	return nil
}

func (g *Gauge) unplugged() error {
	return fmt.Errorf("virtual gauge %s is unplugged: plug it in first", g.link)
}

// Heard gives what the reader has sent to the gauge, waiting at most as long as
// said for the first byte; nothing and no error when nothing came.
func (g *Gauge) Heard(wait time.Duration) ([]byte, error) {
	g.mu.Lock()
	line := g.line
	g.mu.Unlock()
	if line == nil {
		return nil, g.unplugged()
	}
	return line.read(wait)
}

// Drained waits until the reader has read all that was sent, or ctx is done.
func (g *Gauge) Drained(ctx context.Context) error {
	// The kernel tells nobody when a queue becomes empty, so it is asked.
	t := time.NewTicker(time.Millisecond)
	defer t.Stop()
	for {
		waiting, err := g.waiting()
		if err != nil || !waiting {
			return err
		}
		select {
		case <-ctx.Done():
			return fmt.Errorf("virtual gauge %s: not all was read: %w", g.link, context.Cause(ctx))
		case <-t.C:
		}
	}
}

func (g *Gauge) waiting() (bool, error) {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.line == nil {
		return false, g.unplugged()
	}
	return g.line.unread()
}

// Unplug takes the link away and hangs up; what was not read is lost.
func (g *Gauge) Unplug() error {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.line == nil {
		return g.unplugged()
	}
	return g.hangUp()
}

func (g *Gauge) hangUp() error {
	err := errors.Join(g.unlink(), g.line.close())
	g.line = nil
	g.tell()
	return err
}

// tell wakes who waits for a change.
func (g *Gauge) tell() {
	close(g.changed)
	g.changed = make(chan struct{})
}

// unlink takes the link away, if it is still this gauge's.
func (g *Gauge) unlink() error {
	to, err := os.Readlink(g.link)
	if err != nil || to != g.line.name {
		return nil
	}
	return os.Remove(g.link)
}

// Replug plugs the gauge in: a new pseudo-terminal behind the same link.
func (g *Gauge) Replug() error {
	g.mu.Lock()
	defer g.mu.Unlock()
	switch {
	case g.closed:
		return fmt.Errorf("virtual gauge %s is closed: make a new one", g.link)
	case g.line != nil:
		return fmt.Errorf("virtual gauge %s is plugged in: unplug it first", g.link)
	}
	line, err := openPair()
	if err != nil {
		return fmt.Errorf("virtual gauge %s: %w", g.link, err)
	}
	if err := relink(line.name, g.link); err != nil {
		return errors.Join(fmt.Errorf("virtual gauge %s: %w", g.link, err), line.close())
	}
	g.line = line
	g.tell()
	return nil
}

// relink makes link lead to target at once, in the place of a link that leads
// to a device, but never of a file or another link.
func relink(target, link string) error {
	switch info, err := os.Lstat(link); {
	case errors.Is(err, os.ErrNotExist):
		return os.Symlink(target, link)
	case err != nil:
		return err
	case info.Mode()&os.ModeSymlink == 0:
		return fmt.Errorf("a file is in the place of the link %s: choose another name", link)
	}
	to, err := os.Readlink(link)
	if err != nil {
		return err
	}
	if !leftOver(to) {
		return fmt.Errorf("the link %s leads to %s, which is no pseudo-terminal: choose another name", link, to)
	}
	next := fmt.Sprintf("%s.%d", link, os.Getpid())
	if err := os.Symlink(target, next); err != nil {
		return err
	}
	if err := os.Rename(next, link); err != nil {
		return errors.Join(err, os.Remove(next))
	}
	return nil
}

// Close unplugs for good. Closing twice is no error.
func (g *Gauge) Close() error {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.closed = true
	if g.line == nil {
		g.tell()
		return nil
	}
	return g.hangUp()
}

// unread polls the gauge's own copy of the reader's end. Polling makes the
// kernel hand over what is still on its way, which asking for a count does not.
func (p *pair) unread() (bool, error) {
	fds := []unix.PollFd{{Fd: int32(p.reader.Fd()), Events: unix.POLLIN}}
	for {
		_, err := unix.Poll(fds, 0)
		if errors.Is(err, unix.EINTR) {
			continue
		}
		if err != nil {
			return false, fmt.Errorf("ask what was read: %w", err)
		}
		return fds[0].Revents&unix.POLLIN != 0, nil
	}
}
