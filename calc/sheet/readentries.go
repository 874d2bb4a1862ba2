package sheet

import (
	"fmt"
	"slices"
	"strings"

	"shimwright/calc/document"
	"shimwright/calc/quantity"
)

// maxEntries bounds how many entries one file may hold.
const maxEntries = 5000

// ReadEntries decodes a readings file for a sheet. The error joins all faults,
// each a *document.Fault with file, line and column.
func ReadEntries(s *Sheet, file string, text []byte) (Entries, error) {
	top, doc, err := document.Parse(file, text)
	if err != nil {
		return Entries{}, err
	}
	f := top.Fields()
	readingsFor(s, f)
	e := readEntries(s, f)
	f.Done()
	return e, doc.Err()
}

func readingsFor(s *Sheet, f *document.Fields) {
	if id := f.Need("readings for", "the name of the sheet they belong to, here "+s.ID); id.Given() && id.Name() != s.ID {
		id.Fail("these are readings for %q, and the sheet is %q", id.Name(), s.ID)
	}
}

func readExample(s *Sheet, n document.Node) *Example {
	f := n.Fields()
	ex := &Example{Entries: readEntries(s, f)}
	for _, g := range f.Need("gives", "the packs that the example must give, as in {pinion pack: 1.370 mm}").Fields().All() {
		st, ok := s.Step(g.Key)
		if !ok || st.Pack == nil || st.Pack.Before || st.Pack.Makes == "" {
			g.Value.Fail("%q is no pack that this sheet works out", g.Key)
			continue
		}
		ex.Gives = append(ex.Gives, Given{g.Key, g.Value.Figure(quantity.Length), g.At})
	}
	f.Done()
	return ex
}

// readEntries reads pieces, gauges, stock and the list of entries.
func readEntries(s *Sheet, f *document.Fields) Entries {
	f.Need("entries", "what was put in, step by step")
	return readEntriesOver(s, f, Entries{})
}

// readEntriesOver reads entries that may speak of another job's pieces and
// gauges.
func readEntriesOver(s *Sheet, f *document.Fields, under Entries) Entries {
	e := Entries{Simple: under.Simple, Pieces: over(map[string]Piece{}, under.Pieces),
		Gauges: over(map[string]Gauge{}, under.Gauges), Trays: over(map[string][]Leaf{}, under.Trays)}
	if a := f.Get("acceptance"); a.Given() {
		e.Simple = a.OneOf("guarded", "simple") == "simple"
	}
	for _, p := range f.Get("pieces").Fields().All() {
		e.Pieces[p.Key] = readPiece(s, p)
	}
	for _, g := range f.Get("gauges").Fields().All() {
		e.Gauges[g.Key] = readGauge(g)
	}
	e.Temperatures = readTemperatures(f.Get("temperatures"))
	for _, t := range f.Get("stock").Fields().All() {
		e.Trays[t.Key] = ReadTray(t.Value)
	}
	e.Earlier = readEarlier(s, f.Get("earlier"))
	for _, item := range f.Get("entries").List(maxEntries) {
		e.List = append(e.List, readItem(s, &e, item)...)
	}
	return e
}

func readPiece(s *Sheet, p document.Field) Piece {
	f := p.Value.Fields()
	out := Piece{ID: p.Key}
	role := f.Need("standard", "the standard of the sheet that it stands for")
	out.Standard = role.Name()
	if _, ok := s.StandardNamed(out.Standard); !ok && role.Given() {
		role.Fail("%q is no standard of sheet %s", out.Standard, s.ID)
	}
	out.Size = above(f.Need("size", "its certified size, as in 75.004 mm"), quantity.Length)
	out.Uncertainty, out.K = ReadCertified(f)
	f.Done()
	return out
}

func readGauge(g document.Field) Gauge {
	f := g.Value.Fields()
	out := Gauge{ID: g.Key, Kind: f.Need("kind", "its kind, as in depth gauge").Name()}
	if c := f.Get("counts"); c.Given() {
		out.CountsIn = c.OneOf("out", "in") == "in"
	}
	out.Limit = ReadLimit(f)
	out.Corrections = readCorrections(f.Get("corrections"))
	out.Checks = readChecks(f.Get("checks"), out.Limit)
	f.Done()
	return out
}

// ReadCertified reads the uncertainty of a certificate with its coverage
// factor; nil where none is written.
func ReadCertified(f *document.Fields) (u, k *quantity.Value) {
	n := f.Get("uncertainty")
	factor := f.Get("k")
	switch {
	case !n.Given() && factor.Given():
		factor.Fail("a coverage factor goes with an uncertainty: write uncertainty too, or take this away")
		return nil, nil
	case !n.Given():
		return nil, nil
	case !factor.Given():
		n.Fail("write k: the coverage factor that the certificate states, as in 2")
		return nil, nil
	}
	uncertainty, cover := above(n, quantity.Length), factor.Number()
	if cover.Exact().Sign() <= 0 {
		factor.Fail("a coverage factor is above nought, as in 2")
	}
	return &uncertainty, &cover
}

// ReadLimit reads a gauge's limit of error; nil where none is written.
func ReadLimit(f *document.Fields) *quantity.Value {
	n := f.Get("limit of error")
	if !n.Given() {
		return nil
	}
	v := n.Quantity()
	if v.Exact().Sign() <= 0 {
		n.Fail("a limit of error is above nought, as in 0.02 mm")
	}
	return &v
}

// ReadTray reads stock: [{leaf: 0.30 mm, count: 10}, …].
func ReadTray(n document.Node) []Leaf {
	var out []Leaf
	for _, item := range n.List(maxItems) {
		f := item.Fields()
		l := Leaf{
			Size:  above(f.Need("leaf", "its thickness, as in 0.30 mm"), quantity.Length),
			Count: f.Need("count", "how many there are").Whole(0, 10000),
		}
		f.Done()
		if l.Size.Exact().Sign() > 0 {
			out = append(out, l)
		}
	}
	return out
}

// item is one entry of the list while it is read.
type item struct {
	sheet   *Sheet
	entries *Entries
	step    *Step
	fields  *document.Fields
	base    Entry
}

// readItem reads one item of the list: one entry, or several presses.
func readItem(s *Sheet, e *Entries, n document.Node) []Entry {
	f := n.Fields()
	name := f.Need("step", "the step this was put in at")
	st, ok := s.Step(name.Name())
	if !ok {
		if name.Given() {
			name.Fail("%q is no step of sheet %s%s", name.Name(), s.ID, nearest(s, name.Name()))
		}
		return nil
	}
	it := item{s, e, st, f, Entry{At: n.Pos(), Step: st.Name}}
	out := it.read()
	f.Done()
	return out
}

func nearest(s *Sheet, name string) string {
	for _, st := range s.Steps() {
		if strings.EqualFold(st.Name, name) || strings.Contains(st.Name, name) {
			return fmt.Sprintf(": did you mean %q?", st.Name)
		}
	}
	return ""
}

func (it item) read() []Entry {
	if a := it.fields.Get("again"); a.Given() || it.fields.Has("again") {
		it.base.Kind, it.base.Text = EntryAgain, a.Text()
		return []Entry{it.base}
	}
	if m := it.fields.Get("metal changed"); m.Given() {
		return it.metal(m)
	}
	switch it.step.Kind {
	case KindMark:
		return it.mark()
	case KindMeasure:
		return it.presses(quantity.Length)
	case KindPack:
		return it.fit()
	case KindRecord:
		return it.answer()
	case KindConfirm:
		if d := it.fields.Need("done", "yes"); d.YesNo() {
			it.base.Kind = EntryDone
			return []Entry{it.base}
		}
		return nil
	}
	if mv := it.fields.Get("move"); mv.Given() {
		return it.move(mv)
	}
	if seal := it.fields.Get("seal"); seal.Given() {
		return it.seal(seal)
	}
	switch it.step.Check.What {
	case Marking:
		return it.seen()
	case TurningTorque:
		return it.presses(quantity.Force)
	case Tightening:
		return it.presses(quantity.Torque)
	}
	return it.presses(quantity.Length)
}

func (it item) metal(n document.Node) []Entry {
	it.base.Kind = EntryMetal
	if it.base.Lengths = n.Names(20); len(it.base.Lengths) == 0 {
		n.Fail("write which lengths' metal was changed, as in [casing depth]")
	}
	for _, l := range it.base.Lengths {
		if _, ok := it.sheet.Net.Length(l); !ok {
			n.Fail("%q is no length of sheet %s", l, it.sheet.ID)
		}
	}
	it.base.Text = it.fields.Need("reason", "what was done").Text()
	return []Entry{it.base}
}

func (it item) mark() []Entry {
	m := it.step.Mark
	if a := it.fields.Get("absent"); a.Given() && a.YesNo() {
		if !m.NilOK {
			a.Fail("the sheet does not say that an absent mark means nought: look again, or ask the lead")
		}
		it.base.Kind = EntryAbsent
		return []Entry{it.base}
	}
	if m.Absolute {
		it.base.Kind = EntryFigure
		it.base.Value = it.fields.Need("figure", "the figure marked, with its unit").Figure(quantity.Length)
		return []Entry{it.base}
	}
	it.base.Kind = EntryDigits
	it.base.Value = it.fields.Need("digits", "the digits of the mark, as in +8").Number().In(m.Digits)
	return []Entry{it.base}
}

func (it item) answer() []Entry {
	it.base.Kind = EntryAnswer
	n := it.fields.Need("answer", "what was found")
	switch r := it.step.Record; r.Want {
	case "one of":
		it.base.Text = n.OneOf(r.OneOf...)
	case "number":
		it.base.Text = n.Number().Digits()
	default:
		it.base.Text = n.Text()
	}
	return []Entry{it.base}
}

func (it item) fit() []Entry {
	if k := it.fields.Get("keep backlash"); k.Given() {
		return it.keepBacklash(k)
	}
	var pressed []Entry
	if it.fields.Has("presses") {
		pressed = it.presses(quantity.Length)
		if it.step.Pack.Presses == 0 {
			it.fields.Node().Fail("the sheet gives this pack no gauge, so it is not measured by presses: write fit: {measured: …}")
		}
		if !it.fields.Has("fit") {
			return pressed
		}
	}
	n := it.fields.Need("fit", "the pack fitted, as in {measured: 1.35 mm} or {leaves: [1.00 mm, 0.35 mm]}")
	it.base.Kind = EntryFit
	if n.IsText() {
		n.OneOf("as pressed")
		if len(pressed) == 0 && it.step.Pack.Presses == 0 {
			n.Fail("nothing was pressed over this pack: write its measured figure or its leaves")
		}
		return append(pressed, it.base)
	}
	f := n.Fields()
	for _, l := range f.Get("leaves").List(60) {
		it.base.Leaves = append(it.base.Leaves, above(l, quantity.Length))
	}
	if m := f.Get("measured"); m.IsList() {
		for _, v := range m.List(12) {
			it.base.Measured = append(it.base.Measured, notBelow(v, quantity.Length))
		}
	} else if m.Given() {
		it.base.Measured = []quantity.Value{notBelow(m, quantity.Length)}
	}
	f.Done()
	if n.Given() && len(it.base.Leaves) == 0 && len(it.base.Measured) == 0 && len(pressed) == 0 {
		n.Fail("write measured, leaves, or both: no pack at all is measured: 0.00 mm")
	}
	return append(pressed, it.base)
}

func (it item) seen() []Entry {
	c := it.step.Check
	it.base.Kind, it.base.Seen = EntrySeen, map[string]string{}
	f := it.fields.Need("seen", "what was seen on each flank").Fields()
	for _, flank := range c.Flanks {
		it.base.Seen[flank] = f.Need(flank, "one of "+strings.Join(c.Marks, ", ")).OneOf(c.Marks...)
	}
	f.Done()
	return []Entry{it.base}
}

// move reads {pinion: IN, by: 0.15 mm}; a longer distance is above nought.
func (it item) move(n document.Node) []Entry {
	f := n.Fields()
	first, _ := f.First()
	it.base.Kind = EntryMove
	it.base.Gear = first.Key
	var longer bool
	switch first.Key {
	case "pinion":
		longer = f.Get("pinion").OneOf("IN", "OUT") == "OUT"
	case "wheel":
		longer = f.Get("wheel").OneOf("TOWARD", "AWAY") == "AWAY"
	default:
		n.Fail("write which gear is moved and which way first, as in {pinion: IN, by: 0.15 mm}")
		f.All()
		return nil
	}
	// The word says which way, so that how far has no sign.
	v := notBelow(f.Need("by", "how far, as in 0.15 mm"), quantity.Length)
	f.Done()
	if !slices.ContainsFunc(it.sheet.Shafts, func(s Shaft) bool { return s.Carries == first.Key }) {
		n.Fail("no shaft of sheet %s carries a %s", it.sheet.ID, first.Key)
	}
	it.base.Value = v
	if !longer {
		it.base.Value = v.Neg()
	}
	return []Entry{it.base}
}
