package fitter

import (
	"fmt"
	"strings"
	"unicode"

	"github.com/gdamore/tcell/v2"
)

// choose turns a typed number into its option; false where it is none.
func (q *field) choose() bool {
	typed := strings.TrimSpace(q.typed)
	if q.many {
		return q.chooseMany(typed)
	}
	for i, o := range q.options {
		if typed == o || typed == fmt.Sprint(i+1) {
			q.typed = o
			return true
		}
	}
	return q.free && typed != ""
}

// chooseMany turns numbers, or names with commas between, into names with
// commas between.
func (q *field) chooseMany(typed string) bool {
	names := strings.FieldsFunc(typed, func(r rune) bool { return r == ',' })
	if strings.IndexFunc(typed, func(r rune) bool { return !unicode.IsDigit(r) && r != ' ' && r != ',' }) < 0 {
		names = strings.FieldsFunc(typed, func(r rune) bool { return r == ' ' || r == ',' })
	}
	var out []string
	for _, name := range names {
		one := field{options: q.options, typed: strings.TrimSpace(name), free: q.free}
		if !one.choose() {
			return false
		}
		out = append(out, one.typed)
	}
	q.typed = strings.Join(out, ", ")
	return len(out) > 0
}

// chosen is the option that one key chooses; below nought where it chooses none.
func (q *field) chosen(r rune) int {
	switch {
	case q.typed != "" || q.many || len(q.options) > 9:
		return -1
	case q.letters != "":
		return strings.IndexRune(q.letters, unicode.ToLower(r))
	}
	if n := int(r - '0'); n >= 1 && n <= len(q.options) {
		return n - 1
	}
	return -1
}

// move goes over the map of a flank by the arrows.
func (q *field) move(k tcell.Key) bool {
	if q.flank == nil {
		return false
	}
	right, down := 0, 0
	switch k {
	case tcell.KeyLeft:
		right = -1
	case tcell.KeyRight:
		right = 1
	case tcell.KeyUp:
		down = -1
	case tcell.KeyDown:
		down = 1
	default:
		return false
	}
	q.at, q.typed = q.flank.Near(q.at, right, down), ""
	return true
}

// formLines are what stands above the question while a form is open: the map of
// a flank, or the options by their numbers. nil where neither is.
func formLines(v *view, room int) []line {
	if v.form == nil {
		return nil
	}
	q := v.form.fields[v.form.at]
	switch {
	case q.flank != nil:
		f := *q.flank
		f.Seen = q.options[max(1, min(q.at, len(q.options)))-1]
		return drawn(f.Rows(v.look(v.width, room)))
	case q.listed():
		return optionLines(q.options, v.width, room)
	}
	return nil
}

// optionLines are numbered options in as many columns as they need.
func optionLines(options []string, width, room int) []line {
	room = max(room, 1)
	cols := (len(options) + room - 1) / room
	each := width / max(cols, 1)
	rows := (len(options) + cols - 1) / max(cols, 1)
	out := make([]line, rows)
	for i, o := range options {
		out[i%rows] = append(out[i%rows], say(fmt.Sprintf("%2d %s", i+1, o)).pad(each-1)...)
		out[i%rows] = append(out[i%rows], span{" ", plain})
	}
	return out
}
