package fitter

import "strings"

// blockRows is how high block figures are.
const blockRows = 5

// block is one block figure, its rows parted by a slash; '#' is a full cell.
// "" where there is none.
func block(r rune) string {
	switch r {
	case '0':
		return " ### /#   #/#   #/#   #/ ### "
	case '1':
		return "  #  / ##  /  #  /  #  / ### "
	case '2':
		return "#### /    #/ ### /#    /#####"
	case '3':
		return "#### /    #/  ## /    #/#### "
	case '4':
		return "#   #/#   #/#####/    #/    #"
	case '5':
		return "#####/#    /#### /    #/#### "
	case '6':
		return " ### /#    /#### /#   #/ ### "
	case '7':
		return "#####/    #/   # /  #  /  #  "
	case '8':
		return " ### /#   #/ ### /#   #/ ### "
	case '9':
		return " ### /#   #/ ####/    #/ ### "
	case '.':
		return "  /  /  /##/##"
	case '-':
		return "    /    /####/    /    "
	case '+':
		return "     /  #  /#####/  #  /     "
	}
	return letter(r)
}

func letter(r rune) string {
	switch r {
	case 'A':
		return " ### /#   #/#####/#   #/#   #"
	case 'H':
		return "#   #/#   #/#####/#   #/#   #"
	case 'I':
		return "###/ # / # / # /###"
	case 'K':
		return "#   #/#  # /###  /#  # /#   #"
	case 'L':
		return "#    /#    /#    /#    /#####"
	case 'D':
		return "#### /#   #/#   #/#   #/#### "
	case 'E':
		return "#####/#    /###  /#    /#####"
	case 'N':
		return "#   #/##  #/# # #/#  ##/#   #"
	case 'O':
		return " ### /#   #/#   #/#   #/ ### "
	case 'P':
		return "#### /#   #/#### /#    /#    "
	case 'S':
		return " ####/#    / ### /    #/#### "
	case 'T':
		return "#####/  #  /  #  /  #  /  #  "
	case ' ':
		return "  /  /  /  /  "
	}
	return ""
}

// blocks writes a figure or a word in block figures, each cell of them so many
// high and wide, with small text behind its foot; false where a character has
// no block figure or it would be wider than the room for it.
func blocks(s, behind string, width, scale int, ascii bool) ([]string, bool) {
	cell := "█"
	if ascii {
		cell = "#"
	}
	rows := make([]string, blockRows*scale)
	for _, r := range s {
		parts := strings.Split(block(r), "/")
		if len(parts) != blockRows {
			return nil, false
		}
		for i := range rows {
			for _, c := range parts[i/scale] + " " {
				fill := " "
				if c == '#' {
					fill = cell
				}
				rows[i] += strings.Repeat(fill, scale)
			}
		}
	}
	rows[len(rows)-1] += " " + behind
	for _, row := range rows {
		if cells(row) > width {
			return nil, false
		}
	}
	return rows, true
}

// The columns of the block figures: five digits and a point fit the narrow
// ones. The repeats stand right of them.
const (
	blockNarrow = 36
	blockWide   = 44
	setupWide   = 50 // of a setup's drawing
)

// What a step takes beside its block figures, and the most of their cells' size.
const (
	besideBlocks = 34 // lines
	mostScale    = 6
)

// scale is how large the block figures may be: a cell of them is so many high
// and wide. A screen on a wall shows them larger than one on the bench.
func (v *view) scale() int {
	if v.width < 2*blockWide || v.height < 36 {
		return 1
	}
	return max(2, min((v.height-besideBlocks)/blockRows, mostScale))
}

// largest is a figure in block figures as large as its room allows, between two
// sizes; false where not even the least fits.
func (v *view) largest(text, unit string, width, least, most int) ([]string, bool) {
	for scale := most; scale >= least; scale-- {
		if rows, ok := blocks(text, unit, width, scale, v.ascii); ok {
			return rows, true
		}
	}
	return nil, false
}

// word is a word in block letters, smaller than a figure.
func (v *view) word(text string) ([]string, bool) {
	return v.largest(text, "", v.width-2, 1, max(1, min(v.scale()-1, 3)))
}

// bigWith puts a label and block figures left and other lines right of them, or
// below them where they are large.
func bigWith(v *view, text, unit, label string, t tone, side []line) []line {
	if t == stop {
		t = strong // turned round, the letters would be the holes of a ragged field
	}
	var left []line
	if label != "" {
		left = append(left, say(label).cut(v.width))
	}
	if v.scale() > 1 {
		if rows, ok := v.largest(text, unit, v.width, 2, v.scale()); ok {
			for _, row := range rows {
				left = append(left, toned(t, row))
			}
			return append(left, side...)
		}
	}
	wide := blockNarrow
	rows, ok := blocks(text, unit, wide-1, 1, v.ascii)
	if !ok {
		wide = blockWide
		rows, ok = blocks(text, unit, wide-1, 1, v.ascii)
	}
	if !ok {
		left = append(left, nil, nil, toned(strong, strings.TrimSpace(text+" "+unit)), nil, nil)
		return sideBySide(left, side, wide, v.width)
	}
	for _, row := range rows {
		left = append(left, toned(t, row))
	}
	return sideBySide(left, side, wide, v.width)
}

// sideBySide puts lines right of others, which have a number of columns.
func sideBySide(left, right []line, wide, width int) []line {
	out := make([]line, max(len(left), len(right)))
	for i := range out {
		if i < len(left) {
			out[i] = left[i]
		}
		if i < len(right) {
			out[i] = append(out[i].pad(wide), right[i].cut(width-wide)...)
		}
	}
	return out
}
