// Package benchfile reads a bench file: what a bench is. Bay, journal, gauges
// with their ports and profiles, certified pieces, stock, sheets. Strict YAML;
// every fault is laid at file, line and column.
package benchfile

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"shimwright/calc/document"
	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
	"shimwright/devices"
	"shimwright/devices/port"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ingest/guard"
)

// A File is a bench file read.
type File struct {
	Name    string
	Journal string // full path
	Gauges  []bench.Gauge
	Pieces  []bench.Piece
	Trays   map[string][]fact.Leaf
	Sheets  []string // paths, or names of sheets that the program carries
	Windows guard.Windows
	Rule    ring.Rule
}

// reader gathers a bench file while it is read.
type reader struct {
	folder   string
	profiles map[string]devices.Profile
	ports    map[string]string // port → gauge
	out      *File
}

// Read decodes a bench file; relative paths in it start from folder. The error
// joins all faults found.
func Read(file, folder string, text []byte) (*File, error) {
	top, doc, err := document.Parse(file, text)
	if err != nil {
		return nil, err
	}
	r := &reader{folder: folder, profiles: map[string]devices.Profile{}, ports: map[string]string{},
		out: &File{Windows: guard.Usual(), Trays: map[string][]fact.Leaf{}}}
	f := top.Fields()
	r.out.Name = f.Need("bench", "the bench's name, as in bay 2").Name()
	r.out.Journal = r.path(f.Need("journal", "the file that keeps the bench's facts, as in bay2.journal"))
	if d := f.Get("double press"); d.Given() {
		r.out.Windows.Double = seconds(d, 10*time.Second)
	}
	for _, p := range f.Need("profiles", "how each kind of gauge talks").Fields().All() {
		r.profiles[p.Key] = readProfile(p)
	}
	for _, g := range f.Need("gauges", "the gauges of the bench").Fields().All() {
		r.gauge(g)
	}
	for _, p := range f.Get("pieces").Fields().All() {
		r.out.Pieces = append(r.out.Pieces, readPiece(p))
	}
	if a := f.Get("acceptance"); a.Given() && a.OneOf("guarded", "simple") == "simple" {
		r.out.Rule = ring.Simple
	}
	for _, t := range f.Get("stock").Fields().All() {
		for _, l := range sheet.ReadTray(t.Value) {
			r.out.Trays[t.Key] = append(r.out.Trays[t.Key], fact.Leaf{Size: l.Size, Count: l.Count})
		}
	}
	for _, s := range f.Need("sheets", "the setting sheets that jobs may be opened by").List(200) {
		r.out.Sheets = append(r.out.Sheets, s.Text())
	}
	f.Done()
	return r.out, doc.Err()
}

// readPiece reads a certified piece: its size, or a map with the size and what
// its certificate says of it.
func readPiece(p document.Field) bench.Piece {
	out := bench.Piece{ID: p.Key}
	if p.Value.IsText() {
		out.Size = p.Value.Figure(quantity.Length)
		return out
	}
	f := p.Value.Fields()
	out.Size = f.Need("size", "its certified size, as in 75.004 mm").Figure(quantity.Length)
	out.Uncertainty, out.K = sheet.ReadCertified(f)
	f.Done()
	return out
}

func (r *reader) path(n document.Node) string {
	s := n.Text()
	if s == "" || filepath.IsAbs(s) {
		return s
	}
	return filepath.Join(r.folder, s)
}

// seconds reads a time as in 0.8 s or 300 ms.
func seconds(n document.Node, most time.Duration) time.Duration {
	s := n.Text()
	d, err := time.ParseDuration(strings.ReplaceAll(s, " ", ""))
	if err != nil || d < 0 || d > most {
		n.Fail("%q stands here: write a time from 0 s to %s, as in 0.8 s or 300 ms", s, most)
	}
	return d
}

func (r *reader) gauge(g document.Field) {
	f := g.Value.Fields()
	out := bench.Gauge{ID: g.Key, Kind: f.Need("kind", "its kind, as in depth gauge").Name()}
	if c := f.Get("counts"); c.Given() {
		out.CountsIn = c.OneOf("out", "in") == "in"
	}
	out.Limit = sheet.ReadLimit(f)
	p := f.Need("profile", "the name of one of the profiles")
	profile, ok := r.profiles[p.Name()]
	if !ok && p.Given() {
		p.Fail("%q is none of the profiles of this file", p.Name())
	}
	out.Profile = profile
	out.Find = r.port(g.Key, f.Need("port", "{usb serial: …} or {path: …}"))
	f.Done()
	r.out.Gauges = append(r.out.Gauges, out)
}

func (r *reader) port(gauge string, n document.Node) port.Find {
	if !n.Given() {
		return port.Find{}
	}
	f := n.Fields()
	var find port.Find
	if p := f.Get("path"); p.Given() {
		find.Path = r.path(p)
	}
	if u := f.Get("usb serial"); u.Given() {
		find.USBSerial = u.Text()
	}
	f.Done()
	if err := find.Check(); err != nil {
		n.Fail("%s", err)
	}
	key := find.Path + "\n" + find.USBSerial
	if other, ok := r.ports[key]; ok {
		n.Fail("this port carries %s already: one gauge a port", other)
	}
	r.ports[key] = gauge
	return find
}

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

func readProfile(field document.Field) devices.Profile {
	f := field.Value.Fields()
	p := devices.Defaults()
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
	if e := f.Get("end"); e.Given() {
		p.End = devices.End(e.Text())
		m.put(e, "end")
	}
	if a := f.Get("assume"); a.Given() {
		if u, err := quantity.ParseUnit(a.Text()); err != nil {
			a.Fail("%s", err)
		} else {
			p.Assume = u
		}
		m.put(a, "assume")
	}
	if w := f.Get("no number"); w.Given() {
		p.NoNumber = w.Names(20)
		m.put(w, "no number")
	}
	limits(f, &p, m)
	parts := f.Need("parts", "the parts of its line in order, as in [sign, figure]")
	m.put(parts, "parts")
	for i, item := range parts.List(40) {
		m.put(item, "parts", fmt.Sprint(i))
		if part := readPart(item); part != nil {
			p.Parts = append(p.Parts, part)
		}
	}
	f.Done()
	validate(field, p, m)
	return p
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

// validate lays the profile's own faults where their fields were written.
func validate(field document.Field, p devices.Profile, m marks) {
	var list devices.FieldErrors
	if !errors.As(p.Validate(), &list) {
		return
	}
	for _, e := range list {
		at, ok := m.at(e.Path)
		if !ok {
			at = field.At
		}
		field.Value.FailAt(at, "profile %q, %s", field.Key, e)
	}
}

// readPart reads one part: a word, or a map that begins with its word.
func readPart(n document.Node) devices.Part {
	if n.IsText() {
		switch n.OneOf("sign", "figure") {
		case "sign":
			return devices.Sign{}
		case "figure":
			return devices.Figure{}
		}
		return nil
	}
	f := n.Fields()
	first, ok := f.First()
	if !ok {
		n.Fail("an empty part: write sign, figure, or a map that begins with sign, figure, unit, flags, literal or skip")
		return nil
	}
	v := f.Get(first.Key)
	defer f.Done()
	switch first.Key {
	case "sign":
		s := v.OneOf("optional", "always", "blank for plus")
		return devices.Sign{Required: s == "always", Blank: s == "blank for plus"}
	case "figure":
		return readFigure(v)
	case "unit":
		return readUnits(v, f)
	case "flags":
		letters := map[string]devices.Flag{}
		for _, l := range v.Fields().All() {
			letters[l.Key] = map[string]devices.Flag{"battery low": devices.FlagBattery}[l.Value.OneOf("battery low", "nothing")]
		}
		return devices.Flags{Letters: letters}
	case "literal":
		return devices.Literal{Text: v.Text()}
	case "skip":
		return devices.Skip{Count: v.Whole(1, 64)}
	}
	n.Fail("%q is no part: write sign, figure, unit, flags, literal or skip", first.Key)
	return nil
}

func readFigure(n document.Node) devices.Part {
	f := n.Fields()
	var out devices.Figure
	if m := f.Get("mark"); m.Given() {
		out.Comma = m.OneOf("point", "comma") == "comma"
	}
	if d := f.Get("digits"); d.Given() {
		out.Digits = d.Whole(1, 18)
	}
	if p := f.Get("places"); p.Given() {
		places := p.Whole(0, 9)
		out.Places = &places
	}
	if p := f.Get("padded"); p.Given() {
		out.Padded = p.YesNo()
	}
	f.Done()
	return out
}

func readUnits(n document.Node, f *document.Fields) devices.Part {
	out := devices.UnitWord{Words: map[string]quantity.Unit{}}
	for _, w := range n.Fields().All() {
		u, err := quantity.ParseUnit(w.Value.Text())
		if err != nil {
			w.Value.Fail("%s", err)
		}
		out.Words[w.Key] = u
	}
	if o := f.Get("optional"); o.Given() {
		out.Optional = o.YesNo()
	}
	return out
}
