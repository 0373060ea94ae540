package tui

import "math"

// layout is how the page of pictures divides its window. Across: labels, pictures, values;
// down: the rows of the chart, of the lanes and of the list.
type layout struct {
	plot, side           int // cells of a picture, of the column of values at the right
	chart, lanes, events int // rows
	footRule             bool
}

// Rows that are always there: header, rule, state, reason, rule, strip, time axis, swing,
// rule, keys.
const fixedRows = 10

const (
	narrowSide, wideSide = 24, 40
	wideFrom             = 110 // cells
	mostEvents           = 8   // rows
)

// arrange divides a window of w by h cells for a number of lanes.
func arrange(w, h, lanes int, replay bool) layout {
	l := layout{side: narrowSide}
	if w >= wideFrom {
		l.side = wideSide
	}
	l.plot = w - axisWidth - l.side
	free := h - fixedRows
	if replay {
		free-- // the ruler
	}
	if h >= 22 {
		l.footRule = true
		free--
	}
	l.chart = max(3, int(float64(free)*0.35))
	l.lanes = max(2, min(int(math.Round(float64(free)*0.4)), max(lanes, 5)))
	l.events = min(free-l.chart-l.lanes, mostEvents)
	if l.events < 2 {
		l.lanes += l.events - 2
		l.events = 2
	}
	l.chart = free - l.lanes - l.events
	return l
}

// giveUp takes n rows away, where they are missed least.
func (l *layout) giveUp(n int) {
	for range n {
		switch {
		case l.lanes > 1:
			l.lanes--
		case l.events > 1:
			l.events--
		default:
			l.chart--
		}
	}
}
