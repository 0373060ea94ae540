package tui

import "strings"

// fontRows is the height of a large letter.
const fontRows = 8

// font is the large letters, those that the words of the states need; each row of a letter
// is four or five dots wide.
var font = map[rune][fontRows]string{
	'A': {" ## ", "#  #", "#  #", "#  #", "####", "#  #", "#  #", "#  #"},
	'B': {"### ", "#  #", "#  #", "### ", "#  #", "#  #", "#  #", "### "},
	'C': {" ###", "#   ", "#   ", "#   ", "#   ", "#   ", "#   ", " ###"},
	'D': {"### ", "#  #", "#  #", "#  #", "#  #", "#  #", "#  #", "### "},
	'E': {"####", "#   ", "#   ", "### ", "#   ", "#   ", "#   ", "####"},
	'F': {"####", "#   ", "#   ", "### ", "#   ", "#   ", "#   ", "#   "},
	'G': {" ###", "#   ", "#   ", "#   ", "# ##", "#  #", "#  #", " ###"},
	'H': {"#  #", "#  #", "#  #", "####", "#  #", "#  #", "#  #", "#  #"},
	'I': {"#", "#", "#", "#", "#", "#", "#", "#"},
	'J': {"   #", "   #", "   #", "   #", "   #", "   #", "#  #", " ## "},
	'K': {"#  #", "#  #", "# # ", "##  ", "##  ", "# # ", "#  #", "#  #"},
	'L': {"#   ", "#   ", "#   ", "#   ", "#   ", "#   ", "#   ", "####"},
	'M': {"#   #", "## ##", "# # #", "# # #", "#   #", "#   #", "#   #", "#   #"},
	'N': {"#   #", "##  #", "##  #", "# # #", "# # #", "#  ##", "#  ##", "#   #"},
	'O': {" ## ", "#  #", "#  #", "#  #", "#  #", "#  #", "#  #", " ## "},
	'P': {"### ", "#  #", "#  #", "#  #", "### ", "#   ", "#   ", "#   "},
	'Q': {" ## ", "#  #", "#  #", "#  #", "#  #", "# ##", "#  #", " ###"},
	'R': {"### ", "#  #", "#  #", "#  #", "### ", "# # ", "#  #", "#  #"},
	'S': {" ###", "#   ", "#   ", " ## ", "   #", "   #", "   #", "### "},
	'T': {"###", " # ", " # ", " # ", " # ", " # ", " # ", " # "},
	'U': {"#  #", "#  #", "#  #", "#  #", "#  #", "#  #", "#  #", " ## "},
	'W': {"#   #", "#   #", "#   #", "#   #", "# # #", "# # #", "## ##", "#   #"},
	'Y': {"#   #", "#   #", " # # ", "  #  ", "  #  ", "  #  ", "  #  ", "  #  "},
	'?': {" ## ", "#  #", "   #", "  # ", " #  ", " #  ", "    ", " #  "},
	' ': {"  ", "  ", "  ", "  ", "  ", "  ", "  ", "  "},
}

// fontForm is how wide the dots of a letter are drawn: the outer two, and those between.
type fontForm struct{ outer, inner, gap int }

// fontForms are the forms, the widest first.
var fontForms = [...]fontForm{{3, 2, 2}, {2, 1, 1}, {1, 1, 1}}

// bigLine draws text in large letters; characters the font does not have are left out.
func bigLine(text string, f fontForm) [fontRows]string {
	var rows [fontRows]strings.Builder
	for i, r := range text {
		letter, ok := font[r]
		if !ok {
			continue
		}
		for y := range rows {
			if i > 0 {
				rows[y].WriteString(spaces(f.gap))
			}
			for x, dot := range letter[y] {
				n := f.inner
				if x == 0 || x == len(letter[y])-1 {
					n = f.outer
				}
				rows[y].WriteString(strings.Repeat(string(dotRune(dot)), n))
			}
		}
	}
	var out [fontRows]string
	for y := range rows {
		out[y] = rows[y].String()
	}
	return out
}

func dotRune(dot rune) rune {
	if dot == '#' {
		return '█'
	}
	return ' '
}
