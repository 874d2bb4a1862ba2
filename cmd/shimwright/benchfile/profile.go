package benchfile

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"shimwright/calc/document"
	"shimwright/calc/quantity"
	"shimwright/devices"
)

// profile is a profile as read.
type profile struct {
	devices.Profile
	broken bool // it has a fault, which is told already
}

func (p profile) channels() bool { _, ok := p.Channel(); return ok }

// marks remembers where each field of a profile was written.
type marks map[string]document.Pos

func (m marks) put(n document.Node, path ...string) { m[strings.Join(path, ".")] = n.Pos() }

// at is where a field error belongs: its own place, or the nearest above it.
func (m marks) at(path []string) (document.Pos, bool) {
	for n := len(path); n > 0; n-- {
		if p, ok := m[strings.Join(path[:n], ".")]; ok {
			return p, true
		}
	}
	return document.Pos{}, false
}

func (r *reader) profile(field document.Field) profile {
	f := field.Value.Fields()
	p := profile{Profile: devices.Defaults()}
	m := marks{}
	if k := f.Get("kind"); k.Given() {
		p.Kind = devices.Kind(k.Text())
		m.put(k, "kind")
	}
	if l := f.Need("line", `the line settings, as in "9600 8N1"`); l.Given() {
		line, err := devices.ParseLine(l.Text())
		if err != nil {
			l.Fail("%s", err)
		} else {
			p.Line = line
		}
	}
	framing(f, &p.Profile, m)
	if a := f.Get("assume"); a.Given() {
		if u, err := quantity.ParseUnit(a.Text()); err != nil {
			a.Fail("%s", err)
			p.broken = true
		} else {
			p.Assume = u
		}
		m.put(a, "assume")
	}
	if w := f.Get("no number"); w.Given() {
		p.NoNumber = w.Names(20)
		m.put(w, "no number")
		for i, item := range w.List(20) {
			m.put(item, "no number", fmt.Sprint(i))
		}
	}
	limits(f, &p.Profile, m)
	raise(f, &p.Profile)
	p.broken = !r.asking(f, &p.Profile, m) || p.broken
	p.broken = !r.parts(f, &p.Profile, m) || p.broken
	f.Done()
	if !p.broken {
		p.broken = !validate(field, p.Profile, m)
	}
	return p
}

// framing reads what tells one message from the next.
func framing(f *document.Fields, p *devices.Profile, m marks) {
	if k := f.Get("packing"); k.Given() {
		p.Packing = devices.Packing(k.Text())
		m.put(k, "packing")
	}
	if p.Kind == devices.PackedDecimal && p.Packing == devices.InBytes {
		p.End = devices.NoEnd
	}
	if e := f.Get("end"); e.Given() {
		p.End = devices.End(e.Text())
		m.put(e, "end")
	}
	if l := f.Get("length"); l.Given() {
		p.Length = l.Whole(1, devices.MaxRaw)
		m.put(l, "length")
	}
	if g := f.Get("gap"); g.Given() {
		p.Gap = seconds(g, 5*time.Second)
		m.put(g, "gap")
	}
}

func limits(f *document.Fields, p *devices.Profile, m marks) {
	if o := f.Get("overrange"); o.Given() {
		p.Overrange = o.Whole(0, 18)
		m.put(o, "overrange")
	}
	if l := f.Get("longest"); l.Given() {
		p.Longest = l.Whole(2, devices.MaxRaw)
		m.put(l, "longest")
	}
	if h := f.Get("half line"); h.Given() {
		p.HalfLine = seconds(h, 5*time.Second)
		m.put(h, "half line")
	}
	if s := f.Get("settle"); s.Given() {
		p.Settle = seconds(s, 10*time.Second)
		m.put(s, "settle")
	}
}

// raise reads which lines of the port are raised; both, where it is not given.
func raise(f *document.Fields, p *devices.Profile) {
	n := f.Get("raise")
	if !n.Given() {
		return
	}
	var lines []string
	for _, item := range n.List(2) {
		lines = append(lines, item.OneOf("DTR", "RTS"))
	}
	p.RaiseDTR, p.RaiseRTS = slices.Contains(lines, "DTR"), slices.Contains(lines, "RTS")
}

// asking reads how a gauge is asked; false where it has a fault.
func (r *reader) asking(f *document.Fields, p *devices.Profile, m marks) bool {
	n := f.Get("ask")
	if !n.Given() {
		if p.Kind == devices.AskedLine {
			p.Ask = devices.DefaultAsking()
		}
		return true
	}
	m.put(n, "ask")
	p.Ask = devices.DefaultAsking()
	ask := n.Fields()
	if w := ask.Need("prompt", `the bytes to send, as in R or 'R\r'`); w.Given() {
		p.Ask.Prompt = r.bytes(w)
		m.put(w, "ask", "prompt")
	}
	if t := ask.Get("time-out"); t.Given() {
		p.Ask.Timeout = seconds(t, 10*time.Second)
		m.put(t, "ask", "time-out")
	}
	if t := ask.Get("retries"); t.Given() {
		p.Ask.Retries = t.Whole(0, 10)
		m.put(t, "ask", "retries")
	}
	ask.Done()
	return p.Ask.Prompt != ""
}

// validate lays the profile's own faults where their fields were written, and
// tells whether there were none.
func validate(field document.Field, p devices.Profile, m marks) bool {
	var list devices.FieldErrors
	if !errors.As(p.Validate(), &list) {
		return true
	}
	for _, e := range list {
		at, ok := m.at(e.Path)
		if !ok {
			at = field.At
		}
		field.Value.FailAt(at, "profile %q, %s", field.Key, e)
	}
	return false
}
