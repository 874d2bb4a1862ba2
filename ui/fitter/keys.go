package fitter

import (
	"fmt"
	"strings"
	"unicode"

	"github.com/gdamore/tcell/v2"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
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
		{"b", "bearings done", needsSaid, (*ui).sayNeed},
		{"z", "check zero", needsZero, (*ui).checkZero},
		{"o", "open a job", noneOpen, func(u *ui) { u.view.form = openForm(&u.view) }},
		{"p", "PRESS the gauge", canPress, func(u *ui) { u.press() }},
		{"t", "take held", hasHeld, (*ui).take},
		{"g", "move gear", canMove, func(u *ui) { u.view.form = moveForm(&u.view, u.view.shown()) }},
		{"f", "fit", isPack, func(u *ui) { u.view.form = fitForm(&u.view, u.view.shown()) }},
		{"e", "enter anew", isTyped, func(u *ui) { u.view.form = anewForm(&u.view, u.view.shown()) }},
		{"v", "drawing", hasDrawing, func(u *ui) { u.view.page = drawPage(&u.view) }},
		{"d", "draw piece", hasSetup, func(u *ui) { u.view.form = pieceForm(&u.view, u.view.shown()) }},
		{"a", "again", hasEntries, func(u *ui) { u.view.form = againForm(u.view.shown()) }},
		{"w", "why", hasJob, func(u *ui) { u.view.page = whyPage(&u.view) }},
		{"s", "sum", hasJob, func(u *ui) { u.view.page = sumPage(&u.view) }},
		{"k", "key in", takesPress, func(u *ui) { u.view.form = keyedForm(&u.view, u.view.shown()) }},
		{"l", "steps", hasJob, (*ui).list},
		{"j", "jobs", hasBench, func(u *ui) { u.view.form = jobsForm(&u.view) }},
		{"h", "hold", canHold, func(u *ui) { u.view.form = holdForm(&u.view) }},
		{"i", "ask gauge", canAsk, func(u *ui) { u.send(bench.AskGauge{}, nil) }},
		{"r", "gauge knocked", canAsk, func(u *ui) { u.send(bench.Knocked{}, nil) }},
		{"u", "units", hasJob, (*ui).otherUnit},
		{"c", "changed metal", atStep, func(u *ui) { u.view.form = metalForm(&u.view, u.view.shown()) }},
		{"x", "end job", hasJob, func(u *ui) { u.view.form = endForm(&u.view) }},
		{"?", "keys", always, func(u *ui) { u.view.page = keysPage() }},
		{"q", "leave", always, func(u *ui) { u.view.leaving = true }},
	}
}

// lastKeys are shown however little room there is: they lead to all the others
// and out.
const lastKeys = 2

func always(*view) bool       { return true }
func hasJob(v *view) bool     { return v.snap != nil && v.snap.Job != nil }
func atStep(v *view) bool     { return v.shown() != nil }
func hasBench(v *view) bool   { return v.snap != nil }
func hasDrawing(v *view) bool { return drawPage(v) != nil }

func noneOpen(v *view) bool {
	return v.snap != nil && (v.snap.Job == nil || v.snap.Results.Next() == nil)
}

// canAsk: the step wants presses of a gauge, which may be one that answers.
func canAsk(v *view) bool {
	return takesPress(v) && v.gauge(v.shown().Step.Gauge) != nil
}

func canHold(v *view) bool { return hasJob(v) }

func hasHeld(v *view) bool  { _, ok := v.held(); return ok }
func asksPack(v *view) bool { return v.packAsked() != "" }

// canPress: a fitted pack may be pressed again, to measure another one.
func canPress(v *view) bool {
	if !v.byHand || !hasJob(v) || v.snap.Step == nil {
		return false
	}
	st := v.snap.Step.Step
	if v.snap.Step.Status == overhaul.Stopped {
		return false
	}
	return v.snap.Step.Left > 0 || st.Pack != nil && st.Pack.Presses > 0
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

// takesPress: a reading of a length or a check may be keyed in; what a pack
// measures is typed when it is fitted.
func takesPress(v *view) bool {
	r := v.shown()
	return r != nil && r.Step.Gauge != "" && r.Left > 0 && r.Step.Pack == nil
}

// hasEntries tells whether the step shown holds something to take again. A
// fitted pack is not: another one is measured and fitted.
func hasEntries(v *view) bool {
	r := v.shown()
	if r != nil && r.Pack != nil {
		return r.Pack.Fitted == nil && len(r.Presses) > 0
	}
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
	if v.byHand && canPress(v) {
		return keyWords("↑ ↓", "scroll", "Space", "a page on", "p", "PRESS the gauge", v.page.key+" or Esc", "back")
	}
	return keyWords("↑ ↓", "scroll", "Space", "a page on", v.page.key+" or Esc", "back")
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
	bound := bindings()
	for _, b := range bound[:len(bound)-lastKeys] {
		if b.when(v) {
			all = append(all, b.key, b.does)
		}
	}
	last := []string{}
	for _, b := range bound[len(bound)-lastKeys:] {
		last = append(last, b.key, b.does)
	}
	return fitKeys(all, last, v.width)
}

// fitKeys sets keys on two lines, as many as there is room for; the last ones
// are always among them.
func fitKeys(all, last []string, width int) []line {
	fits := func(of []string, room int) int {
		n := len(of)
		for n > 0 && keyWords(of[:n]...).cells() > room {
			n -= 2
		}
		return n
	}
	n := fits(all, width)
	rest := all[n:]
	m := fits(rest, width-keyWords(last...).cells()-3)
	return []line{keyWords(all[:n]...), keyWords(append(rest[:m:m], last...)...)}
}

// keysPage tells what every key does; those that do something now stand out.
func keysPage() *page {
	return &page{title: "the keys", key: "?", lines: func(v *view, width, _ int) []line {
		key := func(now bool, name, does string) line {
			t := plain
			if now {
				t = strong
			}
			return line{{fmt.Sprintf("  %-16s", name), t}, {does, plain}}.cut(width)
		}
		out := []line{
			key(true, "Enter or Space", "go on: confirms, or asks for what the step wants; a foot pedal does too"),
			key(true, "↑ ↓", "the step before, the step after"),
			key(true, "Backspace twice", "strikes the last press"),
		}
		for _, b := range bindings() {
			out = append(out, key(b.when(v), b.key, longKey(b)))
		}
		return append(out, nil, say("Those in bold do something now. Beeps: taken 1, put aside 2, held 3."))
	}}
}

// longKey is what a key does, for those who ask.
func longKey(b binding) string {
	switch b.key {
	case "y", "n":
		return "says that the pack asked for is " + map[string]string{"y": "in", "n": "not in"}[b.key]
	case "b":
		return "says that the bearings are rolled or seated, as the step needs"
	case "z":
		return "makes the gauge's next press a check of its zero; again: not"
	case "t":
		return "lets a held press count, with a reason"
	case "g":
		return "moves a gear on purpose: the packs follow"
	case "f":
		return "fits a pack by what is typed"
	case "e":
		return "enters what was typed anew, with a reason"
	case "v":
		return "the drawing: ring and re-shim, pack and stock, marking, setup"
	case "d":
		return "says which certified piece stands in the setup"
	case "a":
		return "takes this step again, with a reason"
	case "w":
		return "explains every figure here, down to the bytes sent"
	case "s":
		return "the sum alone"
	case "k":
		return "keys a reading in; it stays marked KEYED"
	case "l":
		return "the list of steps, to go to any"
	case "j":
		return "the open jobs: choose one, open another"
	case "x":
		return "signs the job off, finishes or abandons it, says who works at it"
	case "h":
		return "puts this step on hold, or lifts the hold"
	case "i":
		return "asks the wanted gauge for what it shows"
	case "r":
		return "says that the wanted gauge was knocked or dropped"
	case "u":
		return "shows lengths in mm, in or thou, in turn"
	case "c":
		return "says that metal was changed which no pack tells"
	}
	return b.does
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
	f.comma = u.view.comma
	if f.sent {
		return // it is being written down as it stands
	}
	switch f.key(e) {
	case formLeft:
		u.view.form = nil
	case formReady:
		u.submit(f)
	}
}

// submit goes on to the form that follows from the answers, or sends the
// command that they make, after the one that comes before it.
func (u *ui) submit(f *form) {
	a := f.answers()
	if f.look != nil {
		if p := f.look(a); p != nil {
			u.view.form, u.view.page = nil, p
			return
		}
	}
	if f.then != nil {
		if on := f.then(a); on != nil {
			u.view.form = on
			return
		}
	}
	if f.first != nil {
		f.sent = u.send2(f.first(a), f.command(a), f)
		return
	}
	f.sent = u.send(f.command(a), f)
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
	var last int
	if p.steps {
		last = len(v.snap.Results.Steps) - 1
	} else {
		last = len(p.lines(v, v.width, v.height-pageRest)) - (v.height - pageRest)
	}
	screenful := v.height - pageRest - 1
	switch {
	case e.Key() == tcell.KeyEscape, isRune(e, 'q'), p.key != "" && e.Key() == tcell.KeyRune && strings.ToLower(string(e.Rune())) == p.key:
		v.page = nil
	case isRune(e, 'p') && canPress(v):
		u.press()
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
		v.form = openForm(v)
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
		v.form = entryForm(v, r)
		if isTyped(v) {
			v.form = anewForm(v, r)
		}
		if v.form == nil {
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
	p := &page{steps: true, title: "the steps", key: "l"}
	if r := u.view.shown(); r != nil {
		p.top = u.view.number(r) - 1
	}
	u.view.page = p
}

func (u *ui) sayIn(in bool) {
	r := u.view.shown()
	u.send(bench.SayIn{Step: r.Step.Name, Pack: u.view.packAsked(), In: in}, nil)
}

// take asks why a held press counts. One that came before the pieces of its
// setup were said cannot: its sum would lack them.
func (u *ui) take() {
	v := &u.view
	p, ok := v.held()
	if !ok {
		return
	}
	if st, is := v.snap.Job.Sheet.Step(p.Fact.Step); is && st.Measure != nil && len(p.Fact.Pieces) < len(st.Measure.Setup.Standards()) {
		v.note = note{text: "This press came before its pieces were said: strike it, draw the pieces (d), press again.", bad: true}
		return
	}
	v.form = takeForm(v, p)
}

// otherUnit shows lengths in the next unit.
func (u *ui) otherUnit() {
	v := &u.view
	v.unit = v.nextUnit()
	v.note = note{text: fmt.Sprintf("Lengths are shown in %s. What the bench writes in sentences stays in the sheet's unit.", v.unit)}
	if v.unit == v.snap.Job.Sheet.Unit {
		v.unit = quantity.Bare
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
