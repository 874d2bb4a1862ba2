package sheet

import (
	"shimwright/calc/document"
	"shimwright/calc/network"
	"shimwright/calc/quantity"
)

// step reads one step; its first key says its kind and its name.
func (r *reader) step(n document.Node, stage string) *Step {
	f := n.Fields()
	first, ok := f.First()
	if !ok {
		return nil
	}
	s := &Step{Kind: Kind(first.Key), Stage: stage, At: first.At}
	read := map[Kind]func(*Step, *document.Fields){
		KindMark:    r.mark,
		KindMeasure: r.measure,
		KindPack:    r.pack,
		KindCheck:   r.check,
		KindRecord:  r.record,
		KindConfirm: func(s *Step, _ *document.Fields) { r.name(s.Name, s.At) },
	}[s.Kind]
	if read == nil {
		r.doc.Fail(first.At, "%q is no kind of step: begin it with mark, measure, pack, check, record or confirm and its name", first.Key)
		return nil
	}
	s.Name = f.Get(first.Key).Name()
	if say := f.Get("say"); say.Given() {
		s.Say = say.Text()
	} else if s.Kind == KindConfirm {
		n.Fail("write say: what is to be confirmed")
	}
	read(s, f)
	r.gates(s, f)
	f.Done()
	return s
}

// speaksOf names the length a step gives: its own, with faces of its own, or
// that of the build before.
func (r *reader) speaksOf(s *Step, f *document.Fields, kinds map[string]network.Kind) (length string, before bool) {
	if b := f.Get("before"); b.Given() {
		r.name(s.Name, s.At)
		length = b.Name()
		r.later(b.Pos(), func() string {
			if _, ok := r.sheet.Net.Length(length); ok {
				return ""
			}
			if _, ok := r.sheet.WantedNamed(length); ok {
				return ""
			}
			return length + " is no length and no wanted figure of this sheet"
		})
		return length, true
	}
	var keys []string
	for _, key := range []string{"wanted", "found", "as check", "between"} {
		kind, may := kinds[key]
		if !may {
			continue
		}
		keys = append(keys, key)
		if faces := f.Get(key); faces.Given() {
			r.length(s.Name, s.At, faces, kind)
			return s.Name, false
		}
	}
	r.name(s.Name, s.At)
	f.Node().Fail("write %s: the two faces this runs between, as in [first face, later face], or before: the length it was", keys[0])
	return s.Name, false
}

func (r *reader) mark(s *Step, f *document.Fields) {
	m := &Mark{}
	s.Mark = m
	notLength := f.Has("plus") && f.Get("plus").Given() && !f.Has("wanted") && !f.Has("found") && !f.Has("as check") && !f.Has("before")
	if notLength {
		r.name(s.Name, s.At)
	} else {
		m.Length, m.Before = r.speaksOf(s, f, map[string]network.Kind{"wanted": network.Wanted, "found": network.Found, "as check": network.Check})
	}
	if f.Has("wanted") {
		w := Wanted{Name: s.Name, At: s.At, State: r.states(f.Get("state"))}
		r.sheet.Wanted = append(r.sheet.Wanted, w)
	}
	if m.AsCheck = f.Has("as check"); m.AsCheck {
		m.Closes = above(f.Need("closes within", "how far this may lie from what the loop predicts"), quantity.Length)
	}
	r.markDigits(m, f, notLength)
	if a := f.Get("absent"); a.Given() {
		m.NilOK = a.OneOf("means nought", "not allowed") == "means nought"
	}
}

func (r *reader) markDigits(m *Mark, f *document.Fields, notLength bool) {
	if n := f.Get("nominal"); n.Given() {
		m.Nominal = n.Figure(quantity.Length)
	} else if !notLength {
		f.Node().Fail("write nominal: the figure of the drawing that the mark corrects")
	}
	digits := f.Need("digits", "the unit of the mark's digits, as in 0.01 mm or thou, or the figure itself")
	if digits.Given() && digits.Text() == "the figure itself" {
		m.Absolute = true
		if f.Has("plus") {
			f.Get("plus").Fail("a mark that gives the figure itself has no plus: take this away")
		}
		return
	}
	m.Digits = digits.Unit(quantity.Length)
	m.Plus = f.Need("plus", "what a plus means: longer, shorter or not a length").OneOf("longer", "shorter", "not a length")
	if !notLength && m.Plus == "not a length" {
		f.Get("plus").Fail("a mark that is not a length runs between no faces: take the faces away")
	}
}

func (r *reader) measure(s *Step, f *document.Fields) {
	m := &Measure{}
	s.Measure = m
	m.Length, m.Before = r.speaksOf(s, f, map[string]network.Kind{"found": network.Found, "as check": network.Check})
	m.AsCheck = f.Has("as check")
	m.Setup = readSetup(f.Need("setup", "direct, or how the length is got from the reading, as in {height: [tall posts, straightedge]}"))
	at := f.Node().Pos()
	r.later(at, func() string { return r.setupFault(m.Setup) })
	s.Gauge = f.Need("gauge", "the kind of gauge, as in depth gauge").Name()
	m.Window = f.Need("window", "the limits a press must keep, as in 31.90 mm .. 34.90 mm").Band(quantity.Length)
	m.Presses = f.Need("presses", "how many presses make the figure").Whole(1, 20)
	m.Agree = above(f.Need("agree", "how far the presses may lie apart, as in 0.02 mm"), quantity.Length)
	if w := f.Get("worked"); w.Given() {
		b := w.Band(quantity.Length)
		m.Worked = &b
	}
	if a := f.Get("ask in"); a.Given() {
		m.AskIn = a.Names(6)
		r.later(a.Pos(), func() string { return r.packsFault(m.AskIn) })
	}
	r.material(m, f.Get("material"))
	if p := f.Get("plus"); p.Given() {
		m.Plus = p.Text()
	} else if m.mayBeNegative() {
		f.Node().Fail("the figure may come out on either side of nought: write plus: what a figure above nought means, as in the race stands proud")
	}
	if c := f.Get("closes within"); c.Given() {
		m.Closes = above(c, quantity.Length)
		if !m.AsCheck {
			c.Fail("only a length found as check closes a loop: take this away or write as check in place of found")
		}
	} else if m.AsCheck {
		f.Node().Fail("write closes within: how far this may lie from what the loop predicts")
	}
}

// material reads what the part measured is made of, where that is not what the
// sheet says of all.
func (r *reader) material(m *Measure, n document.Node) {
	if !n.Given() {
		return
	}
	own := readMaterial(n)
	m.Material = &own
	if r.sheet.Materials == nil {
		n.Fail("the standards' material is needed too: write materials: {part: …, standards: …} at the head of the sheet")
	}
}

// mayBeNegative tells whether the length measured may be of either sign, by
// its plausible figure or, measured directly, by its window.
func (m *Measure) mayBeNegative() bool {
	if m.Worked != nil {
		return m.Worked.Low.Exact().Sign() < 0
	}
	return m.Setup.Name == "direct" && m.Window.Low.Exact().Sign() < 0
}

func (r *reader) setupFault(s Setup) string {
	for _, name := range s.Standards() {
		if _, ok := r.sheet.StandardNamed(name); !ok {
			return "the setup uses " + name + ", which is no standard of this sheet: list it under standards with its nominal size"
		}
	}
	return ""
}

func (r *reader) packsFault(names []string) string {
	for _, name := range names {
		if l, ok := r.sheet.Net.Length(name); !ok || l.Kind != network.Pack {
			return name + " is no pack of this sheet"
		}
	}
	return ""
}

func (r *reader) pack(s *Step, f *document.Fields) {
	p := &Pack{AtMost: 12}
	s.Pack = p
	p.Length, p.Before = r.speaksOf(s, f, map[string]network.Kind{"between": network.Pack})
	r.pressedPack(s, f)
	if p.Before {
		return
	}
	r.place(p, f.Need("place", "where the pack is fitted, in workshop words"))
	r.makes(p, f)
	if w := f.Get("within"); w.Given() {
		p.Within = above(w, quantity.Length)
	}
	if st := f.Get("stock"); st.Given() {
		p.Stock = st.Name()
	}
	r.leafRules(p, f.Get("leaves"))
	if rg := f.Get("range"); rg.Given() {
		b := rg.Band(quantity.Length)
		p.Range = &b
	}
	if w := f.Get("worked by"); w.Given() {
		p.ByChange = w.OneOf("loop", "change") == "change"
	}
	if c := f.Get("checked by"); c.Given() {
		p.CheckBy = true
		if other := c.OneOf("loop", "change"); (other == "change") == p.ByChange {
			c.Fail("a pack is not checked by the way it is worked: write the other one")
		}
		p.Closes = above(f.Need("closes within", "how far the two ways may lie apart"), quantity.Length)
	}
}

// pressedPack reads how a pack is measured by presses before it is fitted.
func (r *reader) pressedPack(s *Step, f *document.Fields) {
	gauge := f.Get("gauge")
	if !gauge.Given() {
		return
	}
	p := s.Pack
	s.Gauge = gauge.Name()
	p.Window = f.Need("window", "the limits a press over the pack must keep").Band(quantity.Length)
	p.Presses = f.Need("presses", "how many places the pack is measured at").Whole(1, 12)
	p.Agree = above(f.Need("agree", "how far the presses may lie apart"), quantity.Length)
}

func (r *reader) makes(p *Pack, f *document.Fields) {
	makes, setBy := f.Get("makes"), f.Get("set by")
	switch {
	case makes.Given() && setBy.Given():
		setBy.Fail("a pack is worked from what it makes, or set by a check, not both")
	case makes.Given():
		p.Makes = makes.Name()
		r.later(makes.Pos(), func() string { return r.makesFault(p) })
	case setBy.Given():
		p.SetBy = setBy.Name()
		if g := f.Get("graded in"); g.Given() {
			p.Graded = above(g, quantity.Length)
		}
		if m := f.Get("at once"); m.Given() {
			p.AtOnce = above(m, quantity.Length)
		}
		r.later(setBy.Pos(), func() string {
			if c, ok := r.sheet.Step(p.SetBy); !ok || c.Check == nil {
				return p.SetBy + " is no check of this sheet"
			}
			return ""
		})
	default:
		f.Node().Fail("write makes: the wanted figure that this pack makes true, or set by: the check that it is set by")
	}
	if sh := f.Get("shaft"); sh.Given() {
		p.Shaft = sh.Name()
		r.later(sh.Pos(), func() string {
			if _, ok := r.sheet.ShaftNamed(p.Shaft); !ok {
				return p.Shaft + " is no shaft of this sheet"
			}
			return ""
		})
	} else if setBy.Given() && !makes.Given() {
		f.Node().Fail("write shaft: the shaft that this pack sets")
	}
}

// makesFault finds what a pack makes and, with it, whose row the place states.
func (r *reader) makesFault(p *Pack) string {
	w, ok := r.sheet.WantedNamed(p.Makes)
	if !ok {
		return p.Makes + " is no wanted figure of this sheet"
	}
	if p.Shaft != "" {
		return ""
	}
	if w.SettingOf != "" {
		p.Shaft = w.SettingOf
	} else if s, ok := r.sheet.ShaftOfGear(w.Name); ok {
		p.Shaft = s.Name
	}
	return ""
}

func (r *reader) leafRules(p *Pack, n document.Node) {
	if !n.Given() {
		return
	}
	f := n.Fields()
	if v := f.Get("at least"); v.Given() {
		p.AtLeast = v.Whole(1, 20)
	}
	if v := f.Get("at most"); v.Given() {
		p.AtMost = v.Whole(1, 40)
	}
	if v := f.Get("thinnest"); v.Given() {
		p.Outside = v.OneOf("outside", "anywhere") == "outside"
	}
	f.Done()
	if p.AtLeast > p.AtMost {
		n.Fail("at least %d leaves and at most %d: no pack can be both", p.AtLeast, p.AtMost)
	}
}

// place reads a known place, or a row stated in words.
func (r *reader) place(p *Pack, n document.Node) {
	if !n.Given() {
		return
	}
	if n.IsText() {
		p.Place = n.Text()
		own, err := network.PlaceNamed(p.Place)
		if err != nil {
			n.Fail("%s", err)
		}
		p.Own = own
		return
	}
	f := n.Fields()
	p.Place = f.Need("words", "the place in workshop words").Text()
	p.Own = network.Place{Name: p.Place}
	setting := f.Need("one more is", "looser, tighter or no change to the setting").OneOf("looser", "tighter", "no change")
	p.Own.Float = map[string]int{"looser": 1, "tighter": -1}[setting]
	gear := f.Need("gear goes", "away, toward or nowhere; out and in for a pinion").OneOf("away", "out", "toward", "in", "nowhere")
	p.Own.Gear = map[string]int{"away": 1, "out": 1, "toward": -1, "in": -1}[gear]
	if a := f.Get("held against"); a.Given() {
		p.Own.Against = a.Name()
	}
	f.Done()
}

func (r *reader) record(s *Step, f *document.Fields) {
	r.name(s.Name, s.At)
	rec := &Record{Want: "text"}
	s.Record = rec
	if w := f.Get("want"); w.Given() {
		if w.IsList() {
			if rec.Want, rec.OneOf = "one of", w.Names(20); len(rec.OneOf) < 2 {
				w.Fail("write two answers or more to choose from, or want: text")
			}
		} else {
			rec.Want = w.OneOf("text", "number")
		}
	}
	if e := f.Get("must equal"); e.Given() {
		rec.Equal = e.Name()
		r.later(e.Pos(), func() string {
			if o, ok := r.sheet.Step(rec.Equal); !ok || o.Record == nil || o == s {
				return rec.Equal + " is no other record of this sheet"
			}
			return ""
		})
	}
}
