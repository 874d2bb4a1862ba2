package overhaul

import (
	"fmt"

	"shimwright/calc/network"
	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
)

// wanted is the figure that a pack must make true.
func (w *worker) wanted(wd sheet.Wanted) *found {
	if !wd.Given {
		f := w.length(wd.Name, false)
		if f.figure == nil {
			return f
		}
		terms, index := []Term{{quantity.Whole(1), f.figure}}, f.index
		for _, m := range w.moves {
			if m.wanted == wd.Name {
				terms = append(terms, Term{quantity.Whole(1), m.by})
				index = max(index, m.index)
			}
		}
		if len(terms) == 1 {
			return f
		}
		return &found{figure: sum(wd.Name, terms...), index: index}
	}
	word := "wanted by the sheet"
	if wd.SettingOf != "" {
		word = "float wanted by the sheet"
		if wd.Aim.Sign() < 0 {
			word = "preload wanted by the sheet, so below nought"
		}
	}
	f := &Figure{Name: wd.Name, Value: wd.Aim, Leaf: &Leaf{Key: "wanted:" + wd.Name, Source: word}}
	return &found{figure: f, index: -1}
}

// workPack works a pack by its loop or from the build before.
func (w *worker) workPack(st *sheet.Step, byChange bool) (*Figure, int, *Lack) {
	wd, _ := w.sheet.WantedNamed(st.Pack.Makes)
	form, err := w.sheet.Target(wd)
	if err != nil {
		return nil, -1, &Lack{For: st.Name, Stop: err.Error()}
	}
	loop, err := network.Solve(form, st.Pack.Length)
	if err != nil {
		return nil, -1, &Lack{For: st.Name, Stop: err.Error()}
	}
	if byChange {
		return w.byChange(st, wd, loop)
	}
	return w.byLoop(st, wd, loop)
}

// byLoop is the wanted figure and the one way round, solved for the pack.
func (w *worker) byLoop(st *sheet.Step, wd sheet.Wanted, loop network.Loop) (*Figure, int, *Lack) {
	rest, index, lack := w.formFigure(st.Name, loop.Rest, true)
	if lack != nil {
		return nil, -1, lack
	}
	aim := w.wanted(wd)
	if aim.figure == nil {
		return nil, -1, aim.lack
	}
	terms := append([]Term{{loop.PerWanted, aim.figure}}, rest.Terms...)
	for _, t := range loop.Rest.Settings {
		if set, ok := w.sheet.SettingOf(t.Name); ok {
			terms = append(terms, Term{t.Coef, w.wanted(set).figure})
			continue
		}
		return nil, -1, &Lack{For: st.Name, Stop: fmt.Sprintf("the walk crosses a touch of %s, and the sheet wants no setting of it", t.Name)}
	}
	return sum(st.Name, terms...), max(index, aim.index), nil
}

// byChange walks the loop in two builds and subtracts: what was not touched
// cancels, measured or not. New pack = old pack as measured then + change of
// the wanted figure − changes of the other lengths, each with its sign.
func (w *worker) byChange(st *sheet.Step, wd sheet.Wanted, loop network.Loop) (*Figure, int, *Lack) {
	old := w.length(st.Pack.Length, true)
	was := w.length(wd.Name, true)
	aim := w.wanted(wd)
	for _, f := range []*found{old, was, aim} {
		if f.figure == nil {
			return nil, -1, f.lack
		}
	}
	terms := []Term{{quantity.Whole(1), old.figure}, {loop.PerWanted, aim.figure}, {loop.PerWanted.Neg(), was.figure}}
	index := max(old.index, was.index, aim.index)
	for _, t := range loop.Rest.Lengths {
		more, at, lack := w.changed(t, was.index)
		if lack != nil {
			return nil, -1, lack
		}
		terms = append(terms, more...)
		index = max(index, at)
	}
	for _, t := range loop.Rest.Settings {
		set, ok := w.sheet.SettingOf(t.Name)
		if !ok || w.sheet.Giver(set.Name, true) == nil {
			continue
		}
		then := w.length(set.Name, true)
		if then.figure == nil {
			return nil, -1, then.lack
		}
		if wrong := otherThen(wd, t.Name, then.figure.Value); wrong != "" {
			return nil, -1, &Lack{For: st.Name, Stop: wrong}
		}
		terms = append(terms, Term{t.Coef, w.wanted(set).figure}, Term{t.Coef.Neg(), then.figure})
		index = max(index, then.index)
	}
	f := sum(st.Name, terms...)
	f.Rule = "from the build before"
	return f, index, nil
}

// otherThen says why a shaft's setting of the build before cannot be walked in
// the state of now: half of a float is no share of a squeeze, and a shaft that
// was closed was held to no side.
func otherThen(wd sheet.Wanted, shaft string, then quantity.Exact) string {
	for _, st := range wd.State {
		switch {
		case st.Shaft != shaft:
		case st.How == network.Closed && then.Sign() > 0:
			return fmt.Sprintf("%s had float in the build before and is closed now, so how far its gear moves is not known from the change: work this pack by its loop.", shaft)
		case st.How == network.HeldAgainst && then.Sign() < 0:
			return fmt.Sprintf("%s was closed in the build before and is held to one side now, so how far its gear moves is not known from the change: work this pack by its loop.", shaft)
		}
	}
	return ""
}

// changed is the change of one other length of a loop since the build before,
// which was looked at with an entry. A length that was not touched cancels.
func (w *worker) changed(t network.Term, before int) ([]Term, int, *Lack) {
	l, _ := w.sheet.Net.Length(t.Name)
	now := w.length(t.Name, false)
	var then *Figure
	switch {
	case w.sheet.Giver(t.Name, true) != nil:
		old := w.length(t.Name, true)
		if old.figure == nil {
			return nil, -1, old.lack
		}
		then = old.figure
	case l.Kind == network.Pack:
		then = w.asFitted(t.Name, before)
	case w.metalSince([]string{t.Name}, before):
		return nil, -1, &Lack{For: t.Name, Stop: fmt.Sprintf("Metal of %s was changed since the build before: take that build's readings again.", t.Name)}
	}
	if then == nil {
		return nil, -1, nil
	}
	if now.figure == nil {
		return nil, -1, now.lack
	}
	if l.Kind == network.Pack && now.figure.Value.Equal(then.Value) {
		return nil, now.index, nil
	}
	return []Term{{t.Coef, now.figure}, {t.Coef.Neg(), then}}, now.index, nil
}

func (w *worker) metalSince(lengths []string, index int) bool {
	c, ok := w.lastChange(lengths)
	return ok && c.index > index
}
