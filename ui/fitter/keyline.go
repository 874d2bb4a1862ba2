package fitter

import (
	"fmt"
)

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
	bound, last := bindings(), []string{}
	called := v.calledWords()
	if called != "" {
		all = append(all, "m", called)
	}
	for i, b := range bound {
		switch {
		case i >= len(bound)-lastKeys:
			if b.key != "m" || called == "" && b.when(v) {
				last = append(last, b.key, b.does)
			}
		case b.when(v):
			all = append(all, b.key, b.does)
		}
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
		var out []line
		key := func(now bool, name, does string) {
			t := plain
			if now {
				t = strong
			}
			out = append(out, hanging(span{fmt.Sprintf("  %-15s", name), t}, does, width, 3)...)
		}
		key(true, "Enter or Space", "go on: confirms, or asks for what the step wants; a foot pedal does too")
		key(true, "↑ ↓", "the step before, the step after")
		key(true, "Backspace twice", "strikes the last press")
		for _, b := range bindings() {
			key(b.when(v), b.key, b.long)
			if b.key == "m" {
				for _, s := range sayings() {
					key(s.can(v), "m "+s.letter, s.name+": "+s.long)
				}
			}
		}
		out = append(out, nil, say("Those in bold do something now. Beeps: taken 1, put aside 2, held 3."))
		return append(out, lines(plain, v.shop.Words, width, mostShop)...)
	}}
}
