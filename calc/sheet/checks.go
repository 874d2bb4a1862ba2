package sheet

import (
	"maps"
	"slices"

	"shimwright/calc/document"
	"shimwright/calc/quantity"
	"shimwright/calc/remedy"
)

// check reads a check step; "what" says which keys it takes.
func (r *reader) check(s *Step, f *document.Fields) {
	r.name(s.Name, s.At)
	c := &Check{Each: 1}
	s.Check = c
	c.What = f.Need("what", "what is checked").OneOf(Backlash, TurningTorque, EndFloat, RunOut, Marking, Tightening)
	if c.What == "" {
		f.All() // which keys it may have is not known
		return
	}
	if of := f.Get("of"); of.Given() {
		c.Of = of.Names(12)
		r.later(of.Pos(), func() string { return r.ofFault(c.Of) })
	}
	if b := f.Get("before"); b.Given() {
		c.Before = b.Name()
		r.later(b.Pos(), func() string {
			if w, ok := r.sheet.WantedNamed(c.Before); !ok || w.SettingOf == "" || c.What != EndFloat {
				return "only an end float can be a setting as it was before: " + c.Before + " is no setting, or this is no end float"
			}
			return ""
		})
	}
	c.State = r.states(f.Get("state"))
	if c.What == Marking {
		r.marking(c, f)
		return
	}
	s.Gauge = f.Need("gauge", "the kind of gauge that is pressed").Name()
	switch c.What {
	case Backlash, RunOut:
		r.round(c, f)
	case TurningTorque:
		r.torque(c, f)
	case EndFloat:
		r.repeats(c, f, quantity.Length)
		r.band(c, f.Get("band"), quantity.Length)
	case Tightening:
		r.repeats(c, f, quantity.Torque)
		r.band(c, f.Need("band", "the torque limits"), quantity.Torque)
	}
}

// ofFault finds a name that is neither a wanted figure nor a shaft.
func (r *reader) ofFault(of []string) string {
	for _, name := range of {
		if _, ok := r.sheet.WantedNamed(name); ok {
			continue
		}
		if _, ok := r.sheet.ShaftNamed(name); ok {
			continue
		}
		return name + " is no wanted figure and no shaft of this sheet"
	}
	return ""
}

// repeats reads window, presses and agreement.
func (r *reader) repeats(c *Check, f *document.Fields, dim quantity.Dimension) {
	c.Window = f.Need("window", "the limits a press must keep").Band(dim)
	if p := f.Get("presses"); p.Given() {
		c.Each = p.Whole(1, 20)
	}
	if a := f.Get("agree"); a.Given() {
		c.Agree = above(a, dim)
	} else if c.Each > 1 && c.What != TurningTorque {
		f.Node().Fail("write agree: how far presses at one spot may lie apart")
	}
	if u := f.Get("uncertainty"); u.Given() {
		c.Uncertainty = notBelow(u, dim)
	}
}

func (r *reader) round(c *Check, f *document.Fields) {
	r.repeats(c, f, quantity.Length)
	points := f.Need("points", "the angles round the wheel, as in [0 deg, 90 deg, 180 deg, 270 deg]")
	for _, p := range points.List(72) {
		v := angle(p, 0, 360)
		if read(v, quantity.Angle) && slices.ContainsFunc(c.Points, func(o quantity.Value) bool { return o.Exact().Equal(v.Exact()) }) {
			p.Fail("the point %s stands here a second time", v)
		}
		c.Points = append(c.Points, v)
	}
	if points.Given() && len(c.Points) < 3 {
		points.Fail("%d points: three or more round the wheel are wanted", len(c.Points))
	}
	if sp := f.Get("spread"); sp.Given() {
		c.Spread = above(sp, quantity.Length)
	} else if c.What == RunOut {
		f.Node().Fail("write spread: the largest run-out allowed, highest less lowest")
	}
	if c.What == RunOut {
		if side := f.Get("read on"); side.Given() {
			c.ToothSide = side.OneOf("back face", "tooth side") == "tooth side"
		}
		return
	}
	r.band(c, f.Need("band", "the backlash limits"), quantity.Length)
	r.moveFactor(c, f.Get("move factor"))
	c.Reads = f.Need("reads", "normal (dial square to the flank) or transverse").OneOf("normal", "transverse")
}

func (r *reader) torque(c *Check, f *document.Fields) {
	r.repeats(c, f, quantity.Force)
	c.Housing = above(f.Need("cord runs on", "the diameter that the cord runs on, as in 152.40 mm"), quantity.Length)
	c.Cord = notBelow(f.Need("cord", "the diameter of the cord, as in 2.00 mm"), quantity.Length)
	if ro := f.Get("rough"); ro.Given() {
		if c.Rough = ro.Number(); c.Rough.Exact().Sign() <= 0 {
			ro.Fail("the roughness allowed is above nought, as in 0.25")
		}
	}
	r.band(c, f.Need("band", "the torque limits"), quantity.Torque)
	if seal := f.Get("seal drag"); seal.IsText() && seal.Name() == "measured" {
		c.SealMeasured = true
	} else if seal.Given() {
		c.SealDrag = above(seal, quantity.Torque)
	}
}

// band reads fixed limits, limits by the answer to a record, or as found.
func (r *reader) band(c *Check, n document.Node, dim quantity.Dimension) {
	if !n.Given() {
		return
	}
	if n.IsText() {
		b := n.Band(dim)
		c.Band = &Band{Fixed: &b}
		return
	}
	f := n.Fields()
	if found := f.Get("as found in"); found.Given() {
		c.Band = &Band{AsFound: found.Name()}
		f.Done()
		r.later(found.Pos(), func() string {
			return r.asFoundFault(c)
		})
		return
	}
	c.Band = &Band{ByAnswer: map[string]document.Band{}}
	record := f.Need("by", "the record whose answer chooses the limits")
	c.Band.Record = record.Name()
	for _, a := range f.All() {
		if a.Key != "by" {
			c.Band.ByAnswer[a.Key] = a.Value.Band(dim)
		}
	}
	r.later(record.Pos(), func() string { return r.answersFault(c.Band) })
}

// asFoundFault holds limits as found to an earlier check of backlash: only
// that one finds a lowest and a highest.
func (r *reader) asFoundFault(c *Check) string {
	steps := r.sheet.Steps()
	own := slices.IndexFunc(steps, func(s *Step) bool { return s.Check == c })
	if c.What != Backlash {
		return "only backlash is held to what was found: write the limits"
	}
	for _, s := range steps[:own] {
		if s.Name == c.Band.AsFound && s.Check != nil && s.Check.What == c.What {
			return ""
		}
	}
	return c.Band.AsFound + " is no earlier check of " + c.What
}

// answersFault holds a band by record to have limits for each answer.
func (r *reader) answersFault(b *Band) string {
	s, ok := r.sheet.Step(b.Record)
	if !ok || s.Record == nil || s.Record.Want != "one of" {
		return b.Record + " is no record that wants one of several answers"
	}
	for _, a := range s.Record.OneOf {
		if _, ok := b.ByAnswer[a]; !ok {
			return "no limits are given for the answer " + a + " of " + b.Record
		}
	}
	for _, a := range slices.Sorted(maps.Keys(b.ByAnswer)) {
		if !slices.Contains(s.Record.OneOf, a) {
			return a + " is no answer of " + b.Record
		}
	}
	return ""
}

func (r *reader) marking(c *Check, f *document.Fields) {
	c.Flanks = f.Need("flanks", "the flanks looked at, as in [drive, coast]").Names(4)
	c.Marks = f.Need("marks", "the words for what may be seen, as in [central, high, low, heel, toe]").Names(20)
	good := f.Need("good", "which of these words are good")
	c.Good = good.Names(20)
	for _, g := range c.Good {
		if !slices.Contains(c.Marks, g) {
			good.Fail("%q is none of the words under marks", g)
		}
	}
	if good.Given() && len(c.Good) == 0 {
		good.Fail("no word is good: write which of the marks are")
	}
	if f.Has("flanks") && len(c.Flanks) == 0 {
		f.Node().Fail("no flank is looked at: write flanks, as in [drive, coast]")
	}
	c.Each = 0
	c.Table = r.markTable(f)
}

// markTable reads what a marking asks for: rules of the sheet's own, before
// those of a table that comes with the program. Manuals differ, even on which
// gear is to move.
func (r *reader) markTable(f *document.Fields) remedy.MarkTable {
	table := remedy.CommonTable()
	if from := f.Get("rules from"); from.Given() && from.OneOf("common practice", "crosswise") == "crosswise" {
		table = remedy.CrosswiseTable()
	}
	if is := f.Get("flank is"); is.Given() {
		table.Alias = map[string]string{}
		for _, a := range is.Fields().All() {
			table.Alias[a.Key] = a.Value.OneOf("convex", "concave")
		}
	}
	list := f.Get("rules")
	var own []remedy.MarkRule
	for _, item := range list.List(60) {
		own = append(own, readMarkRule(item))
	}
	table.Rules = append(own, table.Rules...)
	if len(own) == 0 {
		return table
	}
	table.Name = "this sheet's rules"
	if err := table.Check(); err != nil {
		list.Fail("%s", err)
	}
	return table
}

// readMarkRule reads {when: {drive: heel}, move: {pinion: IN}, from: …}.
func readMarkRule(n document.Node) remedy.MarkRule {
	f := n.Fields()
	var out remedy.MarkRule
	for _, w := range f.Need("when", "what is seen, by flank, as in {drive: heel, coast: heel}").Fields().All() {
		out.When = append(out.When, remedy.Seen{Flank: w.Key, Mark: w.Value.Name()})
	}
	out.From = f.Need("from", "the manual and page it is from").Text()
	if mv := f.Get("move"); mv.Given() {
		m := mv.Fields()
		first, _ := m.First()
		out.Gear = first.Key
		switch first.Key {
		case "pinion":
			out.Way = map[string]int{"OUT": 1, "IN": -1}[m.Get("pinion").OneOf("IN", "OUT", "as pictured")]
		case "wheel":
			out.Way = map[string]int{"AWAY": 1, "TOWARD": -1}[m.Get("wheel").OneOf("TOWARD", "AWAY", "as pictured")]
		default:
			mv.Fail("write which gear goes which way, as in {pinion: IN}")
		}
		m.Done()
	}
	for _, l := range f.Get("look for").List(10) {
		out.Look = append(out.Look, l.Text())
	}
	f.Done()
	return out
}
