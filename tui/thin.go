package tui

import (
	"math"
	"strings"
)

// sparkParts is how many steps the value axis of a dot line has.
const sparkParts = 4

// thinDots is how many rows of dots a line of text has.
const thinDots = 4

// dotBits are the bits of a braille pattern by column and row (Unicode, U+2800 to U+28FF).
var dotBits = [2][thinDots]rune{{0x01, 0x02, 0x04, 0x40}, {0x08, 0x10, 0x20, 0x80}}

const braille = 0x2800

// thin draws a signal as one line of dots, two columns a cell: each column from its lowest to its
// highest reading between lo and hi, joined to the one before; nothing where a column is empty.
func thin(cols []column, lo, hi float64) string {
	out := make([]rune, (len(cols)+1)/2)
	was := dotRange{}
	for i := range cols {
		now := rangeOfDots(cols[i], lo, hi)
		drawn := now
		if was.any && now.any { // no hole between two columns
			drawn.top, drawn.bottom = min(now.top, was.bottom+1), max(now.bottom, was.top-1)
			drawn.top, drawn.bottom = min(drawn.top, now.bottom), max(drawn.bottom, now.top)
		}
		for y := drawn.top; drawn.any && y <= drawn.bottom; y++ {
			out[i/2] |= dotBits[i%2][y]
		}
		was = now
	}
	for i := range out {
		if out[i] += braille; out[i] == braille {
			out[i] = ' '
		}
	}
	return string(out)
}

// dotRange is the rows of dots of a column, counted from the top.
type dotRange struct {
	top, bottom int
	any         bool
}

func rangeOfDots(c column, lo, hi float64) dotRange {
	if math.IsNaN(c.lo) || !(hi > lo) {
		return dotRange{}
	}
	row := func(v float64) int {
		share := max(0, min((v-lo)/(hi-lo), 1))
		return int(math.Round((1 - share) * (thinDots - 1)))
	}
	return dotRange{row(c.hi), row(c.lo), true}
}

// inkThin keeps a dot line quiet, and makes it brighter where it moves, or all of it where it is asked
// about.
func (th *theme) inkThin(line string, asked bool) string {
	if asked {
		return th.plain.on(line)
	}
	var b strings.Builder
	cells := []rune(line)
	near := func(i int) bool { // a change of level: the cells beside it belong to it
		return moves(cells[i]) || i > 0 && moves(cells[i-1]) || i+1 < len(cells) && moves(cells[i+1])
	}
	for from := 0; from < len(cells); {
		to, moving := from+1, near(from)
		for to < len(cells) && near(to) == moving {
			to++
		}
		k := th.picture
		if moving {
			k = th.plain
		}
		b.WriteString(k.on(string(cells[from:to])))
		from = to
	}
	return b.String()
}

// moves reports whether the dots of a cell are in more than one row.
func moves(cell rune) bool {
	rows := 0
	for y := range thinDots {
		if cell > braille && (cell-braille)&(dotBits[0][y]|dotBits[1][y]) != 0 {
			rows++
		}
	}
	return rows > 1
}
