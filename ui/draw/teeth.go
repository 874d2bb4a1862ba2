package draw

import (
	"fmt"
	"slices"
	"strings"
)

// A flank is drawn as a field of places: toe left, heel right, tip above, root
// below.
const (
	flankCols = 5
	flankRows = 3
	placeWide = 6 // cells of a place
)

// A Flank is one flank of the wheel's teeth with what may be seen there.
type Flank struct {
	Name  string
	Marks []string // the sheet's words, in its order
	Good  []string // those that are as they should be
	Seen  string   // what was seen, or is chosen now; "" for nothing yet
}

// placeOf is where a word stands on the flank; false for a word that is not a
// place on it.
func placeOf(word string) (col, row int, ok bool) {
	col, row = 2, 1
	has := func(s string) bool { return strings.Contains(" "+strings.ToLower(word)+" ", " "+s+" ") }
	near := 1
	if has("slightly") || has("little") {
		near = 0
	}
	switch {
	case has("toe"):
		col, ok = 1-near, true
	case has("heel"):
		col, ok = 3+near, true
	}
	switch {
	case has("high"), has("tip"):
		row, ok = 0, true
	case has("low"), has("root"):
		row, ok = 2, true
	}
	return col, row, ok || has("central") || has("centre") || has("middle")
}

// Rows draws the flank as a map with the number of each word at its place, the
// one seen shaded; beside it the words by their numbers.
func (f Flank) Rows(look Look) []Row {
	shade, left := "▒", "toe "
	if look.ASCII {
		shade = "%"
	}
	wide := flankCols*placeWide + 2
	g := newGrid(len(left)+wide+5, flankRows+4)
	g.write(len(left)+wide/2-2, 0, "tip", Faint)
	g.write(len(left)+wide/2-2, flankRows+3, "root", Faint)
	g.write(0, 2+flankRows/2, left, Faint)
	g.write(len(left)+wide+1, 2+flankRows/2, "heel", Faint)
	edge := "+" + strings.Repeat("-", wide-2) + "+"
	g.write(len(left), 1, edge, Faint)
	g.write(len(left), flankRows+2, edge, Faint)
	for y := range flankRows {
		g.write(len(left), 2+y, "|", Faint)
		g.write(len(left)+wide-1, 2+y, "|", Faint)
	}
	for i, word := range f.Marks {
		col, row, ok := placeOf(word)
		if !ok {
			continue
		}
		x, y := len(left)+1+col*placeWide, 2+row
		tone := Plain
		if word == f.Seen {
			tone = Strong
			for n := range placeWide {
				g.put(x+n, y, shade, tone)
			}
		}
		for !g.free(x+1, y, 3) && word != f.Seen && x < g.wide {
			x += 3 // another word stands at this place
		}
		g.write(x+1, y, fmt.Sprintf(" %d ", i+1), tone)
	}
	return beside(g.rows(), f.words(), g.wide+2, look.Width)
}

// words are the flank's name and its words by number.
func (f Flank) words() []Row {
	out := []Row{{{Visible(f.Name) + ":", Strong}}}
	for i, word := range f.Marks {
		text, tone := fmt.Sprintf("  %d %s", i+1, Visible(word)), Plain
		if slices.Contains(f.Good, word) {
			text += " (good)"
		}
		if word == f.Seen {
			text, tone = "> "+text[2:], Strong
		}
		out = append(out, Row{{text, tone}})
	}
	return out
}

// Near is the number, from 1, of the word that stands nearest from the one
// chosen in a direction on the map; the one chosen where none does. With none
// chosen it is the word in the middle, or the first.
func (f Flank) Near(chosen, right, down int) int {
	if chosen < 1 || chosen > len(f.Marks) {
		for i, word := range f.Marks {
			if c, r, ok := placeOf(word); ok && c == 2 && r == 1 {
				return i + 1
			}
		}
		return 1
	}
	col, row, ok := placeOf(f.Marks[chosen-1])
	if !ok {
		return max(1, min(len(f.Marks), chosen+right+down))
	}
	best, far := chosen, 1<<30
	for i, word := range f.Marks {
		c, r, ok := placeOf(word)
		along := (c-col)*right + (r-row)*down
		if !ok || i == chosen-1 || along <= 0 {
			continue
		}
		across := (c-col)*down + (r-row)*right
		if d := along*along + 4*across*across; d < far {
			best, far = i+1, d
		}
	}
	return best
}
