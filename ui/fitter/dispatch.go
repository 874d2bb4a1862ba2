package fitter

import (
	"strings"
	"unicode"

	"github.com/gdamore/tcell/v2"
)

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
