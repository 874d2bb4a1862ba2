package packed

import (
	"bytes"
	"fmt"
	"time"

	"shimwright/devices"
	"shimwright/devices/internal/wire"
)

// A form is how frames look on the line.
type form struct {
	marks  int // bytes of mark that a frame begins with
	length int // bytes of a frame
	isMark func(byte) bool
}

func bytesForm() form {
	return form{marks: header / 2, length: (groups + 1) / 2, isMark: func(b byte) bool { return b == 0xFF }}
}

func hexForm() form {
	return form{marks: header, length: groups, isMark: func(b byte) bool { return b == 'F' || b == 'f' }}
}

// marked cuts bytes into frames by the marks they begin with. A good frame has
// marks nowhere else.
type marked struct {
	form
	wait  time.Duration
	parse wire.Parse

	reading   wire.Reading // of the frame at hand
	raws      wire.Copies
	buf       []byte // what is not emitted yet
	run       int    // how many marks end it, or were skipped last
	inside    bool   // buf is a frame that has begun, else noise or marks
	skipping  bool   // the noise in buf is already reported
	quiet     bool
	quietFrom time.Time
}

func newMarked(f form, wait time.Duration, parse wire.Parse) *marked {
	return &marked{form: f, wait: wait, parse: parse, buf: make([]byte, 0, devices.MaxRaw+1)}
}

// Reset forgets half a frame.
func (m *marked) Reset() {
	m.buf, m.run, m.inside, m.skipping, m.quiet = m.buf[:0], 0, false, false, false
}

// Push takes bytes and emits each frame that they complete.
func (m *marked) Push(at time.Time, p []byte, emit func(devices.Frame, error)) {
	for _, b := range p {
		m.quiet = false
		switch {
		case m.isMark(b):
			m.mark(at, b, emit)
		case !m.inside && m.run >= m.marks:
			m.begin(at, b, emit)
		default:
			m.run = 0
			m.add(at, b, emit)
		}
	}
}

// mark takes a mark: enough of them end a frame that is not complete.
func (m *marked) mark(at time.Time, b byte, emit func(devices.Frame, error)) {
	m.run++
	m.add(at, b, emit)
	if m.inside && m.run == m.marks {
		n := len(m.buf) - m.run
		m.fail(at, devices.BadShape, fmt.Sprintf("it is cut short: another begins behind %d of %d bytes", n, m.length), n, emit)
		m.inside = false
	}
}

// begin takes the first byte behind the marks of a frame. What was before the
// marks is noise.
func (m *marked) begin(at time.Time, b byte, emit func(devices.Frame, error)) {
	if n := len(m.buf) - m.marks; n > 0 {
		m.noise(at, n, emit)
	}
	m.inside, m.run, m.skipping = true, 0, false
	m.add(at, b, emit)
}

// add keeps a byte, and emits the frame that it completes or the noise that
// became too long.
func (m *marked) add(at time.Time, b byte, emit func(devices.Frame, error)) {
	m.buf = append(m.buf, b)
	switch {
	case m.inside && len(m.buf) == m.length:
		m.whole(at, emit)
	case !m.inside && len(m.buf) > devices.MaxRaw:
		keep := min(m.run, m.marks)
		m.noise(at, len(m.buf)-keep, emit)
		m.skipping = true
	}
}

// whole emits a complete frame. Marks at its end begin the next one.
func (m *marked) whole(at time.Time, emit func(devices.Frame, error)) {
	m.inside = false
	if m.run > 0 {
		n := m.length - m.run
		m.fail(at, devices.BadShape, fmt.Sprintf("it is cut short: another begins behind %d of %d bytes", n, m.length), n, emit)
		return
	}
	r := &m.reading
	*r = wire.Reading{}
	bad := m.parse(m.buf, r)
	raw := m.raws.Of(m.buf)
	m.buf = m.buf[:0]
	if bad != nil {
		bad.Raw = raw
		emit(devices.Frame{Raw: raw, At: at}, bad)
		return
	}
	emit(devices.Frame{Raw: raw, At: at, Value: r.Value, UnitStated: r.UnitStated}, nil)
}

// noise emits the first n bytes as noise, unless the noise they belong to was.
func (m *marked) noise(at time.Time, n int, emit func(devices.Frame, error)) {
	switch {
	case m.skipping:
		m.buf = append(m.buf[:0], m.buf[n:]...)
	case n >= devices.MaxRaw-m.marks:
		m.fail(at, devices.TooLong, "no frame begins in it", n, emit)
	default:
		m.fail(at, devices.Noise, "no frame begins in it", n, emit)
	}
}

// fail emits the first n bytes as a bad frame and keeps the rest.
func (m *marked) fail(at time.Time, r devices.Reason, detail string, n int, emit func(devices.Frame, error)) {
	raw := bytes.Clone(m.buf[:min(n, devices.MaxRaw)])
	m.buf = append(m.buf[:0], m.buf[n:]...)
	emit(devices.Frame{Raw: raw, At: at}, &devices.FrameError{Reason: r, Detail: detail, Raw: raw})
}

// Tick discards what has been quiet for the profile's gap, counted from the
// first tick behind the last byte.
func (m *marked) Tick(at time.Time, emit func(devices.Frame, error)) {
	if !m.quiet {
		m.quiet, m.quietFrom = true, at
		return
	}
	if at.Sub(m.quietFrom) < m.wait {
		return
	}
	switch n := len(m.buf); {
	case n > 0 && (m.inside || m.run == n):
		m.fail(at, devices.HalfLine, fmt.Sprintf("%d of %d bytes came before a gap of %s", n, m.length, m.wait), n, emit)
	case n > 0:
		m.noise(at, n, emit)
	}
	m.Reset()
}
