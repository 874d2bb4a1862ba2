package sheet

import (
	"fmt"
	"slices"
	"strings"

	"shimwright/calc/document"
	"shimwright/calc/network"
)

// build makes the network and holds the whole sheet to it.
func (r *reader) build() {
	if r.doc.Err() != nil {
		return
	}
	net, problems := network.Build(r.spec)
	for _, p := range problems {
		at, ok := r.sheet.at[p.Subject]
		if !ok {
			at = document.Pos{Line: 1, Column: 1}
		}
		r.doc.Fail(at, "%s", p.Message)
	}
	if len(problems) > 0 {
		return
	}
	r.sheet.Net = net
	for _, p := range r.pending {
		if wrong := p.check(); wrong != "" {
			r.doc.Fail(p.at, "%s", wrong)
		}
	}
	if r.doc.Err() != nil {
		return
	}
	for _, s := range r.sheet.Steps() {
		if s.Pack != nil && !s.Pack.Before {
			r.holdPlace(s)
			r.holdLoop(s)
		}
	}
	for _, w := range r.sheet.Wanted {
		r.holdStates(w)
		r.holdMade(w)
	}
	r.holdChecks()
}

// RowState is the state in which a place's row is worked: held against the
// pack's own bearing, or the head bearing.
func (p *Pack) RowState(shaft Shaft) network.State {
	if p.Own.Against == "" || len(shaft.Bearings) == 0 {
		return network.State{Shaft: shaft.Name}
	}
	return network.State{Shaft: shaft.Name, How: network.HeldAgainst, Bearing: p.Own.Against}
}

// holdPlace refuses a pack whose place says other than its faces do.
func (r *reader) holdPlace(s *Step) {
	p := s.Pack
	shaft, ok := r.sheet.ShaftNamed(p.Shaft)
	if !ok {
		if p.Own.Float != 0 || p.Own.Gear != 0 {
			r.doc.Fail(s.At, "the place %q states a row, and %s belongs to no shaft: write shaft: the shaft it works on", p.Place, s.Name)
		}
		return
	}
	if p.Own.NoGear && shaft.Gear != "" {
		r.doc.Fail(s.At, "the place %q is one of a shaft without a bevel gear, and %s carries the %s: write a place of that gear", p.Place, shaft.Name, shaft.Carries)
		return
	}
	row, err := r.sheet.Net.Row(p.Length, shaft.Name, p.RowState(shaft))
	if err != nil {
		r.doc.Fail(s.At, "the row of %s cannot be worked: %s", s.Name, err)
		return
	}
	if len(shaft.Bearings) == 0 && p.Own.Float != 0 {
		r.doc.Fail(s.At, "the place %q makes the setting %s, and %s has no touches: give it its two bearings, or write the place's row in words",
			p.Place, floatWord(p.Own.Float), shaft.Name)
		return
	}
	if !p.Own.Agrees(row) {
		r.doc.Fail(s.At, "the place and the faces disagree. One more %s makes it: %s. One more between %s makes it: %s. Either the place is another one or the two faces are the wrong way round on their axis",
			p.Place, p.Own.Row().WordsFor(shaft.Carries), r.between(p.Length), row.WordsFor(shaft.Carries))
		return
	}
	r.holdOtherRow(s, shaft)
}

// holdOtherRow holds a known place to what it does with the shaft held against
// the other bearing: that tells a spacer between inner races from one between
// outer races.
func (r *reader) holdOtherRow(s *Step, shaft Shaft) {
	p := s.Pack
	other := p.Own.Other()
	if _, err := network.PlaceNamed(p.Place); err != nil || other == "" || len(shaft.Bearings) == 0 {
		return
	}
	// A gear measured with its bearings built crosses no touch: then it cannot
	// be told, and need not be.
	if _, err := r.sheet.Net.Position(shaft.Gear); err == nil {
		return
	}
	row, err := r.sheet.Net.Row(p.Length, shaft.Name, network.State{Shaft: shaft.Name, How: network.HeldAgainst, Bearing: other})
	if err != nil {
		r.doc.Fail(s.At, "the row of %s with the shaft held against the %s bearing cannot be worked: %s", s.Name, other, err)
		return
	}
	if !p.Own.AgreesElse(row) {
		r.doc.Fail(s.At, "the place and the faces disagree once the shaft is held against the %s bearing: there one more between %s makes it: %s. Is the race that rests on the shoulder the other one?",
			other, r.between(p.Length), row.WordsFor(shaft.Carries))
	}
}

func floatWord(f int) string {
	if f > 0 {
		return "looser"
	}
	return "tighter"
}

func (r *reader) between(length string) string {
	l, ok := r.sheet.Net.Length(length)
	if !ok {
		return length
	}
	return l.From + " and " + l.To
}

// Target is the form of the figure that a pack makes true: a position in the
// wanted figure's state, or a shaft's setting.
func (s *Sheet) Target(w Wanted) (network.Form, error) {
	if w.SettingOf != "" {
		return s.Net.Setting(w.SettingOf)
	}
	return s.Net.Position(w.Name, w.State...)
}

// holdLoop refuses a pack whose loop cannot be solved when its step is
// reached: not on the loop, another pack that comes later, a figure that
// nothing gives.
func (r *reader) holdLoop(s *Step) {
	if s.Pack.Makes == "" {
		return
	}
	w, _ := r.sheet.WantedNamed(s.Pack.Makes)
	form, err := r.sheet.Target(w)
	if err != nil {
		r.doc.Fail(s.At, "%s cannot be worked: %s", s.Name, err)
		return
	}
	loop, err := network.Solve(form, s.Pack.Length)
	if err != nil {
		r.doc.Fail(s.At, "%s is said to make %s: %s", s.Name, w.Name, err)
		return
	}
	for _, t := range loop.Rest.Lengths {
		r.holdTerm(s, w, t.Name)
	}
	if r.usesChange(s.Pack) {
		r.holdChange(s, w)
	}
}

func (r *reader) usesChange(p *Pack) bool { return p.ByChange || p.CheckBy }
func (r *reader) usesLoop(p *Pack) bool   { return !p.ByChange || p.CheckBy }

func (r *reader) holdTerm(s *Step, w Wanted, name string) {
	l, _ := r.sheet.Net.Length(name)
	giver := r.giver(name)
	switch {
	case giver == nil && r.usesLoop(s.Pack):
		r.doc.Fail(s.At, "the loop of %s, which makes %s, needs %q, which is drawn and not measured: give it a step, or write worked by: change", s.Name, w.Name, name)
	case giver != nil && l.Kind == network.Pack && r.after(giver, s):
		r.doc.Fail(s.At, "the loop of %s holds two packs that are not yet set, itself and %s: only their sum follows. Put the step of %s first", s.Name, name, name)
	case giver != nil && r.usesLoop(s.Pack) && r.after(giver, s):
		r.doc.Fail(s.At, "the loop of %s needs %q, whose step comes later: put it before this pack", s.Name, name)
	}
}

// giver is the step that gives a length in the present build.
func (r *reader) giver(length string) *Step { return r.sheet.Giver(length, false) }

// Giver is the step that gives a length, in the present build or in the build
// before; nil where none does.
func (s *Sheet) Giver(length string, before bool) *Step {
	for _, stage := range s.Stages {
		for _, st := range stage.Steps {
			switch {
			case st.Mark != nil && st.Mark.Length == length && st.Mark.Before == before,
				st.Measure != nil && st.Measure.Length == length && st.Measure.Before == before,
				st.Pack != nil && st.Pack.Length == length && st.Pack.Before == before,
				before && st.Check != nil && st.Check.Before != "" && st.Check.Before == length:
				return st
			}
		}
	}
	return nil
}

func (r *reader) after(a, b *Step) bool {
	steps := r.sheet.Steps()
	return slices.Index(steps, a) > slices.Index(steps, b)
}

// holdChange refuses a pack worked from the build before whose old pack or old
// wanted figure nothing gives.
func (r *reader) holdChange(s *Step, w Wanted) {
	if r.sheet.Giver(s.Pack.Length, true) == nil {
		r.doc.Fail(s.At, "%s is worked from the build before, and no step says what pack was in then: give it a step with before: %s", s.Name, s.Pack.Length)
	}
	if r.sheet.Giver(w.Name, true) == nil {
		r.doc.Fail(s.At, "%s is worked from the build before, and no step says what %s was then: give it a mark, a measure or an end float with before: %s", s.Name, w.Name, w.Name)
	}
}

// holdStates refuses a wanted distance whose state is not said, or does not go
// with the sign of the setting.
func (r *reader) holdStates(w Wanted) {
	if w.SettingOf != "" {
		return
	}
	unsaid := slices.ContainsFunc(w.State, func(st network.State) bool { return st.How == network.NotSaid })
	if _, err := r.sheet.Net.Position(w.Name, w.State...); err != nil && !unsaid {
		r.doc.Fail(w.At, "%s: %s", w.Name, err)
	}
	for _, st := range w.State {
		set, ok := r.settingOf(st.Shaft)
		if !ok {
			continue
		}
		switch {
		case st.How == network.Closed && set.Aim.Sign() > 0:
			r.doc.Fail(w.At, "%s is worked with %s closed, and %s wants float: say which bearing it is held against", w.Name, st.Shaft, set.Name)
		case st.How == network.HeldAgainst && set.Aim.Sign() < 0 && set.Banded && set.High.Sign() < 0:
			r.doc.Fail(w.At, "%s is worked with %s held to one side, and %s wants preload over its whole band: say closed", w.Name, st.Shaft, set.Name)
		}
	}
}

func (r *reader) settingOf(shaft string) (Wanted, bool) { return r.sheet.SettingOf(shaft) }

// SettingOf is the wanted setting of a shaft.
func (s *Sheet) SettingOf(shaft string) (Wanted, bool) {
	i := slices.IndexFunc(s.Wanted, func(w Wanted) bool { return w.SettingOf == shaft && shaft != "" })
	if i < 0 {
		return Wanted{}, false
	}
	return s.Wanted[i], true
}

// holdMade refuses a wanted figure that two packs are said to make.
func (r *reader) holdMade(w Wanted) {
	var makers []string
	for _, s := range r.sheet.Steps() {
		if s.Pack != nil && s.Pack.Makes == w.Name {
			makers = append(makers, s.Name)
		}
	}
	if len(makers) > 1 {
		r.doc.Fail(w.At, "%s is made by %s: one pack makes one wanted figure", w.Name, strings.Join(makers, " and "))
	}
}

// holdChecks refuses a check whose state is not said, a mark or measure that
// gives a length a second time, and a gear that sits by no wanted distance.
func (r *reader) holdChecks() {
	given := map[string]*Step{}
	for _, s := range r.sheet.Steps() {
		if s.Check != nil {
			r.holdOf(s)
		}
		length, before, ok := s.Gives()
		if s.Check != nil && s.Check.Before != "" {
			length, before, ok = s.Check.Before, true, true
		}
		if ok {
			key := fmt.Sprint(length, before)
			if other := given[key]; other != nil {
				r.doc.Fail(s.At, "%s is given already by the step %s", length, other.Name)
			}
			given[key] = s
		}
	}
}

// Gives tells which length the step gives, and whether of the build before.
func (s *Step) Gives() (length string, before, ok bool) {
	switch {
	case s.Mark != nil && s.Mark.Length != "":
		return s.Mark.Length, s.Mark.Before, true
	case s.Measure != nil:
		return s.Measure.Length, s.Measure.Before, true
	case s.Pack != nil:
		return s.Pack.Length, s.Pack.Before, true
	}
	return "", false, false
}

func (r *reader) holdOf(s *Step) {
	for _, name := range s.Check.Of {
		if sh, ok := r.sheet.ShaftNamed(name); ok && len(sh.Bearings) == 0 {
			r.doc.Fail(s.At, "%s judges %s, which has no touches and so no setting: take it away", s.Name, name)
		}
		w, ok := r.sheet.WantedNamed(name)
		if !ok || w.SettingOf != "" {
			continue
		}
		if _, err := r.sheet.Net.Position(name, s.Check.State...); err != nil {
			r.doc.Fail(s.At, "%s judges %s: %s", s.Name, name, err)
		}
	}
}

// RowWords says what one more of a pack does, in the words of its gear.
func (s *Sheet) RowWords(p *Pack) string {
	shaft, ok := s.ShaftNamed(p.Shaft)
	if !ok {
		return ""
	}
	row, err := s.Net.Row(p.Length, shaft.Name, p.RowState(shaft))
	if err != nil {
		return ""
	}
	return row.WordsFor(shaft.Carries)
}
