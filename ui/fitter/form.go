package fitter

import (
	"fmt"
	"strings"
	"unicode"

	"github.com/gdamore/tcell/v2"

	"shimwright/calc/quantity"
	"shimwright/ingest/bench"
	"shimwright/ui/draw"
)

// mostTyped bounds what is typed in a field; the bench keeps no longer text.
const mostTyped = 300

// A form asks one thing after another on one line at the foot of the screen.
// What was typed stays until the bench has taken it.
type form struct {
	fields  []field
	at      int
	problem string
	// command makes the bench's command of the answers; first, which may be nil,
	// one that goes before it.
	command func(answers []string) bench.Command
	first   func(answers []string) bench.Command
	// then, which may be nil, gives the form that follows instead of a command;
	// nil where the command is meant.
	then func(answers []string) *form
	// readBack, which may be nil, says the answers in words to be confirmed
	// before they count.
	readBack func(answers []string) (string, error)
	// look, which may be nil, may show a page in place of a command.
	look   func(answers []string) *page
	asking string // the words read back, once they are asked
	sent   bool   // the bench has it and has not answered
	comma  bool   // figures are typed with a decimal comma
}

// A field is one question. With options a digit chooses; free, something else
// may be typed as well.
type field struct {
	ask     string
	options []string
	letters string // one for each option, by which it is chosen in place of its number
	free    bool
	many    bool // several may be chosen, by their numbers with blanks between
	typed   string
	fresh   bool // typed stands there already: the first character takes its place
	secret  bool // shown as dots
	figure  bool // it is a figure, or several
	follows bool // it is asked because of the answers before it, and gone once one is given anew
	check   func(typed string) error
	// flank, which may be nil, is the map that the options are places on; at is
	// the one that the arrows are on, from 1.
	flank *draw.Flank
	at    int
}

// mostAsked is how many options stand in the question; more are listed above it.
const mostAsked = 7

// listed tells whether the options stand in a list of their own.
func (q *field) listed() bool { return len(q.options) > mostAsked || q.flank != nil }

// question is what the bar says while the form is open.
func (f *form) question() string {
	if f.asking != "" {
		return capital(f.asking) + ". Is that so? y or n"
	}
	q := f.fields[f.at]
	if len(q.options) == 0 {
		return q.ask
	}
	if q.flank != nil {
		return q.ask + " its number, or the arrows and Enter"
	}
	if q.listed() {
		out := q.ask + " by its number in the list above"
		if q.many {
			out = q.ask + " by their numbers in the list above, a blank between"
		}
		if q.free {
			out += ", or write it"
		}
		return out
	}
	var of []string
	for i, o := range q.options {
		of = append(of, q.by(i)+" "+o)
	}
	if q.free {
		of = append(of, "or write it")
	}
	return q.ask + " " + strings.Join(of, ", ")
}

// by is what an option is chosen by.
func (q *field) by(i int) string {
	if i < len(q.letters) {
		return q.letters[i : i+1]
	}
	return fmt.Sprint(i + 1)
}

// lines are what is typed, with what was wrong with it beside, or below where it
// is long.
func (f *form) lines(width int) []line {
	typed := f.fields[f.at].typed
	if f.fields[f.at].secret {
		typed = strings.Repeat("*", len([]rune(typed)))
	}
	out := line{{"> ", strong}, {tail(typed, width/2-3) + "_", strong}}
	if f.problem == "" {
		return []line{out}
	}
	if beside := append(out[:2:2], span{"   /!\\ " + f.problem, warn}); beside.cells() <= width {
		return []line{beside}
	}
	return append([]line{out}, lines(warn, "/!\\ "+f.problem, width, mostAnswer)...)
}

// tail is the end of a text that fits in a number of cells.
func tail(s string, most int) string {
	g := glyphs(visible(s))
	n := 0
	for i := len(g) - 1; i >= 0; i-- {
		if n += g[i].Cells; n > most {
			return "…" + joined(g[i+1:])
		}
	}
	return joined(g)
}

func joined(of []draw.Glyph) string {
	var b strings.Builder
	for _, g := range of {
		b.WriteString(g.Text)
	}
	return b.String()
}

func (f *form) answers() []string {
	out := make([]string, len(f.fields))
	for i, q := range f.fields {
		out[i] = strings.TrimSpace(q.typed)
	}
	return out
}

// What came of a key in a form.
type formDone uint8

const (
	formOpen  formDone = iota
	formLeft           // the person left it
	formReady          // all is answered: send it
)

// key takes one key in.
func (f *form) key(e *tcell.EventKey) formDone {
	if f.asking != "" {
		return f.confirm(e)
	}
	q := &f.fields[f.at]
	if q.move(e.Key()) {
		return formOpen
	}
	switch e.Key() {
	case tcell.KeyEscape:
		return formLeft
	case tcell.KeyEnter:
		return f.enter()
	case tcell.KeyBackspace, tcell.KeyBackspace2:
		if g := []rune(q.typed); q.fresh && len(q.options) > 0 {
			q.typed = "" // a choice is taken or not, never half
		} else if len(g) > 0 {
			q.typed = string(g[:len(g)-1])
		} else if f.at > 0 {
			f.at--
			f.fields[f.at].fresh = f.fields[f.at].typed != ""
		}
		q.fresh, f.problem = false, ""
	case tcell.KeyRune:
		return f.rune(e.Rune())
	}
	return formOpen
}

func (f *form) confirm(e *tcell.EventKey) formDone {
	switch {
	case isRune(e, 'y'):
		return formReady
	case e.Key() == tcell.KeyEscape, isRune(e, 'n'):
		f.asking = ""
	}
	return formOpen
}

// rune types a character, or chooses by its digit or letter at once.
func (f *form) rune(r rune) formDone {
	q := &f.fields[f.at]
	f.problem = ""
	if q.fresh && unicode.IsPrint(r) {
		q.typed, q.fresh = "", false
	}
	if i := q.chosen(r); i >= 0 {
		q.typed = q.options[i]
		return f.enter()
	}
	if len([]rune(q.typed)) < mostTyped && unicode.IsPrint(r) {
		q.typed += string(r)
	}
	return formOpen
}

// enter goes on to the next question; after the last the form is ready, or is
// read back first.
func (f *form) enter() formDone {
	q := &f.fields[f.at]
	if q.flank != nil && q.typed == "" {
		q.typed = fmt.Sprint(q.at)
	}
	if len(q.options) > 0 && !q.choose() {
		f.problem = "choose one by its number"
		if q.letters != "" {
			f.problem, q.typed = "choose one by its letter", ""
		}
		return formOpen
	}
	if f.comma && q.figure {
		q.typed = withPoints(q.typed)
	}
	if q.check != nil {
		if err := q.check(strings.TrimSpace(q.typed)); err != nil {
			f.problem, q.fresh = err.Error(), true
			return formOpen
		}
	}
	q.fresh = false
	for n := len(f.fields) - 1; n > f.at && f.fields[n].follows; n-- {
		f.fields = f.fields[:n]
	}
	if f.at < len(f.fields)-1 {
		f.at++
		return formOpen
	}
	if f.readBack == nil {
		return formReady
	}
	words, err := f.readBack(f.answers())
	if err != nil {
		f.problem = err.Error()
		return formOpen
	}
	f.asking = words
	return formOpen
}

// failed puts the form back, at the answer that the error speaks of, else at
// the first one, with why.
func (f *form) failed(err error) {
	f.asking, f.problem, f.sent = "", err.Error(), false
	at := 0
	for i, q := range f.fields {
		if t := strings.TrimSpace(q.typed); t != "" && strings.Contains(f.problem, t) {
			at = i
		}
	}
	f.at = at
	f.fields[at].fresh = f.fields[at].typed != ""
	if len(f.fields[at].options) > 0 {
		f.fields[at].typed = ""
	}
}

// withUnit gives a figure typed without a unit the one that was asked for, and
// parts a figure from a unit typed right behind it.
func withUnit(s string, u quantity.Unit) string {
	s = strings.TrimSpace(s)
	i := strings.IndexFunc(s, unicode.IsLetter)
	switch {
	case s == "":
		return s
	case i < 0:
		return s + " " + u.String()
	case i > 0 && s[i-1] != ' ':
		return s[:i] + " " + s[i:]
	}
	return s
}

// lengthsTyped splits figures typed with blanks or plus signs between them:
// "1.00 0.30 mm" and "1.00 mm + 0.30 mm" alike. A comma parts nothing, because
// many write it for the point.
func lengthsTyped(s string, u quantity.Unit) []string {
	var out []string
	for _, w := range strings.FieldsFunc(s, func(r rune) bool { return r == ' ' || r == '+' }) {
		if strings.IndexFunc(w, unicode.IsLetter) == 0 && len(out) > 0 {
			out[len(out)-1] = strings.TrimSuffix(out[len(out)-1], " "+u.String()) + " " + w
			continue
		}
		out = append(out, withUnit(w, u))
	}
	return out
}
