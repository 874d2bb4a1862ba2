package wire

import (
	"bytes"
	"fmt"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices"
)

// A Reading is what a line says; its fields are those of devices.Frame. Of a
// bad line only the channel is used, where it was read.
type Reading struct {
	Value      quantity.Value
	UnitStated bool
	Battery    bool
	Channel    string
}

// A Parse reads one line, its end taken off, into an empty reading. It keeps no
// reference to body.
type Parse func(body []byte, r *Reading) *devices.FrameError

// Lines cuts bytes into lines by a profile's end, longest frame and times. It
// must be made by NewLines.
type Lines struct {
	// fixed
	parse    Parse
	end      devices.End
	endBytes []byte // nil where nothing ends a line
	length   int    // of a line that nothing ends
	longest  int
	wait     time.Duration // how long half a line may lie

	// changing
	raws      Copies
	reading   Reading // of the line at hand
	buf       []byte  // the line so far, within the longest
	last      byte    // the byte before the next one, kept while skipping
	skipping  bool    // inside something bad that is already reported
	quiet     bool    // a tick has come since the last byte
	quietFrom time.Time
}

// NewLines makes a cutter from a profile that was found valid.
func NewLines(p devices.Profile, parse Parse) *Lines {
	l := &Lines{parse: parse, end: p.End, endBytes: p.End.Bytes(), longest: p.Longest, wait: p.HalfLine}
	if p.End == devices.NoEnd {
		l.length, l.longest, l.wait = p.Length, p.Length, p.Gap
	}
	l.buf = make([]byte, 0, l.longest)
	return l
}

// Reset forgets half a line.
func (l *Lines) Reset() {
	l.buf, l.skipping, l.quiet, l.last = l.buf[:0], false, false, 0
}

// Push takes bytes and emits each line that they complete.
func (l *Lines) Push(at time.Time, p []byte, emit func(devices.Frame, error)) {
	if len(p) == 0 {
		return
	}
	l.quiet = false
	if l.endBytes == nil {
		l.pushFixed(at, p, emit)
		return
	}
	final := l.endBytes[len(l.endBytes)-1]
	for len(p) > 0 {
		n := bytes.IndexByte(p, final) + 1
		whole := n > 0
		if !whole {
			n = len(p)
		}
		l.take(at, p[:n], whole, emit)
		p = p[n:]
	}
}

// take adds bytes of one line; whole says that the last one may end it.
func (l *Lines) take(at time.Time, seg []byte, whole bool, emit func(devices.Frame, error)) {
	if whole && len(l.endBytes) > 1 {
		before := l.last
		if len(seg) > 1 {
			before = seg[len(seg)-2]
		}
		whole = before == '\r'
	}
	if whole && !l.skipping && len(l.buf) == 0 && len(seg) <= l.longest {
		l.last = 0
		l.line(at, seg, emit)
		return
	}
	l.last = seg[len(seg)-1]
	if !l.skipping {
		room := l.longest - len(l.buf)
		l.buf = append(l.buf, seg[:min(room, len(seg))]...)
		if len(seg) > room {
			l.fail(at, devices.TooLong, fmt.Sprintf("no end within %d bytes", l.longest), emit)
			l.skipping = true
		}
	}
	if !whole {
		return
	}
	if !l.skipping {
		l.line(at, l.buf, emit)
	}
	l.buf, l.skipping, l.last = l.buf[:0], false, 0
}

// line emits a whole line, unless it is empty.
func (l *Lines) line(at time.Time, line []byte, emit func(devices.Frame, error)) {
	// What the end of the line before left over is no part of this one.
	for len(line) > 0 && (line[0] == '\r' || line[0] == '\n') {
		line = line[1:]
	}
	n := len(line)
	for n > 0 && (line[n-1] == '\r' || line[n-1] == '\n') {
		n--
	}
	if n > 0 {
		l.one(at, line, line[:n], emit)
	}
}

// one emits one frame and tells whether its shape could be trusted.
func (l *Lines) one(at time.Time, line, body []byte, emit func(devices.Frame, error)) bool {
	r := &l.reading
	*r = Reading{}
	bad := l.parse(body, r)
	raw := l.raws.Of(line)
	if bad == nil {
		emit(devices.Frame{Raw: raw, At: at, Value: r.Value, UnitStated: r.UnitStated, Battery: r.Battery, Channel: r.Channel}, nil)
		return true
	}
	bad.Raw = raw
	emit(devices.Frame{Raw: raw, At: at, Channel: r.Channel}, bad)
	return bad.Reason == devices.NoNumber || bad.Reason == devices.Absent
}

// pushFixed takes bytes of lines that nothing ends. A line that is not as it
// should be leaves it open where the next begins: to look for one among the
// bytes could find a figure that nobody sent, so a gap is waited for.
func (l *Lines) pushFixed(at time.Time, p []byte, emit func(devices.Frame, error)) {
	for len(p) > 0 && !l.skipping {
		n := min(l.length-len(l.buf), len(p))
		l.buf = append(l.buf, p[:n]...)
		p = p[n:]
		if len(l.buf) < l.length {
			return
		}
		l.skipping = !l.one(at, l.buf, l.buf, emit)
		l.buf = l.buf[:0]
	}
}

// fail emits buf as a bad frame and empties it.
func (l *Lines) fail(at time.Time, r devices.Reason, detail string, emit func(devices.Frame, error)) {
	raw := bytes.Clone(l.buf)
	l.buf = l.buf[:0]
	emit(devices.Frame{Raw: raw, At: at}, &devices.FrameError{Reason: r, Detail: detail, Raw: raw})
}

// Tick discards a half line that has been quiet for the profile's time. The
// time runs from the first tick behind the last byte, because only a tick says
// that nothing was waiting.
func (l *Lines) Tick(at time.Time, emit func(devices.Frame, error)) {
	if !l.quiet {
		l.quiet, l.quietFrom = true, at
		return
	}
	if at.Sub(l.quietFrom) < l.wait {
		return
	}
	if l.endBytes == nil && len(l.buf) > 0 || len(bytes.Trim(l.buf, "\r\n")) > 0 {
		l.fail(at, devices.HalfLine, l.halfDetail(), emit)
	}
	l.Reset()
}

func (l *Lines) halfDetail() string {
	if l.endBytes == nil {
		return fmt.Sprintf("%d of %d bytes came before a gap of %s", len(l.buf), l.length, l.wait)
	}
	other := l.buf[len(l.buf)-1]
	if other == '\r' || other == '\n' {
		return fmt.Sprintf("it ends with %s, the profile says %s", devices.Quote([]byte{other}), l.end)
	}
	return fmt.Sprintf("no %s came within %s", l.end, l.wait)
}
