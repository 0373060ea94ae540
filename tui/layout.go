package tui

// layout is how the page of pictures divides its window. Across: labels, pictures, values;
// down: the rows of the chart, of the lanes and of the list.
type layout struct {
	plot, side                 int // cells of a picture, of the column of values at the right
	wave, chart, lanes, events int // rows; chart is 0 where there is no room for it
	footRule                   bool
}

// Rows that are always there: header, rule, state, reason, rule, what is under the wave, strip,
// time axis, swing, rule, keys.
const fixedRows = 10 + waveFrame

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
	if h >= 28 || h >= 22 && !replay {
		l.footRule = true
		free--
	}
	l.wave = min(waveLeast+max(h-24, 0)/5, mostWave) // it grows with the window before anything else does
	l.events = min(2, free-l.wave)
	free -= l.wave + l.events
	if (replay || w >= wideFrom) && free >= chartLeast {
		l.chart = chartLeast
		free -= chartLeast
	}
	l.lanes = min(free, lanes)
	free -= l.lanes
	for turn := 0; free > 0; turn++ { // what is left over goes round
		switch {
		case turn%3 == 0 && l.wave < mostWave:
			l.wave++
		case turn%3 == 1 && l.chart > 0:
			l.chart++
		case turn%3 == 2 && l.events < mostEvents:
			l.events++
		case l.wave >= mostWave && l.events >= mostEvents && l.chart == 0:
			l.lanes++
		default:
			continue
		}
		free--
	}
	return l
}

// The least rows of the wave and of a chart, and the most of the wave.
const waveLeast, chartLeast, mostWave = 5, 3, 12

// giveUp takes n rows away, where they are missed least.
func (l *layout) giveUp(n int) {
	for range n {
		switch {
		case l.lanes > 1:
			l.lanes--
		case l.events > 1:
			l.events--
		case l.chart > chartLeast:
			l.chart--
		case l.lanes > 0:
			l.lanes--
		case l.footRule:
			l.footRule = false
		case l.chart > 0: // all of it: less would show nothing
			l.lanes, l.chart = l.chart-1, 0
		case l.wave > 3:
			l.wave--
		default:
			l.events--
		}
	}
}
