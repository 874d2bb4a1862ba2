package draw

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"

	"shimwright/calc/network"
	"shimwright/calc/sheet"
)

// Layout of an axis drawing.
const (
	barWide  = 4  // columns a bar takes
	faceWide = 28 // the most columns the faces' names take
)

// mark is the plain mark that a kind of length is drawn with.
func mark(kind string) rune {
	switch kind {
	case "pack":
		return '#'
	case "touch":
		return 'o'
	case "wanted":
		return ':'
	case "check":
		return '?'
	case "not measured":
		return '\''
	}
	return '|'
}

// bar is one length of the drawing, between two faces by their index.
type bar struct {
	name     string
	kind     string
	from, to int
}

// Stack draws an axis: its faces down the page in the order of the sheet, each
// length as a bar between its two faces. A drawing too wide for the page goes
// on in a second panel.
func Stack(w io.Writer, p Page, s *sheet.Sheet, axis string) error {
	i := slices.IndexFunc(s.Net.Axes(), func(a network.Axis) bool { return a.Name == axis })
	if i < 0 {
		return fmt.Errorf("%q is no axis of sheet %s", axis, s.ID)
	}
	t := p.sheet()
	faces := s.Net.Axes()[i].Faces
	bars := barsOf(s, faces)
	t.line(axis + " axis")
	wide := 0
	for _, f := range faces {
		wide = max(wide, min(columns(f), faceWide))
	}
	per := max(1, (t.width-wide-3)/barWide)
	for first := 0; first < len(bars); first += per {
		t.blank()
		t.panel(faces, bars[first:min(first+per, len(bars))], first, wide)
	}
	t.blank()
	t.legend(bars)
	return t.to(w)
}

// barsOf are the lengths and touches of an axis, from the top down.
func barsOf(s *sheet.Sheet, faces []string) []bar {
	var out []bar
	add := func(name, kind, from, to string) {
		i, j := slices.Index(faces, from), slices.Index(faces, to)
		if i >= 0 && j >= 0 {
			out = append(out, bar{name, kind, i, j})
		}
	}
	for _, l := range s.Net.Lengths() {
		add(l.Name, kindOf(s, l), l.From, l.To)
	}
	for _, sh := range s.Shafts {
		for _, b := range sh.Bearings {
			add(fmt.Sprintf("the %s bearing of the %s", b.Name, sh.Name), "touch", b.From, b.To)
		}
	}
	slices.SortStableFunc(out, func(a, b bar) int {
		return cmp.Or(cmp.Compare(a.from, b.from), cmp.Compare(b.to, a.to))
	})
	return out
}

func kindOf(s *sheet.Sheet, l network.Length) string {
	switch l.Kind {
	case network.Pack:
		return "pack"
	case network.Wanted:
		return "wanted"
	case network.Check:
		return "check"
	}
	if s.Giver(l.Name, false) == nil {
		return "not measured"
	}
	return "found"
}

// panel draws faces and some of the bars.
func (t *text) panel(faces []string, bars []bar, first, wide int) {
	head := strings.Repeat(" ", wide+2)
	for i := range bars {
		head += padLeft(letter(first+i), barWide-1) + " "
	}
	t.line(head)
	for i, f := range faces {
		for n, part := range cut(f, wide) {
			if n > 0 {
				t.line(pad(part, wide) + gap(bars, i))
				continue
			}
			t.line(pad(part, wide) + " " + plane(bars, i))
		}
		if i < len(faces)-1 {
			t.line(strings.Repeat(" ", wide) + gap(bars, i))
		}
	}
}

// plane is a face's line across the bars: a cross where a bar begins or ends.
func plane(bars []bar, face int) string {
	out := "-"
	for _, b := range bars {
		at := '-'
		switch {
		case b.from == face || b.to == face:
			at = '+'
		case b.from < face && face < b.to:
			at = mark(b.kind)
		}
		out += "--" + string(at) + "-"
	}
	return out
}

// gap is a line between a face and the next.
func gap(bars []bar, face int) string {
	out := "  "
	for _, b := range bars {
		at := ' '
		if b.from <= face && face < b.to {
			at = mark(b.kind)
		}
		out += "  " + string(at) + " "
	}
	return out
}

// cut breaks a long name into lines of at most wide columns.
func cut(s string, wide int) []string {
	t := &text{width: wide}
	t.wrap("", 0, s)
	return strings.Split(strings.TrimRight(t.b.String(), "\n"), "\n")
}

// letter names a bar: A to Z, then AA, AB.
func letter(i int) string {
	if i < 26 {
		return string(rune('A' + i))
	}
	return letter(i/26-1) + letter(i%26)
}

// legend says what each bar is, and the words that need saying.
func (t *text) legend(bars []bar) {
	used := map[string]bool{}
	for i, b := range bars {
		used[b.kind] = true
		say := b.name + ", " + b.kind
		if b.kind == "touch" {
			say = "touch at " + b.name
		}
		t.wrap(fmt.Sprintf("  %2s %c  ", letter(i), mark(b.kind)), -1, say)
	}
	for _, note := range []struct{ kind, say string }{
		{"wanted", "Wanted: what a pack must make true; no reading gives it."},
		{"touch", "Touch: two faces that meet, nought while the bearing carries."},
		{"not measured", "Not measured: drawn because it carries the signs."},
		{"check", "Check: measured, and known another way round as well."},
	} {
		if used[note.kind] {
			t.wrap("  ", 2, note.say)
		}
	}
}
