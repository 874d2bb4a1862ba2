package fitter

import (
	"fmt"
	"strings"
	"unicode"

	"github.com/gdamore/tcell/v2"

	"shimwright/calc/quantity"
	"shimwright/ingest/bench"
)

// mostTyped bounds what is typed in a field; the bench keeps no longer text.
const mostTyped = 300

// A form asks one thing after another on one line at the foot of the screen.
// What was typed stays until the bench has taken it.
type form struct {
	fields  []field
	at      int
	problem string
	// command makes the bench's command of the answers.
	command func(answers []string) bench.Command
	// readBack, which may be nil, says the answers in words to be confirmed
	// before they count.
	readBack func(answers []string) (string, error)
	asking   string // the words read back, once they are asked
	sent     bool   // the bench has it and has not answered
}

// A field is one question. With options a digit chooses; free, something else
// may be typed as well.
type field struct {
	ask     string
	options []string
	free    bool
	typed   string
}

// question is what the bar says while the form is open.
func (f *form) question() string {
	if f.asking != "" {
		return capital(f.asking) + ". Is that so? y or n"
	}
	q := f.fields[f.at]
	if len(q.options) == 0 {
		return q.ask
	}
	var of []string
	for i, o := range q.options {
		of = append(of, fmt.Sprintf("%d %s", i+1, o))
	}
	if q.free {
		of = append(of, "or write it")
	}
	return q.ask + " " + strings.Join(of, ", ")
}

// line is what is typed, or what was wrong with it beside.
func (f *form) line(width int) line {
	out := line{{"> ", strong}, {tail(f.fields[f.at].typed, width/2-3) + "_", strong}}
	if f.problem != "" {
		out = append(out, span{"   /!\\ " + f.problem, warn})
		if out.cells() > width {
			return line{{"/!\\ " + f.problem, warn}, {"  > " + tail(f.fields[f.at].typed, 12) + "_", strong}}.fit(width)
		}
		return out
	}
	return out
}

// fit keeps the last span of a line whole and cuts those before it.
func (l line) fit(width int) line {
	last := l[len(l)-1:]
	return append(l[:len(l)-1].cut(width-last.cells()), last...)
}

// tail is the end of a text that fits in a number of cells.
func tail(s string, most int) string {
	g := glyphs(visible(s))
	n := 0
	for i := len(g) - 1; i >= 0; i-- {
		if n += g[i].cells; n > most {
			return "…" + joined(g[i+1:])
		}
	}
	return joined(g)
}

func joined(of []glyph) string {
	var b strings.Builder
	for _, g := range of {
		b.WriteString(g.text)
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
	switch e.Key() {
	case tcell.KeyEscape:
		return formLeft
	case tcell.KeyEnter:
		return f.enter()
	case tcell.KeyBackspace, tcell.KeyBackspace2:
		if g := []rune(q.typed); len(g) > 0 {
			q.typed = string(g[:len(g)-1])
		} else if f.at > 0 {
			f.at--
		}
		f.problem = ""
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

// rune types a character, or chooses by its digit at once.
func (f *form) rune(r rune) formDone {
	q := &f.fields[f.at]
	f.problem = ""
	if n := int(r - '0'); q.typed == "" && n >= 1 && n <= len(q.options) && len(q.options) < 10 {
		q.typed = q.options[n-1]
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
	if len(q.options) > 0 && !q.choose() {
		f.problem = "choose one by its number"
		return formOpen
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

// choose turns a typed number into its option; false where it is none.
func (q *field) choose() bool {
	typed := strings.TrimSpace(q.typed)
	for i, o := range q.options {
		if typed == o || typed == fmt.Sprint(i+1) {
			q.typed = o
			return true
		}
	}
	return q.free && typed != ""
}

// failed puts the form back as it was, with why.
func (f *form) failed(err error) {
	f.asking, f.problem, f.sent = "", err.Error(), false
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
