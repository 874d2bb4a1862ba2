package capture

import (
	"errors"
	"fmt"
	"io"
	"os"
	"sync"
	"time"

	"shimwright/devices"
	"shimwright/devices/port"
)

// DefaultLimit is how long a file may become: some days of pressing.
const DefaultLimit = 16 << 20 // bytes

// leastLimit is room for a head and a few lines.
const leastLimit = 4 << 10 // bytes

// A Recorder writes a capture of one port. It never stands in the reading's
// way: what cannot be written is not recorded, and Close says so.
type Recorder struct {
	now   func() time.Time
	began time.Time

	mu    sync.Mutex
	out   io.Writer
	end   []byte // the line that says the file is full
	room  int    // bytes, without the end
	over  bool   // nothing more is written
	err   error
	quiet *Item // the spell going on
	none  string
	open  bool
}

// Record begins a capture on a writer, at most limit bytes of it. Now is the
// clock, with its monotonic part; the head's Began is set from it.
func Record(w io.Writer, h Head, limit int, now func() time.Time) (*Recorder, error) {
	if limit < leastLimit {
		return nil, fmt.Errorf("a capture of %d bytes holds nothing: give at least %d", limit, leastLimit)
	}
	r := &Recorder{now: now, began: now(), out: w}
	h.Began = r.began
	head, err := h.line()
	if err != nil {
		return nil, err
	}
	r.end, err = Item{What: Full, At: maxTime}.line()
	if err != nil {
		return nil, err
	}
	r.room = limit - len(r.end)
	if len(head) > r.room {
		return nil, fmt.Errorf("a capture of %d bytes has no room for its head: give more", limit)
	}
	r.write(head)
	return r, r.err
}

// Create begins a capture in a new file, which must not exist yet.
func Create(path string, h Head, limit int, now func() time.Time) (*Recorder, error) {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return nil, fmt.Errorf("begin a capture: %w", err)
	}
	r, err := Record(f, h, limit, now)
	if err != nil {
		return nil, errors.Join(err, f.Close(), os.Remove(path))
	}
	return r, nil
}

// Close writes what waits, closes the writer where it is one that closes, and
// says what went wrong since the beginning.
func (r *Recorder) Close() error {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.flush()
	r.over = true
	if c, ok := r.out.(io.Closer); ok {
		if err := c.Close(); r.err == nil && err != nil {
			r.err = fmt.Errorf("end a capture: %w", err)
		}
	}
	return r.err
}

// Opener is an opener that records what goes through the ports of another. One
// recorder is for one port at a time.
func (r *Recorder) Opener(open port.Opener) port.Opener {
	return func(f port.Find, l devices.Line) (port.Opened, error) {
		o, err := open(f, l)
		if err != nil {
			r.noPort(err.Error())
			return o, err
		}
		r.put(Item{What: Open, Path: o.Path, Source: o.Source})
		o.Port = recorded{o.Port, r}
		return o, nil
	}
}

// noPort records why nothing was opened, once for each reason.
func (r *Recorder) noPort(words string) {
	r.mu.Lock()
	same := r.none == words
	r.none = words
	r.mu.Unlock()
	if !same {
		r.put(Item{What: None, Words: words})
	}
}

// put records an item as happening now.
func (r *Recorder) put(i Item) {
	r.mu.Lock()
	defer r.mu.Unlock()
	i.At = r.now().Sub(r.began).Truncate(time.Microsecond)
	if !r.open && i.What != Open && i.What != None {
		return // as the closing of a port that was lost
	}
	if i.What == Quiet {
		if r.quiet == nil {
			r.quiet = &i
		}
		r.quiet.Until = i.At
		return
	}
	switch i.What {
	case Lost, Closed:
		r.open = false
	case Open:
		r.open, r.none = true, ""
	}
	r.flush()
	r.item(i)
}

func (r *Recorder) flush() {
	if r.quiet != nil {
		r.item(*r.quiet)
		r.quiet = nil
	}
}

func (r *Recorder) item(i Item) {
	if r.over {
		return
	}
	l, err := i.line()
	if err == nil && len(l) > r.room {
		r.over = true
		if l, err = (Item{What: Full, At: i.At}).line(); err == nil {
			r.room += len(r.end)
			r.write(l)
		}
		return
	}
	if err != nil {
		r.err, r.over = err, true
		return
	}
	r.write(l)
}

func (r *Recorder) write(l []byte) {
	r.room -= len(l)
	if _, err := r.out.Write(l); err != nil {
		r.err, r.over = fmt.Errorf("write a capture: %w", err), true
	}
}

// recorded is a port that is recorded.
type recorded struct {
	port.Port
	r *Recorder
}

func (p recorded) Read(b []byte) (int, error) {
	n, err := p.Port.Read(b)
	switch {
	case n > 0:
		p.r.put(Item{What: Read, Bytes: append([]byte(nil), b[:n]...)})
	case err == nil:
		p.r.put(Item{What: Quiet})
	}
	if err != nil {
		p.r.put(Item{What: Lost, Words: err.Error()})
	}
	return n, err
}

func (p recorded) Write(b []byte) (int, error) {
	n, err := p.Port.Write(b)
	if n > 0 {
		p.r.put(Item{What: Sent, Bytes: append([]byte(nil), b[:n]...)})
	}
	if err != nil {
		p.r.put(Item{What: Lost, Words: err.Error()})
	}
	return n, err
}

func (p recorded) Close() error {
	p.r.put(Item{What: Closed})
	return p.Port.Close()
}

// Raise passes on to the port's own lines, where it has any.
func (p recorded) Raise(dtr, rts bool) error {
	if q, ok := p.Port.(port.Raiser); ok {
		return q.Raise(dtr, rts)
	}
	return nil
}
