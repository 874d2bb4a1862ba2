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

// blocks writes a figure or one of a few words in block figures, with small
// text behind its foot; false where a character has no block figure or it
// would be wider than the room for it.
func blocks(s, behind string, width int) ([blockRows]string, bool) {
	var rows [blockRows]string
	for _, r := range s {
		parts := strings.Split(block(r), "/")
		if len(parts) != blockRows {
			return rows, false
		}
		for i, p := range parts {
			rows[i] += strings.ReplaceAll(p, "#", "█") + " "
		}
	}
	rows[blockRows-1] += " " + behind
	for _, row := range rows {
		if cells(row) > width {
			return rows, false
		}
	}
	return rows, true
}
