package capture

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"shimwright/devices"
)

// Limits of what is read: a capture beyond them is none of ours.
const (
	maxLine = 64 << 10 // bytes
	maxFile = 64 << 20 // bytes
	maxTime = 366 * 24 * time.Hour
)

// A DamageError says where a capture is damaged and how.
type DamageError struct {
	// Line is the number of the line, from 1.
	Line    int
	Problem string
	Fix     string
	Err     error
}

// Error is the line, the problem and what to do.
func (e *DamageError) Error() string {
	return fmt.Sprintf("line %d of the capture: %s: %s", e.Line, e.Problem, e.Fix)
}

// Unwrap is the cause, where there is one.
func (e *DamageError) Unwrap() error { return e.Err }

// Load reads a capture from a file. As with Parse, what stands before a damaged
// line comes with the error.
func Load(path string) (Capture, error) {
	f, err := os.Open(path)
	if err != nil {
		return Capture{}, fmt.Errorf("open a capture: %w", err)
	}
	defer f.Close()
	c, err := Parse(f)
	if err != nil {
		return c, fmt.Errorf("%s: %w", path, err)
	}
	return c, nil
}

// Parse reads a capture. A *DamageError comes with all that stands before the
// damaged line.
func Parse(r io.Reader) (Capture, error) {
	limited := &io.LimitedReader{R: r, N: maxFile + 1}
	p := parser{lines: bufio.NewReaderSize(limited, maxLine)}
	for p.next() {
		if p.number == 1 {
			p.head()
			continue
		}
		p.item()
	}
	switch {
	case p.err != nil:
	case limited.N <= 0:
		p.fail("the file is longer than 64 MiB", "cut it into smaller ones", nil)
	case p.number == 0:
		p.number = 1
		p.fail("the file is empty", "a capture begins with its head", nil)
	}
	return p.c, p.err
}

type parser struct {
	lines  *bufio.Reader
	number int // of the line being read
	line   []byte
	c      Capture
	err    error

	last time.Duration // nothing may be earlier
	open bool
	full bool
}

func (p *parser) fail(problem, fix string, err error) {
	if p.err == nil {
		p.err = &DamageError{Line: p.number, Problem: problem, Fix: fix, Err: err}
	}
}

// next reads a line; false at the end of the file and after the first damage.
func (p *parser) next() bool {
	if p.err != nil {
		return false
	}
	line, err := p.lines.ReadSlice('\n')
	switch {
	case len(line) == 0 && errors.Is(err, io.EOF):
		return false
	case errors.Is(err, bufio.ErrBufferFull):
		p.number++
		p.fail("it is longer than 64 KiB", "no line of a capture is; leave it out, with all behind it", err)
	case errors.Is(err, io.EOF):
		p.number++
		p.fail("it is cut off: "+devices.Quote(line), "leave it out; what stands before it is whole", io.ErrUnexpectedEOF)
	case err != nil:
		p.number++
		p.fail("it cannot be read: "+err.Error(), "read the file again", err)
	}
	if p.err != nil {
		return false
	}
	p.number++
	p.line = line[:len(line)-1]
	return true
}

// decode reads the line's object strictly.
func (p *parser) decode(to any) bool {
	d := json.NewDecoder(bytes.NewReader(p.line))
	d.DisallowUnknownFields()
	if err := d.Decode(to); err != nil {
		p.fail(fmt.Sprintf("it is no line of a capture: %s (%s)", ascii(err), devices.Quote(p.line)), "correct it, or leave it out with all behind it", err)
		return false
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		p.fail("something stands behind its object: "+devices.Quote(p.line), "write one object a line", nil)
		return false
	}
	return true
}

// ascii is an error's words without what a file may have smuggled into them.
func ascii(err error) string {
	q := devices.Quote([]byte(err.Error()))
	return q[1 : len(q)-1]
}

func (p *parser) head() {
	// The version first: a later one may have other keys.
	var v struct{ Capture int }
	if err := json.Unmarshal(p.line, &v); err != nil || v.Capture == 0 {
		p.fail("it is no head of a capture: "+devices.Quote(p.line), `a capture begins with {"capture":1,`, err)
		return
	}
	if v.Capture != Version {
		p.fail(fmt.Sprintf("the capture is of version %d, this program reads version %d", v.Capture, Version), "read it with a program that has this version", nil)
		return
	}
	var h headLine
	if !p.decode(&h) {
		return
	}
	set, err := devices.ParseLine(h.Line)
	if err != nil {
		p.fail("its line settings: "+err.Error(), `write them as in "line":"9600 8N1"`, err)
		return
	}
	if (h.Gauge == "") == (len(h.Channels) == 0) {
		p.fail("it must name either a gauge or the gauges of channels", `write "gauge" or "channels"`, nil)
		return
	}
	p.c.Head = Head{h.Began, h.Gauge, h.Channels, h.Port, h.Profile, set}
}

func (p *parser) item() {
	var l itemLine
	if !p.decode(&l) {
		return
	}
	i, problem := l.item()
	switch {
	case problem != "":
	case p.full:
		problem = "the file was full before it"
	case i.At < p.last:
		problem = fmt.Sprintf("its time, %d microseconds, is before %d: time went back", i.At.Microseconds(), p.last.Microseconds())
	case i.What == Open && p.open:
		problem = "the port is opened and was open"
	case (i.What == Read || i.What == Sent || i.What == Quiet || i.What == Lost || i.What == Closed) && !p.open:
		problem = string(i.What) + " on a port that is not open"
	case i.What == None && p.open:
		problem = "there is no port to open, and one was open"
	}
	if problem != "" {
		p.fail(problem+" ("+devices.Quote(p.line)+")", "correct it, or leave it out with all behind it", nil)
		return
	}
	p.last = max(i.At, i.Until)
	p.full = i.What == Full
	p.open = i.What == Open || p.open && i.What != Lost && i.What != Closed
	p.c.Items = append(p.c.Items, i)
}

// item checks the line by itself and says what is wrong with it.
func (l itemLine) item() (Item, string) {
	at, ok := duration(l.US)
	if !ok {
		return Item{}, "it has no time us, or one beyond a year"
	}
	i := Item{At: at, What: l.What, Path: l.Path, Words: l.Words}
	bytesGiven := l.Text != nil || l.Base64 != nil
	extra := map[What]bool{
		Open:  l.Until != nil || bytesGiven || l.Words != "",
		Read:  l.Until != nil || l.Path != "" || l.Source != "" || l.Words != "",
		Quiet: bytesGiven || l.Path != "" || l.Source != "" || l.Words != "",
		Lost:  l.Until != nil || bytesGiven || l.Path != "" || l.Source != "",
		Full:  l.Until != nil || bytesGiven || l.Path != "" || l.Source != "" || l.Words != "",
	}
	extra[Sent], extra[None], extra[Closed] = extra[Read], extra[Lost], extra[Full]
	too, known := extra[l.What]
	switch {
	case !known:
		return i, devices.Quote([]byte(l.What)) + " is nothing that happens to a port"
	case too:
		return i, "it has keys that do not belong to " + string(l.What)
	}
	switch l.What {
	case Read, Sent:
		return l.bytes(i)
	case Quiet:
		if i.Until, ok = duration(l.Until); !ok || i.Until < i.At {
			return i, "it has no time until, or one before its beginning"
		}
	case Open:
		if err := i.Source.UnmarshalText([]byte(l.Source)); err != nil || i.Source == devices.SourceKeyed {
			return i, "its source is neither gauge nor virtual"
		}
	}
	return i, ""
}

func (l itemLine) bytes(i Item) (Item, string) {
	switch {
	case (l.Text == nil) == (l.Base64 == nil):
		return i, "it needs one of text and base64"
	case l.Text != nil:
		i.Bytes = []byte(*l.Text)
		if !legible(i.Bytes) {
			return i, "its text has bytes that only base64 can hold"
		}
	default:
		i.Bytes = *l.Base64
	}
	if len(i.Bytes) == 0 {
		return i, "it has no bytes"
	}
	return i, ""
}

func duration(us *int64) (time.Duration, bool) {
	if us == nil || *us < 0 || *us > maxTime.Microseconds() {
		return 0, false
	}
	return time.Duration(*us) * time.Microsecond, true
}
