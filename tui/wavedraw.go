package tui

import (
	"fmt"
	"strings"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/tui/wave"
)

// waveFrame are the rows of the wave's block that are not the wave: throttle, road speed and the
// words under it.
const waveFrame = 3

// secondAxis is the width of the labels of the picture beside the live one.
const secondAxis = 9

// draw draws the block of the wave, rows high without its frame: the live one, and beside it the
// frozen one where there is room for both.
func (p *wavePane) draw(s *sheet, v *view, rows int, wide bool) {
	cols := v.w - axisWidth
	if v.w < smallBelow || !p.showFrozen(v, wide) {
		p.now.draw(s, v, rows, cols)
		return
	}
	half := (cols - secondAxis - 1) / 2
	first := p.now.lines(v, rows, cols-secondAxis-1-half, axisWidth)
	second := p.frozen.lines(v, rows, half, secondAxis)
	for i := range first {
		s.line(first[i], " ", second[i])
	}
}

// draw draws one picture alone.
func (p *wavePicture) draw(s *sheet, v *view, rows, cols int) {
	for _, l := range p.lines(v, rows, cols, axisWidth) {
		s.line(l)
	}
}

// lines are the lines of a picture, each label+cols cells.
func (p *wavePicture) lines(v *view, rows, cols, label int) []string {
	c, th := &p.cut, &v.theme
	scale := wave.Scale{From: c.From, To: c.To, Reach: p.axis.rpm}
	if !p.placed { // the live one moves by whole dots, so that it does not shimmer
		dot := (c.To - c.From) / time.Duration(2*cols)
		scale.To = (c.To/dot + 1) * dot
		scale.From = scale.To - (c.To - c.From)
	}
	var bars []time.Duration
	for _, step := range p.trace.Steps {
		bars = append(bars, step.At)
	}
	if v.replay && p.placed {
		bars = append(bars, v.cursor)
	}
	if b := &v.bench; v.replay && b.hasSecond {
		bars = append(bars, b.second)
	}
	lines := make([]string, 0, rows+waveFrame)
	for i, row := range p.trace.Dots(scale, c.AlarmRPM, cols, rows, bars...) {
		lines = append(lines, th.faint.on(p.label(i, rows, label))+p.inkWave(th, row))
	}
	thin := func(name string, rs []wave.Reading, smallest float64, signal pids.Signal) {
		if label < axisWidth {
			name = ""
		}
		lo, hi := wave.Bounds(rs, c.From, c.To, smallest)
		const hold = 2 * time.Second
		lines = append(lines, th.faint.on(right(name+" ", label))+th.inkThin(wave.Thin(rs, scale, lo, hi, hold, cols), !p.placed && v.asks(signal)))
	}
	thin("throttle", c.Throttle, smallestFor("%"), session.DriverDemand[0])
	thin("speed", c.Speed, smallestFor("km/h"), pids.VSS)
	return append(lines, th.faint.on(spaces(label)+p.words(v, cols)))
}

// label is the label of a row of the wave: the ends of its axis and its middle.
func (p *wavePicture) label(row, rows, w int) string {
	text := ""
	switch row {
	case 0:
		text = fmt.Sprintf("+%.0f", p.axis.rpm)
	case rows / 2:
		text = "0"
	case rows - 1:
		text = fmt.Sprintf("-%.0f", p.axis.rpm)
	}
	if text != "" {
		text += " rpm"
	}
	return right(text, w-1) + "┤"
}

// inkWave makes the wave the brightest thing on the page, and what is behind it quiet.
func (p *wavePicture) inkWave(th *theme, row wave.Row) string {
	behind := th.faint
	if p.event.End > 0 { // the alarm level lights up where there is an alarm
		behind = th.text[moodAlarm]
	}
	var b strings.Builder
	cells := []rune(row.Text)
	for from := 0; from < len(cells); {
		ink, to := behind, from
		for to < len(cells) && cells[to] == ' ' { // a blank has no colour: it joins what follows it
			to++
		}
		if first := to; first < len(cells) {
			if row.Wave[first] {
				ink = th.wave
			}
			for to < len(cells) && (cells[to] == ' ' || row.Wave[to] == row.Wave[first]) {
				to++
			}
		}
		b.WriteString(ink.on(string(cells[from:to])))
		from = to
	}
	return b.String()
}

// words are the line under a picture: what it spans, and what there is in it.
func (p *wavePicture) words(v *view, w int) string {
	c := &p.cut
	span := prose.Duration(c.To - c.From)
	from, to := "│"+span+" ago", "now│"
	if p.placed {
		from, to = "│"+prose.Clock(c.From), prose.Clock(c.To)+"│"
	}
	room := max(w-prose.Cells(from)-prose.Cells(to), 0)
	between := ""
	for _, text := range p.between(v, span) {
		if prose.Cells(text)+2 <= room {
			between = text
			break
		}
	}
	return cut(from+middle(between, room)+to, w)
}

// between is what the line under a picture says in its middle, the longest form first.
func (p *wavePicture) between(v *view, span string) []string {
	if d := v.bench.difference(v.cursor, v.snap.Replay.Course.RPM); v.replay && d != "" {
		return []string{d}
	}
	if len(p.trace.Points) > 0 && !p.trace.Line() {
		if v.snap.Detector.Reason == detect.EngineStopped && !p.ofEvent {
			return []string{"engine stopped"}
		}
		return []string{wave.TooFew, "too few readings"}
	}
	if p.ofEvent {
		e := &p.event
		what := "shudder " + quantity(e.SwingRPM, "rpm")
		end := ""
		for _, step := range p.trace.Steps {
			if d := step.At - e.End; d > -2*time.Second && d < 2*time.Second {
				end = fmt.Sprintf(", then %+.0f rpm", step.RPM)
			}
		}
		return []string{what + ", " + frequency(e) + ", " + prose.Duration(e.End-e.Start) + end + "; picture " + span, what + end + "; " + span, what, span}
	}
	if len(p.trace.Points) == 0 {
		return []string{"engine speed not read"}
	}
	if p.placed {
		return []string{"at " + prose.Clock(v.cursor) + " of the drive; picture " + span, span}
	}
	throttle, speed := "throttle "+lastOf(p.cut.Throttle, "%"), "speed "+lastOf(p.cut.Speed, "km/h")
	return []string{throttle + "   " + speed, lastOf(p.cut.Throttle, "%") + "  " + lastOf(p.cut.Speed, "km/h")}
}

// lastOf is the latest reading.
func lastOf(rs []wave.Reading, unit string) string {
	if len(rs) == 0 {
		return dash + " " + unit
	}
	return quantity(rs[len(rs)-1].Value, unit)
}
