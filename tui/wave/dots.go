package wave

import (
	"math"
	"time"
)

// Braille patterns have two by four dots a cell (Unicode, U+2800 to U+28FF); bits of the dots by
// column and row.
var dotBits = [2][4]uint8{{0x01, 0x02, 0x04, 0x40}, {0x08, 0x10, 0x20, 0x80}}

const braille = '\u2800'

// canvas is a field of dots, cols by rows cells.
type canvas struct {
	cols, rows int
	cells      []uint8
}

func newCanvas(cols, rows int) *canvas {
	cols, rows = max(cols, 1), max(rows, 1)
	return &canvas{cols, rows, make([]uint8, cols*rows)}
}

// set sets the dot x, y, counted from the upper left; outside nothing is set.
func (c *canvas) set(x, y int) {
	if x < 0 || y < 0 || x >= 2*c.cols || y >= 4*c.rows {
		return
	}
	c.cells[y/4*c.cols+x/2] |= dotBits[x%2][y%4]
}

// join sets the dots of the straight way between two.
func (c *canvas) join(x, y, toX, toY int) {
	n := max(abs(toX-x), abs(toY-y), 1)
	for i := 0; i <= n; i++ {
		c.set(x+round(float64(i*(toX-x))/float64(n)), y+round(float64(i*(toY-y))/float64(n)))
	}
}

func abs(x int) int { return max(x, -x) }

func round(x float64) int { return int(math.Round(x)) }

// Row is one row of a picture. A cell of it is of the wave, of the lines behind it, or blank.
type Row struct {
	Text string
	Wave []bool // of each cell: the wave passes through it
}

// Scale is where a picture lies in time and on its value axis.
type Scale struct {
	From, To time.Duration
	Reach    float64 // rpm at the upper edge; the lower one is as far below zero
}

func (s Scale) x(at time.Duration, dots int) int {
	return int(float64(at-s.From) / float64(max(s.To-s.From, 1)) * float64(dots))
}

// y is the row of dots of a value; beyond the axis it is its edge.
func (s Scale) y(rpm float64, dots int) int {
	share := (s.Reach - rpm) / (2 * s.Reach)
	return round(max(0, min(share, 1)) * float64(dots-1))
}

// Dots draws a trace in cols by rows cells: its line, or single points where the readings are too
// few, the alarm level as dotted lines, and each time of bars as a dotted upright line.
func (t *Trace) Dots(s Scale, alarmRPM float64, cols, rows int, bars ...time.Duration) []Row {
	wave, behind := newCanvas(cols, rows), newCanvas(cols, rows)
	if !(s.Reach > 0) || s.To <= s.From {
		return rowsOf(wave, behind)
	}
	wide, high := 2*wave.cols, 4*wave.rows
	if alarmRPM > 0 && alarmRPM/2 <= s.Reach {
		for x := 0; x < wide; x += 3 {
			behind.set(x, s.y(alarmRPM/2, high))
			behind.set(x, s.y(-alarmRPM/2, high))
		}
	}
	for _, at := range bars {
		for y := 0; y < high; y += 2 {
			behind.set(s.x(at, wide), y)
		}
	}
	px, py := 0, 0
	for i, p := range t.Points {
		x, y := s.x(p.At, wide), s.y(p.RPM, high)
		if i > 0 && !p.First && t.Line() {
			wave.join(px, py, x, y)
		} else {
			wave.set(x, y)
		}
		px, py = x, y
	}
	return rowsOf(wave, behind)
}

// rowsOf puts the wave over what is behind it. In a cell that the wave passes through flat it is alone:
// beside other dots it could not be told from them. A cell without a dot is a space.
func rowsOf(wave, behind *canvas) []Row {
	rows := make([]Row, wave.rows)
	for r := range rows {
		text, is := make([]rune, wave.cols), make([]bool, wave.cols)
		for i := range text {
			k := r*wave.cols + i
			text[i] = ' '
			dots := wave.cells[k]
			if dots == 0 || steep(dots) {
				dots |= behind.cells[k]
			}
			if dots != 0 {
				text[i] = braille + rune(dots)
			}
			is[i] = wave.cells[k] != 0
		}
		rows[r] = Row{string(text), is}
	}
	return rows
}

// steep reports whether the dots of a cell are in three rows or more.
func steep(dots uint8) bool {
	rows := 0
	for y := range 4 {
		if dots&(dotBits[0][y]|dotBits[1][y]) != 0 {
			rows++
		}
	}
	return rows >= 3
}

// Thin draws readings between lo and hi as one line of dots in one row of cells. A reading holds
// until the next one, and no longer than hold: a gap in the data is a gap in the picture.
func Thin(rs []Reading, s Scale, lo, hi float64, hold time.Duration, cols int) string {
	c := newCanvas(cols, 1)
	if !(hi > lo) || s.To <= s.From {
		return rowsOf(c, c)[0].Text
	}
	wide := 2 * c.cols
	level := func(v float64) int { return round((1 - max(0, min((v-lo)/(hi-lo), 1))) * 3) }
	px, py, joined := 0, 0, false
	for i := max(place(rs, s.From)-1, 0); i < len(rs) && rs[i].At <= s.To; i++ {
		if !usable(rs[i].Value) {
			joined = false
			continue
		}
		x, y := s.x(rs[i].At, wide), level(rs[i].Value)
		if joined {
			c.join(px, py, x, y)
		}
		until := min(rs[i].At+hold, s.To)
		joined = i+1 < len(rs) && rs[i+1].At <= rs[i].At+hold
		if joined {
			until = rs[i+1].At
		}
		px, py = max(x, s.x(until, wide)-1), y
		c.join(max(x, 0), y, px, y)
	}
	return rowsOf(c, c)[0].Text
}
