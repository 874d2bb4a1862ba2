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
