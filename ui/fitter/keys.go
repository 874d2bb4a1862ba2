package fitter

import (
	"strings"

	"github.com/gdamore/tcell/v2"

	"shimwright/calc/overhaul"
	"shimwright/calc/sheet"
	"shimwright/ingest/bench"
)

// A binding is one key: how it is shown, when it is there, what it does.
type binding struct {
	key  string // as shown
	does string
	when func(*view) bool
	act  func(*ui)
}

// bindings are the keys of the work screen, those that the moment calls for
// first.
func bindings() []binding {
	return []binding{
		{"y", "is in", asksPack, func(u *ui) { u.sayIn(true) }},
		{"n", "not in", asksPack, func(u *ui) { u.sayIn(false) }},
		{"o", "open a job", noneOpen, func(u *ui) { u.view.form = openForm() }},
		{"p", "PRESS the gauge", canPress, func(u *ui) { u.press() }},
		{"t", "take held", hasHeld, (*ui).take},
		{"g", "move gear", canMove, func(u *ui) { u.view.form = moveForm(&u.view, u.view.shown()) }},
		{"f", "fit", isPack, (*ui).fit},
		{"d", "draw piece", hasSetup, func(u *ui) { u.view.form = pieceForm(&u.view, u.view.shown()) }},
		{"a", "again", hasEntries, func(u *ui) { u.view.form = againForm(u.view.shown()) }},
		{"k", "key in", takesPress, func(u *ui) { u.view.form = keyedForm(&u.view, u.view.shown()) }},
		{"c", "changed metal", atStep, func(u *ui) { u.view.form = metalForm(&u.view, u.view.shown()) }},
		{"w", "why", hasJob, func(u *ui) { u.view.page = whyPage(&u.view) }},
		{"l", "list", hasJob, (*ui).list},
		{"q", "leave", always, func(u *ui) { u.view.leaving = true }},
	}
}

func always(*view) bool     { return true }
func hasJob(v *view) bool   { return v.snap != nil && v.snap.Job != nil }
func atStep(v *view) bool   { return v.shown() != nil }
func noneOpen(v *view) bool { return v.snap != nil && (v.snap.Job == nil || v.snap.Step == nil) }
func hasHeld(v *view) bool  { _, ok := v.held(); return ok }
func asksPack(v *view) bool { return v.packAsked() != "" }

func canPress(v *view) bool {
	return v.byHand && hasJob(v) && v.snap.Step != nil && v.snap.Step.Left > 0
}

func isPack(v *view) bool { r := v.shown(); return r != nil && r.Step.Kind == sheet.KindPack }

func hasSetup(v *view) bool {
	r := v.shown()
	return r != nil && r.Step.Measure != nil && len(r.Step.Measure.Setup.Standards()) > 0
}

func takesPress(v *view) bool { r := v.shown(); return r != nil && r.Step.Gauge != "" && r.Left > 0 }

// hasEntries tells whether the step shown holds something to take again.
func hasEntries(v *view) bool {
	r := v.shown()
	return r != nil && (r.Status != overhaul.Waiting || len(r.Presses) > 0)
}

// canMove: a gear is moved after a backlash or a marking that was judged.
func canMove(v *view) bool {
	r := v.shown()
	if r == nil || r.Check == nil || r.Status == overhaul.Waiting {
		return false
	}
	return r.Step.Check.What == sheet.Backlash || r.Step.Check.What == sheet.Marking
}

// keyLine shows the keys that do something now.
func keyLine(v *view) line {
	switch {
	case v.form != nil:
		return line{{"Enter", strong}, {" takes it   ", plain}, {"Backspace", strong}, {" rubs out   ", plain}, {"Esc", strong}, {" leaves the form", plain}}
	case v.page != nil && v.page.steps:
		return line{{"↑ ↓", strong}, {" choose   ", plain}, {"Enter", strong}, {" goes there   ", plain}, {"l", strong}, {" or ", plain}, {"Esc", strong}, {" back", plain}}
	case v.page != nil:
		return line{{"↑ ↓", strong}, {" scroll   ", plain}, {"Space", strong}, {" a page on   ", plain}, {"w", strong}, {" or ", plain}, {"Esc", strong}, {" back", plain}}
	case v.leaving:
		return line{{"y", strong}, {" leaves   ", plain}, {"n", strong}, {" stays", plain}}
	}
	out := line{{"Enter", strong}, {" go on", plain}}
	if hasJob(v) {
		out = append(out, span{" ↑↓", strong}, span{" step", plain})
	}
	if _, ok := v.strikable(); ok {
		out = append(out, span{" ⌫⌫", strong}, span{" strike", plain})
	}
	for _, b := range bindings() {
		if b.when(v) {
			out = append(out, span{" " + b.key, strong}, span{" " + b.does, plain})
		}
	}
	return out
}

// key takes a key in on the screen's goroutine.
func (u *ui) key(e *tcell.EventKey) {
	v := &u.view
	if v.snap == nil || v.width < leastWidth || v.height < leastHeight {
		u.keySmall(e)
		return
	}
	switch {
	case v.form != nil:
		u.keyForm(e)
	case v.page != nil:
		u.keyPage(e)
	case v.leaving:
		u.keyLeaving(e)
	default:
		u.keyWork(e)
	}
}

// keySmall leaves a screen on which nothing can be read.
func (u *ui) keySmall(e *tcell.EventKey) {
	if e.Key() == tcell.KeyRune && e.Rune() == 'q' && u.view.form == nil {
		u.leave()
	}
}

func (u *ui) keyForm(e *tcell.EventKey) {
	f := u.view.form
	if u.view.busy {
		return // it is being written down as it stands
	}
	switch f.key(e) {
	case formLeft:
		u.view.form = nil
	case formReady:
		u.send(f.command(f.answers()), f)
	}
}

func (u *ui) keyLeaving(e *tcell.EventKey) {
	if e.Key() == tcell.KeyRune && e.Rune() == 'y' {
		u.leave()
		return
	}
	u.view.leaving = false
}

func (u *ui) keyPage(e *tcell.EventKey) {
	v := &u.view
	p := v.page
	last := len(p.wrapped(v.width)) - (v.height - pageRest)
	if p.steps {
		last = len(v.snap.Results.Steps) - 1
	}
	screenful := v.height - pageRest - 1
	switch {
	case e.Key() == tcell.KeyEscape, isRune(e, 'w'), isRune(e, 'l'), isRune(e, 'q'):
		v.page = nil
	case e.Key() == tcell.KeyUp:
		p.top--
	case e.Key() == tcell.KeyDown:
		p.top++
	case e.Key() == tcell.KeyPgUp:
		p.top -= screenful
	case e.Key() == tcell.KeyPgDn, isRune(e, ' ') && !p.steps:
		p.top += screenful
	case e.Key() == tcell.KeyEnter, isRune(e, ' '):
		v.page = nil
		if p.steps {
			u.goTo(v.snap.Results.Steps[max(0, min(p.top, last))])
		}
	}
	p.top = max(0, min(p.top, last))
}

func isRune(e *tcell.EventKey, r rune) bool { return e.Key() == tcell.KeyRune && e.Rune() == r }

func (u *ui) keyWork(e *tcell.EventKey) {
	v := &u.view
	if e.Key() == tcell.KeyBackspace || e.Key() == tcell.KeyBackspace2 {
		u.strike()
		return
	}
	v.striking = 0
	switch {
	case e.Key() == tcell.KeyEnter, isRune(e, ' '):
		u.goOn()
	case e.Key() == tcell.KeyUp:
		u.other(-1)
	case e.Key() == tcell.KeyDown:
		u.other(1)
	case e.Key() == tcell.KeyEscape:
		v.looking, v.note = "", note{}
	case e.Key() == tcell.KeyRune:
		for _, b := range bindings() {
			if b.key == strings.ToLower(string(e.Rune())) && b.when(v) {
				v.note = note{}
				b.act(u)
				return
			}
		}
	}
}

// goOn is what Enter does: confirm, or open the form that the step wants.
func (u *ui) goOn() {
	v := &u.view
	v.note = note{}
	r := v.shown()
	switch {
	case v.snap.Job == nil:
		v.form = openForm()
	case v.away():
		v.looking = ""
	case r == nil:
		v.note = note{text: "Every step is done."}
	case v.packAsked() != "" && !u.lacksPiece(r):
		v.note = note{text: "Say whether the " + v.packAsked() + " is in: y or n.", bad: true}
	case u.lacksPiece(r):
		v.form = pieceForm(v, r)
	case r.Step.Kind == sheet.KindConfirm:
		u.send(bench.Confirm{Step: r.Step.Name}, nil)
	case r.Status == overhaul.Stopped && r.Step.Kind == sheet.KindPack:
		v.note = note{text: "STOP: this pack is not to be fitted.", bad: true}
	case r.Step.Kind == sheet.KindPack && r.Pack.Worked == nil && r.Step.Pack.Makes != "":
		v.note = note{text: capital(r.Wants) + ".", bad: true}
	default:
		if v.form = entryForm(v, r); v.form == nil {
			v.note = note{text: "This step goes on by a press of the gauge.", bad: false}
		}
	}
}

func (u *ui) lacksPiece(r *overhaul.Result) bool {
	_, missing := u.view.snap.Job.InUse(r.Step)
	return missing != ""
}

// other chooses the step before or after the one shown.
func (u *ui) other(by int) {
	v := &u.view
	if v.snap.Job == nil {
		return
	}
	steps := v.snap.Results.Steps
	at := len(steps)
	if r := v.shown(); r != nil {
		at = v.number(r) - 1
	}
	if to := at + by; to >= 0 && to < len(steps) {
		u.goTo(steps[to])
	}
}

// goTo shows a step. One that is not done becomes the step that waits; one that
// is done is only looked at.
func (u *ui) goTo(r *overhaul.Result) {
	v := &u.view
	v.note = note{}
	v.looking = r.Step.Name
	if r.Status != overhaul.Done {
		u.choose(r.Step.Name)
	}
}

func (u *ui) list() {
	p := &page{steps: true, title: "the steps"}
	if r := u.view.shown(); r != nil {
		p.top = u.view.number(r) - 1
	}
	u.view.page = p
}

func (u *ui) sayIn(in bool) {
	r := u.view.shown()
	u.send(bench.SayIn{Step: r.Step.Name, Pack: u.view.packAsked(), In: in}, nil)
}

func (u *ui) take() {
	if p, ok := u.view.held(); ok {
		u.view.form = takeForm(p)
	}
}

func (u *ui) fit() {
	v := &u.view
	if r := v.shown(); r.Status == overhaul.Stopped {
		v.note = note{text: "STOP: this pack is not to be fitted.", bad: true}
	} else {
		v.form = fitForm(v, r)
	}
}

// strike arms at the first Backspace and strikes at the second.
func (u *ui) strike() {
	v := &u.view
	p, ok := v.strikable()
	switch {
	case !ok:
		v.note = note{text: "There is no press to strike.", bad: true}
	case v.striking == p.Seq:
		v.striking = 0
		u.send(bench.Strike{Press: p.Seq, Reason: "struck at the bench by Backspace twice"}, nil)
	default:
		v.striking, v.note = p.Seq, note{}
	}
}
