package fitter

import (
	"strings"
	"unicode"

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
		{"f", "fit", isPack, func(u *ui) { u.view.form = fitForm(&u.view, u.view.shown()) }},
		{"e", "enter anew", isTyped, func(u *ui) { u.view.form = entryForm(&u.view, u.view.shown()) }},
		{"d", "draw piece", hasSetup, func(u *ui) { u.view.form = pieceForm(&u.view, u.view.shown()) }},
		{"a", "again", hasEntries, func(u *ui) { u.view.form = againForm(u.view.shown()) }},
		{"k", "key in", takesPress, func(u *ui) { u.view.form = keyedForm(&u.view, u.view.shown()) }},
		{"c", "changed metal", atStep, func(u *ui) { u.view.form = metalForm(&u.view, u.view.shown()) }},
		{"w", "why", hasJob, func(u *ui) { u.view.page = whyPage(&u.view) }},
		{"l", "list", hasJob, (*ui).list},
		{"q", "leave", always, func(u *ui) { u.view.leaving = true }},
	}
}

func always(*view) bool   { return true }
func hasJob(v *view) bool { return v.snap != nil && v.snap.Job != nil }
func atStep(v *view) bool { return v.shown() != nil }
func noneOpen(v *view) bool {
	return v.snap != nil && (v.snap.Job == nil || v.snap.Results.Next() == nil)
}
func hasHeld(v *view) bool  { _, ok := v.held(); return ok }
func asksPack(v *view) bool { return v.packAsked() != "" }

func canPress(v *view) bool {
	return v.byHand && hasJob(v) && v.snap.Step != nil && v.snap.Step.Left > 0
}

func isPack(v *view) bool {
	r := v.shown()
	return r != nil && r.Step.Kind == sheet.KindPack && r.Status != overhaul.Stopped
}

// isTyped: what the step holds was typed, and can be typed anew.
func isTyped(v *view) bool {
	r := v.shown()
	return r != nil && r.Status != overhaul.Waiting && r.Pack == nil && entryForm(v, r) != nil
}

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

// keyLine shows the keys of a page.
func keyLine(v *view) line {
	if v.page.steps {
		return keyWords("↑ ↓", "choose", "Enter", "goes there", "l or Esc", "back")
	}
	return keyWords("↑ ↓", "scroll", "Space", "a page on", "w or Esc", "back")
}

// keyWords are keys with what they do.
func keyWords(of ...string) line {
	var out line
	for i := 0; i+1 < len(of); i += 2 {
		gap := "   "
		if i+2 >= len(of) {
			gap = ""
		}
		out = append(out, span{of[i], strong}, span{" " + of[i+1] + gap, plain})
	}
	return out
}

// keyLines show the keys that do something now, on two lines.
func keyLines(v *view) []line {
	switch {
	case v.form != nil && v.form.asking != "":
		return []line{keyWords("y", "yes, it is so", "n", "no, back to it"), nil}
	case v.form != nil:
		return []line{keyWords("Enter", "takes it", "Backspace", "rubs out", "Esc", "leaves the form"), nil}
	case v.leaving:
		return []line{keyWords("y", "leaves", "n", "stays"), nil}
	}
	all := []string{"Enter", "go on"}
	if hasJob(v) {
		all = append(all, "↑ ↓", "step")
	}
	if _, ok := v.strikable(); ok {
		all = append(all, "Backspace twice", "strike")
	}
	for _, b := range bindings() {
		if b.when(v) {
			all = append(all, b.key, b.does)
		}
	}
	n := len(all)
	for n > 2 && keyWords(all[:n]...).cells() > v.width {
		n -= 2
	}
	return []line{keyWords(all[:n]...), keyWords(all[n:]...)}
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
	if isRune(e, 'q') && u.view.form == nil {
		u.leave()
	}
}

func (u *ui) keyForm(e *tcell.EventKey) {
	f := u.view.form
	if f.sent {
		return // it is being written down as it stands
	}
	switch f.key(e) {
	case formLeft:
		u.view.form = nil
	case formReady:
		f.sent = u.send(f.command(f.answers()), f)
	}
}

func (u *ui) keyLeaving(e *tcell.EventKey) {
	if isRune(e, 'y') {
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

// isRune tells whether a key is a letter, whatever its case.
func isRune(e *tcell.EventKey, r rune) bool {
	return e.Key() == tcell.KeyRune && unicode.ToLower(e.Rune()) == r
}

func (u *ui) keyWork(e *tcell.EventKey) {
	v := &u.view
	if e.Key() == tcell.KeyBackspace || e.Key() == tcell.KeyBackspace2 {
		u.strike()
		return
	}
	v.striking, v.struck = 0, false
	switch {
	case e.Key() == tcell.KeyEnter, isRune(e, ' '):
		u.goOn()
	case e.Key() == tcell.KeyUp:
		u.other(-1)
	case e.Key() == tcell.KeyDown:
		u.other(1)
	case e.Key() == tcell.KeyEscape:
		v.note = note{}
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
	case r == nil:
		v.note = note{text: "Every step is done."}
	case r.Status == overhaul.Done:
		if on := nextOpen(v.snap.Results, r); on != nil {
			u.goTo(on)
		}
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
	case r.Step.Kind == sheet.KindPack:
		u.fitOn(r)
	default:
		if v.form = entryForm(v, r); v.form == nil {
			v.note = note{text: "this step goes on by a press of the gauge."}
		}
	}
}

// fitOn fits a pack: at once where its presses say all that is to be said.
func (u *ui) fitOn(r *overhaul.Result) {
	v := &u.view
	switch p := r.Step.Pack; {
	case p.Presses > 0 && r.Left > 0:
		v.note = note{text: "measure the pack first: press the " + r.Step.Gauge + " over it. f types it in."}
	case p.Presses > 0 && p.Stock == "" && len(r.Presses) > 0:
		u.send(bench.Fit{Step: r.Step.Name}, nil)
	default:
		v.form = fitForm(v, r)
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

// goTo makes a step the one that the bench waits at.
func (u *ui) goTo(r *overhaul.Result) {
	u.view.note = note{}
	u.view.choosing = r.Step.Name
	u.choose(r.Step.Name)
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

// strike arms at the first Backspace and strikes at the second.
func (u *ui) strike() {
	v := &u.view
	p, ok := v.strikable()
	switch {
	case v.struck: // a key held down strikes one press and no more
		v.note = note{text: "One press is struck. For another one press any other key first.", bad: true}
	case !ok:
		v.note = note{text: "There is no press to strike.", bad: true}
	case v.striking == p.Seq:
		v.striking, v.struck = 0, true
		u.send(bench.Strike{Press: p.Seq, Reason: "struck at the bench by Backspace twice"}, nil)
	default:
		v.striking, v.note = p.Seq, note{}
	}
}
