package draw

import (
	"fmt"
	"io"
	"strings"

	"shimwright/calc/network"
	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
)

// Loops writes, for each pack of a sheet, its loop as a signed sum of names and
// what one more of it does in every state of its shaft; then the loop of each
// length found as a check. Nobody typed the signs: they follow from the faces.
func Loops(w io.Writer, p Page, s *sheet.Sheet) error {
	t := p.sheet()
	first := true
	for _, st := range s.Steps() {
		if !hasLoop(s, st) {
			continue
		}
		if !first {
			t.blank()
		}
		first = false
		if st.Pack != nil {
			t.packLoop(s, st)
			continue
		}
		t.checkLoop(s, st)
	}
	return t.to(w)
}

func hasLoop(s *sheet.Sheet, st *sheet.Step) bool {
	if st.Pack != nil {
		return !st.Pack.Before
	}
	length, _, ok := st.Gives()
	l, known := s.Net.Length(length)
	return ok && known && l.Kind == network.Check
}

const loopIn = 2

func (t *text) loopLine(words string) { t.wrap(strings.Repeat(" ", loopIn), -1, words) }

// packLoop writes one pack: where it is fitted, its sums, its rows.
func (t *text) packLoop(s *sheet.Sheet, st *sheet.Step) {
	p := st.Pack
	t.wrap("", loopIn, st.Name+", "+p.Place)
	if p.Makes == "" {
		t.loopLine("set by the check " + p.SetBy + ": no loop gives its figure")
	} else {
		t.loopLine("makes the " + p.Makes + targetState(s, p.Makes))
		t.packSums(s, st)
	}
	t.rows(s, st)
}

func targetState(s *sheet.Sheet, wanted string) string {
	wd, _ := s.WantedNamed(wanted)
	var out []string
	for _, st := range wd.State {
		out = append(out, st.Shaft+" "+st.String())
	}
	if len(out) == 0 {
		return ""
	}
	return ", with the " + strings.Join(out, ", the ")
}

// packSums writes the way that decides, then the way that checks it.
func (t *text) packSums(s *sheet.Sheet, st *sheet.Step) {
	wd, _ := s.WantedNamed(st.Pack.Makes)
	form, err := s.Target(wd)
	if err != nil {
		t.loopLine(sentence(err.Error()))
		return
	}
	loop, err := network.Solve(form, st.Pack.Length)
	if err != nil {
		t.loopLine(sentence(err.Error()))
		return
	}
	byLoop, byChange := loopTerms(s, loop, wd), changeTerms(s, st, loop, wd)
	switch p := st.Pack; {
	case p.ByChange && p.CheckBy:
		t.equation(st.Name, byChange, "decides")
		t.equation(st.Name, byLoop, "checks it")
	case p.ByChange:
		t.equation(st.Name, byChange, "")
	case p.CheckBy:
		t.equation(st.Name, byLoop, "decides")
		t.equation(st.Name, byChange, "checks it")
	default:
		t.equation(st.Name, byLoop, "")
	}
}

// named is a term of a sum of names.
type named struct {
	coef quantity.Ratio
	name string
}

// loopTerms is the wanted figure and the one way round.
func loopTerms(s *sheet.Sheet, loop network.Loop, wd sheet.Wanted) []named {
	out := []named{{loop.PerWanted, wd.Name}}
	return append(out, formTerms(s, loop.Rest)...)
}

func formTerms(s *sheet.Sheet, f network.Form) []named {
	var out []named
	for _, t := range f.Lengths {
		out = append(out, named{t.Coef, t.Name})
	}
	for _, t := range f.Settings {
		out = append(out, named{t.Coef, settingName(s, t.Name)})
	}
	return out
}

func settingName(s *sheet.Sheet, shaft string) string {
	if set, ok := s.SettingOf(shaft); ok {
		return set.Name
	}
	return "setting of " + shaft
}

// changeTerms is the same loop in two builds, subtracted: what no step gives of
// the build before cancels.
func changeTerms(s *sheet.Sheet, st *sheet.Step, loop network.Loop, wd sheet.Wanted) []named {
	before := func(name string) (string, bool) {
		g := s.Giver(name, true)
		if g == nil {
			return "", false
		}
		return g.Name, true
	}
	old, _ := before(st.Pack.Length)
	was, _ := before(wd.Name)
	out := []named{{quantity.Whole(1), old}, {loop.PerWanted, wd.Name}, {loop.PerWanted.Neg(), was}}
	for _, t := range formTerms(s, loop.Rest) {
		if then, ok := before(t.name); ok {
			out = append(out, named{t.coef, t.name}, named{t.coef.Neg(), then})
		}
	}
	return out
}

// equation writes "pinion pack = + pinion distance - casing distance …".
func (t *text) equation(name string, terms []named, note string) {
	say := ""
	for _, x := range terms {
		say += " " + whole(x.String())
	}
	head := strings.Repeat(" ", loopIn) + name + " = "
	if note != "" {
		say += " " + whole("("+note+")")
	}
	t.wrap(head, -1, say)
}

func (x named) String() string {
	sign, c := "+ ", x.coef
	if c.Sign() < 0 {
		sign, c = "- ", c.Neg()
	}
	if c.Equal(quantity.Whole(1)) {
		return sign + x.name
	}
	return sign + c.String() + " × " + x.name
}

// rows writes what one more of a pack does in every state of its shaft.
func (t *text) rows(s *sheet.Sheet, st *sheet.Step) {
	shaft, ok := s.ShaftNamed(st.Pack.Shaft)
	if !ok {
		t.loopLine("one more: of no shaft, so no setting and no gear is moved by it")
		return
	}
	t.loopLine("one more of it, " + shaft.Name)
	if len(shaft.Bearings) == 0 {
		t.row(s, st, shaft, network.State{Shaft: shaft.Name}, "held both ways", "computed")
		return
	}
	for _, b := range shaft.Bearings {
		state := network.State{Shaft: shaft.Name, How: network.HeldAgainst, Bearing: b.Name}
		by := "computed"
		if st.Pack.Own.Against == b.Name {
			by = "computed, as the place says"
		}
		t.row(s, st, shaft, state, "held against "+b.Name, by)
	}
	t.row(s, st, shaft, network.State{Shaft: shaft.Name, How: network.Closed}, "closed", "computed, own mechanics")
}

const stateWide = 30

func (t *text) row(s *sheet.Sheet, st *sheet.Step, shaft sheet.Shaft, state network.State, when, by string) {
	head := strings.Repeat(" ", 2*loopIn) + pad(when, stateWide) + "  "
	row, err := s.Net.Row(st.Pack.Length, shaft.Name, state)
	if err != nil {
		t.wrap(head, -1, "not computed: "+err.Error())
		return
	}
	t.wrap(head, -1, fmt.Sprintf("%s (%s)", rowWords(shaft, row), by))
}

func rowWords(shaft sheet.Shaft, row network.Row) string {
	if len(shaft.Bearings) == 0 && shaft.Carries != "" {
		return network.MoveWords(shaft.Carries, row.Gear)
	}
	return row.WordsFor(shaft.Carries)
}

// checkLoop writes what predicts a length found as a check.
func (t *text) checkLoop(s *sheet.Sheet, st *sheet.Step) {
	length, _, _ := st.Gives()
	t.wrap("", loopIn, st.Name+", found as a check")
	var states []network.State
	for _, w := range s.Wanted {
		states = append(states, w.State...)
	}
	form, err := s.Net.Position(length, states...)
	if err != nil {
		t.loopLine(sentence(err.Error()))
		return
	}
	if form, err = s.Net.Through(form); err != nil {
		t.loopLine(sentence(err.Error()))
		return
	}
	t.equation("predicted", formTerms(s, form), "")
}
