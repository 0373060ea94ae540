package tui

import (
	"math"
	"strings"
	"time"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/prose"

	"github.com/guptarohit/asciigraph"
)

// axisWidth is the width of a chart's labels with the axis line.
const axisWidth = 10

// Bounds within which asciigraph counts its rows without overflow.
const leastSpan, mostValue = 1e-6, 1e10

// drawChart draws the lowest and the highest reading of each column as two lines between lo
// and hi, rows high, with labels axisWidth wide at the left. The first of cols is the column
// before the picture: each cell shows the way from one column to the next, so n+1 columns
// make n cells. It returns rows lines, each axisWidth+n cells or less.
//
// It is the only caller of asciigraph, and keeps from it what it cannot bear: an
// empty series and infinite values panic, bounds that data passes are moved, and a width
// makes it interpolate, which can draw a slow wave that does not exist. Here a value beyond the
// bounds (a stopped engine, which the axis does not follow) is not drawn, and each column has
// exactly one value a line.
func drawChart(cols []column, lo, hi float64, rows int) []string {
	rows = max(rows, 2)
	if !(hi-lo > leastSpan) || !(math.Abs(lo) < mostValue) || !(math.Abs(hi) < mostValue) {
		return emptyChart(rows)
	}
	if len(cols) == 0 {
		cols = []column{emptyColumn}
	}
	low, high := make([]float64, len(cols)), make([]float64, len(cols))
	for i, c := range cols {
		low[i], high[i] = within(c.lo, lo, hi), within(c.hi, lo, hi)
	}
	label := func(v float64) string { return right(amount(v+lo, "rpm"), axisWidth-2) }
	text := asciigraph.PlotMany([][]float64{low, high},
		asciigraph.Height(rows-1), asciigraph.Offset(2), asciigraph.Precision(0),
		asciigraph.LowerBound(0), asciigraph.UpperBound(hi-lo),
		asciigraph.YAxisValueFormatter(label))
	lines := strings.Split(text, "\n")
	for len(lines) < rows {
		lines = append(lines, "")
	}
	return lines[:rows]
}

// within counts v from the lower bound; beyond the bounds it is not a number.
func within(v, lo, hi float64) float64 {
	if v < lo || v > hi {
		return math.NaN()
	}
	return v - lo
}

// emptyChart is a chart without even an axis.
func emptyChart(rows int) []string {
	lines := make([]string, rows)
	for i := range lines {
		lines[i] = right(dash, axisWidth-1) + "┤"
	}
	return lines
}

// drawChart draws engine speed, the strip under it and the words of the time axis, with the
// facts of the drive at the right.
func (p *pictures) drawChart(s *sheet, v *view, l layout) {
	facts := p.facts(v, l)
	fact := func(i int) string {
		if i < len(facts) {
			return facts[i]
		}
		return ""
	}
	if l.chart > 0 {
		for i, text := range p.chartLines(v, l) {
			label, line := cutCells(text, axisWidth)
			s.line(v.theme.faint.on(label), v.theme.picture.on(left(line, l.plot)), fact(i))
		}
	}
	axis := axisEnding(v.snap.Now, columnTimes[p.zoom], l.plot)
	strip := drawStrip(axis, course{v.snap.Spans, v.snap.Events, v.snap.Stops, v.snap.Observations, v.snap.Marks, v.snap.Steps})
	s.line(v.theme.faint.on(right("usable ", axisWidth)), v.inkStrip(strip), fact(l.chart))
	s.line(v.theme.faint.on(spaces(axisWidth)+timeWords(axis, l.plot, v.replay)), fact(l.chart+1))
}

// stoppedRPM is the engine speed below which the engine does not run: such readings do not
// widen the chart's axis and are not drawn: at its foot they would look like its lowest label.
const stoppedRPM = 400

func (p *pictures) chartLines(v *view, l layout) []string {
	lane := findLane(&v.snap, pids.RPM)
	if lane == nil {
		return emptyChart(l.chart)
	}
	axis := axisEnding(v.snap.Now, columnTimes[p.zoom], l.plot+1)
	p.cols = columns(p.cols, lane.History, axis, v.snap.Now, holdTime(lane.History))
	lo, hi := rangeOf(p.cols, stoppedRPM)
	p.chart.follow(lo, hi, smallestFor("rpm"), l.chart-1, v.snap.Now)
	if !p.chart.settled {
		return emptyChart(l.chart)
	}
	return drawChart(p.cols, p.chart.lo, p.chart.hi, l.chart)
}

// timeWords is the line under the pictures: how far back they go and the time of a
// column.
func timeWords(axis timeAxis, w int, replay bool) string {
	back := "│" + prose.Duration(time.Duration(axis.n)*axis.per)
	from := back + " ago"
	to := "now│"
	if replay {
		to = "cursor│"
	}
	between := prose.Duration(axis.per) + " a column"
	if w < prose.Cells(from)+prose.Cells(to)+prose.Cells(between)+2 {
		from = back
	}
	return from + middle(between, max(w-prose.Cells(from)-prose.Cells(to), 0)) + to
}

// cutCells parts a line of one-cell characters after n of them.
func cutCells(s string, n int) (before, after string) {
	for i := range s {
		if n == 0 {
			return s[:i], s[i:]
		}
		n--
	}
	return s, ""
}
