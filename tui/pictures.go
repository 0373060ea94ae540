package tui

import (
	"fmt"
	"math"
	"slices"
	"time"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/pids/vehicle"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// pictures remembers what the pictures need from one frame to the next: their value axes,
// which must not move at every reading, and how long the drive was usable at which road speed.
type pictures struct {
	zoom   int // index into columnTimes
	wave   wavePane
	choice laneChoice // which lanes are shown
	chart  scale
	swing  scale
	scales map[laneID]*scale
	cols   []column // reused
	order  []*session.Lane
	moving []*session.Lane // with a line of their own
	still  []string        // lines with the numbers of those that have not changed
	seen   int             // signals on the page
	rows   []incident      // reused
}

// draw draws them under each other: wave, chart, swing, lanes, and the list of what happened.
func (p *pictures) draw(s *sheet, v *view, l layout) {
	l.events += p.share(v, &l)
	p.wave.draw(s, v, l.wave, v.w >= wideFrom)
	p.drawChart(s, v, l)
	p.drawSwing(s, v, l)
	p.drawLanes(s, v, l)
	p.drawIncidents(s, v, l)
}

// follow takes a snapshot; jumped is that the drive is looked at from elsewhere than before.
func (p *pictures) follow(v *view, jumped bool) {
	if jumped {
		p.fit()
	}
	p.order = sortedLanes(p.order, &v.snap)
	p.wave.follow(v, jumped)
}

// fit makes every axis fit what is drawn next: it is another part of the drive.
func (p *pictures) fit() { p.chart, p.swing, p.scales = scale{}, scale{}, nil }

func (p *pictures) scaleOf(id laneID) *scale {
	if p.scales == nil {
		p.scales = map[laneID]*scale{}
	}
	if p.scales[id] == nil {
		p.scales[id] = &scale{}
	}
	return p.scales[id]
}

// dotAxis is the time axis of the dot lines: two columns a cell, over the same time as the chart.
func (p *pictures) dotAxis(v *view, l layout) timeAxis {
	axis := axisEnding(v.snap.Now, columnTimes[p.zoom], l.plot)
	return timeAxis{axis.first, axis.per / 2, 2 * axis.n}
}

// drawSwing draws the swing of engine speed, and from where it is an alarm.
func (p *pictures) drawSwing(s *sheet, v *view, l layout) {
	p.cols = columns(p.cols, v.snap.Swing, p.dotAxis(v, l), v.snap.Now, holdTime(v.snap.Swing))
	_, hi := rangeOf(p.cols, 0)
	if limit := v.snap.Detector.LimitRPM; known(limit) && !(hi > 1.5*limit) {
		hi = 1.5 * limit
	}
	p.swing.follow(0, math.Max(hi, 0), 20, sparkParts, v.snap.Now)
	values := right(amount(v.snap.Detector.SwingRPM, "rpm"), 7) + " rpm alarm at" +
		right(amount(v.snap.Detector.LimitRPM, "rpm"), 4)
	s.line(left(" swing", axisWidth), v.theme.inkThin(thin(p.cols, p.swing.lo, p.swing.hi), false), cut(values, l.side))
}

func (p *pictures) drawLanes(s *sheet, v *view, l layout) {
	for _, lane := range p.moving[:l.lanes-len(p.still)] {
		p.drawLane(s, v, l, lane)
	}
	for _, line := range p.still {
		s.line(line)
	}
}

// drawnElsewhereLast moves the signals that have a picture already to the end: there is not room
// for all.
func drawnElsewhereLast(shown []*session.Lane, chart bool) {
	slices.SortStableFunc(shown, func(a, b *session.Lane) int { return drawn(a, chart) - drawn(b, chart) })
}

// drawn is 1 for a signal that has a line under the wave, or a chart.
func drawn(l *session.Lane, chart bool) int {
	if l.Signal == pids.VSS || slices.Contains(session.DriverDemand, l.Signal) || chart && l.Signal == pids.RPM {
		return 1
	}
	return 0
}

func (p *pictures) drawLane(s *sheet, v *view, l layout, lane *session.Lane) {
	hold := holdTime(lane.History)
	p.cols = columns(p.cols, lane.History, p.dotAxis(v, l), v.snap.Now, hold)
	lo, hi := rangeOf(p.cols, math.Inf(-1))
	sc := p.scaleOf(idOf(lane))
	sc.follow(lo, hi, smallestFor(lane.Unit), sparkParts, v.snap.Now)
	digits := digitsOf(lane)
	value := fixed(lane.Value, digits)
	if v.snap.Now-lane.At > max(hold, 3*time.Second) {
		value = dash
	}
	text := right(value, 8) + " " + left(prose.Clean(lane.Unit), 6) + right(laneRate(lane), 7)
	if wanted, ok := wantedSlip(&v.snap); ok && lane.Role == vehicle.RoleSlip {
		text = right(value, 8) + " " + left(prose.Clean(lane.Unit), 3) + " wanted" + right(amount(wanted, lane.Unit), 4)
	}
	if l.side >= wideSide {
		text += "  " + left(rangeWords(lo, hi, digits), l.side-2-prose.Cells(text))
	}
	s.line(" ", laneName(lane, plainName(lane.Signal), &v.snap, axisWidth-2), " ",
		v.theme.inkThin(thin(p.cols, sc.lo, sc.hi), askedAbout(lane, v)), cut(text, l.side))
}

// rangeWords is the lowest and the highest reading in the picture; the unit is next to it.
func rangeWords(lo, hi float64, digits int) string {
	if !known(lo) {
		return dash
	}
	return fixed(lo, digits) + " to " + fixed(hi, digits)
}

// drawIncidents draws the list of what happened, latest first.
func (p *pictures) drawIncidents(s *sheet, v *view, l layout) {
	hidden := max(len(v.snap.Lanes)-p.seen, 0)
	label := ""
	if hidden > 0 && v.w >= smallBelow {
		label = fmt.Sprintf("signals not shown: %d", hidden)
	}
	s.rule(v.theme.faint, "what happened", label)
	p.rows = incidents(p.rows, &v.snap, l.events)
	for i := range l.events {
		if i >= len(p.rows) {
			s.line()
			continue
		}
		v.incidentLine(s, " ", &p.rows[i])
	}
}
