package draw

import (
	"io"
	"strings"
	"unicode/utf8"

	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
)

// DefaultWidth is the columns of a page whose width is not said.
const DefaultWidth = 80

// leastWidth keeps a column for words beside a column of figures.
const leastWidth = 60

// A Page says how text is laid out.
type Page struct {
	Width  int           // columns; 0 is DefaultWidth, at least 60
	Unit   quantity.Unit // the unit of lengths
	Places int32         // decimals of lengths worked out
	Force  quantity.Unit // of forces; N where it is not said
	Torque quantity.Unit // of torques; N.m where it is not said
}

// PageFor is a page of the default width in a sheet's unit.
func PageFor(s *sheet.Sheet) Page {
	force, _ := s.ShownIn(quantity.Force)
	torque, _ := s.ShownIn(quantity.Torque)
	return Page{Width: DefaultWidth, Unit: s.Unit, Places: s.Places, Force: force, Torque: torque}
}

func (p Page) sheet() *text {
	width := p.Width
	if width == 0 {
		width = DefaultWidth
	}
	return &text{width: max(width, leastWidth)}
}

// text is a page being written.
type text struct {
	b     strings.Builder
	width int
}

func (t *text) to(w io.Writer) error {
	_, err := io.WriteString(w, t.b.String())
	return err
}

// line writes one line as it is, without blanks at its end.
func (t *text) line(s string) {
	t.b.WriteString(strings.TrimRight(strings.ReplaceAll(s, hardBlank, " "), " "))
	t.b.WriteByte('\n')
}

func (t *text) blank() { t.b.WriteByte('\n') }

// wrap writes words behind a first prefix; further lines hang under the words,
// or under the column given by hang where that is not negative.
func (t *text) wrap(prefix string, hang int, words string) {
	if hang < 0 {
		hang = columns(prefix)
	}
	at := prefix
	empty := true
	for _, word := range glued(words) {
		if !empty && columns(at)+1+columns(word) > t.width {
			t.line(at)
			at, empty = strings.Repeat(" ", hang), true
		}
		if !empty {
			at += " "
		}
		at += word
		empty = false
	}
	t.line(at)
}

// hardBlank is a blank at which no line breaks.
const hardBlank = "\x00"

// whole keeps words on one line.
func whole(s string) string { return strings.ReplaceAll(s, " ", hardBlank) }

func columns(s string) int { return utf8.RuneCountInString(s) }

// glued splits words at blanks, but keeps a figure with its unit and a sign
// with its figure.
func glued(words string) []string {
	var out []string
	for _, word := range strings.Fields(words) {
		if n := len(out); n > 0 && sticks(out[n-1], word) {
			out[n-1] += " " + word
			continue
		}
		out = append(out, word)
	}
	return out
}

func sticks(before, word string) bool {
	last := before[strings.LastIndexByte(before, ' ')+1:]
	if last == "+" || last == "-" || last == "=" || last == "×" || word == "×" {
		return true
	}
	unit := strings.TrimRight(word, ".,:;)")
	if _, err := quantity.ParseUnit(unit); err != nil {
		return false
	}
	return last[len(last)-1] >= '0' && last[len(last)-1] <= '9'
}

// pad fills a text with blanks up to a number of columns.
func pad(s string, to int) string { return s + strings.Repeat(" ", max(0, to-columns(s))) }

// padLeft fills a text with blanks before it.
func padLeft(s string, to int) string { return strings.Repeat(" ", max(0, to-columns(s))) + s }
