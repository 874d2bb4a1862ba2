package drawing

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"

	"shimwright/calc/network"
	"shimwright/calc/sheet"
	"shimwright/ui/draw"
)

// Layout of pages of words, in two columns.
const (
	columnGap  = 8.0
	columnWide = (pageWide - 2*margin - columnGap) / 2
)

// An entry is a head with lines under it, kept together.
type entry struct {
	head  string
	lines []string
}

// flow sets entries in two columns, over as many pages as they take.
func (b *builder) flow(title, note string, entries []entry) {
	if len(entries) == 0 {
		return
	}
	top := b.begin(title, note)
	x, y := margin, top
	for _, e := range entries {
		var lines []string
		for _, l := range e.lines {
			lines = append(lines, b.r.wrap(l, sizeText, columnWide-4)...)
		}
		const lineHigh = sizeText * pt * 1.3
		high := 6 + float64(len(lines))*lineHigh + 3
		if y > top && y+high > pageHigh-margin {
			x, y = x+columnWide+columnGap, top
			if x > pageWide-margin-columnWide+1 {
				top = b.begin(title, note)
				x, y = margin, top
			}
		}
		b.p.words(x, y+4, e.head, sizeHead, true, start)
		at := y + 4 + lineHigh + 0.8
		for _, l := range lines {
			b.p.words(x+4, at, l, sizeText, false, start)
			at += lineHigh
		}
		y += high
	}
}

// packs says of each pack where it goes, what it makes true and what one more of
// it does.
func (b *builder) packs() {
	var out []entry
	for _, st := range b.s.Steps() {
		if st.Pack != nil {
			out = append(out, b.pack(st))
		}
	}
	b.flow("packs", "What one more of a pack does follows from the faces: nobody typed it.", out)
}

func (b *builder) pack(st *sheet.Step) entry {
	p := st.Pack
	e := entry{head: draw.Visible(st.Name)}
	say := func(format string, args ...any) { e.lines = append(e.lines, fmt.Sprintf(format, args...)) }
	if p.Place != "" {
		say("Place: %s.", draw.Visible(p.Place))
	}
	if l, ok := b.s.Net.Length(p.Length); ok {
		say("From %s to %s.", draw.Visible(l.From), draw.Visible(l.To))
	}
	switch {
	case p.Before:
		say("Of the build before.")
	case p.Makes != "":
		say("Makes the %s%s.%s", draw.Visible(p.Makes), within(p), state(b.s, p.Makes))
	case p.SetBy != "":
		say("Set by the check %s, by trial.", draw.Visible(p.SetBy))
	}
	if p.Stock != "" {
		say("Made up from %s, %d to %d leaves.", draw.Visible(p.Stock), p.AtLeast, p.AtMost)
	}
	if !p.Before {
		e.lines = append(e.lines, b.effects(p)...)
	}
	return e
}

// within is how far a pack may be off; "" where the band of what it makes says so.
func within(p *sheet.Pack) string {
	if p.Within.Exact().IsZero() {
		return ""
	}
	return ", within " + p.Within.String()
}

// state says in which state of its shaft a wanted figure is to be true.
func state(s *sheet.Sheet, name string) string {
	w, ok := s.WantedNamed(name)
	if !ok || len(w.State) == 0 {
		return ""
	}
	var out []string
	for _, st := range w.State {
		out = append(out, draw.Visible(st.Shaft)+" "+draw.Visible(st.String()))
	}
	return " With the " + strings.Join(out, ", the ") + "."
}

// effects are what one more of a pack does, in every state of its shaft.
func (b *builder) effects(p *sheet.Pack) []string {
	shaft, ok := b.s.ShaftNamed(p.Shaft)
	if !ok {
		return []string{"One more moves no setting and no gear: it is of no shaft."}
	}
	row := func(when string, st network.State) string {
		r, err := b.s.Net.Row(p.Length, shaft.Name, st)
		if err != nil {
			return when + ": not worked out: " + draw.Visible(err.Error())
		}
		if len(shaft.Bearings) == 0 && shaft.Carries != "" {
			return when + ": " + network.MoveWords(shaft.Carries, r.Gear) + "."
		}
		return when + ": " + r.WordsFor(shaft.Carries) + "."
	}
	name := draw.Visible(shaft.Name)
	if len(shaft.Bearings) == 0 {
		return []string{row("One more, "+name, network.State{Shaft: shaft.Name})}
	}
	var out []string
	for _, bearing := range shaft.Bearings {
		when := fmt.Sprintf("One more, %s held against %s", name, draw.Visible(bearing.Name))
		out = append(out, row(when, network.State{Shaft: shaft.Name, How: network.HeldAgainst, Bearing: bearing.Name}))
	}
	return append(out, row("One more, "+name+" closed", network.State{Shaft: shaft.Name, How: network.Closed}))
}

// rest says what is marked, wanted and checked, and the order of work.
func (b *builder) rest() {
	var out []entry
	for _, st := range b.s.Steps() {
		switch {
		case st.Mark != nil:
			out = append(out, entry{draw.Visible(st.Name) + " (mark)", b.markLines(st.Mark)})
		case st.Check != nil:
			out = append(out, entry{draw.Visible(st.Name), b.checkLines(st.Check)})
		}
	}
	for _, w := range b.s.Wanted {
		if w.Given {
			out = append(out, entry{draw.Visible(w.Name) + " (wanted)", b.wantedLines(w)})
		}
	}
	for _, st := range b.s.Stages {
		var names []string
		for _, x := range st.Steps {
			names = append(names, draw.Visible(x.Name))
		}
		out = append(out, entry{"stage " + draw.Visible(st.Name), append([]string{strings.Join(names, "; ") + "."}, visible(st.Cautions)...)})
	}
	b.flow("marks, checks and the order of work", "", out)
}

func visible(lines []string) []string {
	var out []string
	for _, l := range lines {
		out = append(out, "CAUTION: "+draw.Visible(l))
	}
	return out
}

func (b *builder) markLines(m *sheet.Mark) []string {
	out := []string{fmt.Sprintf("Nominal %s.", m.Nominal)}
	if m.Digits != 0 {
		out = append(out, fmt.Sprintf("Its digits are in %s; plus is %s.", m.Digits, draw.Visible(m.Plus)))
	}
	if m.NilOK {
		out = append(out, "No mark means nought.")
	}
	if m.Before {
		out = append(out, "Of the build before.")
	}
	return out
}

func (b *builder) wantedLines(w sheet.Wanted) []string {
	unit, places := b.s.Unit, b.s.Places
	if w.Banded {
		return []string{fmt.Sprintf("From %s to %s; a preload is below nought.", w.Low.ShowUnit(unit, places), w.High.ShowUnit(unit, places))}
	}
	return []string{fmt.Sprintf("%s; a preload is below nought.", w.Aim.ShowUnit(unit, places))}
}

func (b *builder) checkLines(c *sheet.Check) []string {
	what := c.What
	if len(c.Of) > 0 {
		what += " of " + draw.Visible(strings.Join(c.Of, " and "))
	}
	out := []string{sentence(what)}
	if n := len(c.Points); n > 0 {
		var at []string
		for _, p := range c.Points {
			at = append(at, p.String())
		}
		out = append(out, fmt.Sprintf("At %s, %s each.", strings.Join(at, ", "), times(c.Each)))
	}
	if l := limits(c.Band); l != "" {
		out = append(out, l)
	}
	if c.Spread.Exact().Sign() > 0 {
		out = append(out, fmt.Sprintf("Spread at most %s.", c.Spread))
	}
	if len(c.Good) > 0 {
		out = append(out, "Good: "+draw.Visible(strings.Join(c.Good, ", "))+".")
	}
	return out
}

func limits(b *sheet.Band) string {
	switch {
	case b == nil:
		return ""
	case b.Fixed != nil:
		return fmt.Sprintf("Limits %s to %s.", b.Fixed.Low, b.Fixed.High)
	case b.AsFound != "":
		return "Limits as found at " + draw.Visible(b.AsFound) + "."
	}
	var out []string
	for _, answer := range slices.Sorted(maps.Keys(b.ByAnswer)) {
		band := b.ByAnswer[answer]
		out = append(out, fmt.Sprintf("%s %s to %s", draw.Visible(answer), band.Low, band.High))
	}
	return "Limits by " + draw.Visible(b.Record) + ": " + strings.Join(out, "; ") + "."
}

// known writes as a code what the typeface has no sign for.
func known(s string) string {
	if !strings.ContainsFunc(s, func(r rune) bool { return r >= 0x7f }) {
		return s
	}
	f, err := sfnt.Parse(goregular.TTF)
	if err != nil {
		return s
	}
	var buf sfnt.Buffer
	var b strings.Builder
	for _, r := range s {
		if i, err := f.GlyphIndex(&buf, r); err != nil || i == 0 {
			fmt.Fprintf(&b, "<U+%04X>", r)
			continue
		}
		b.WriteRune(r)
	}
	return b.String()
}
