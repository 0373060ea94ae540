package tui

import (
	"math"
	"strings"

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
// It is the only caller of asciigraph, and stands between it and what it cannot bear: an
// empty series and infinite values panic, bounds that data passes are moved, and a width
// makes it interpolate, which can draw a slow wave that does not exist. Here a value beyond the
// bounds (an engine that stands, which the axis does not follow) is not drawn, and each column has
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

// emptyChart is a chart of which not even the axis is known.
func emptyChart(rows int) []string {
	lines := make([]string, rows)
	for i := range lines {
		lines[i] = right(dash, axisWidth-1) + "┤"
	}
	return lines
}
