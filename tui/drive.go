package tui

import (
	"fmt"
	"math"
	"path"
	"strings"
	"time"

	"judder/obd"
	"judder/pids"
	"judder/pids/vehicle"
	"judder/prose"
	"judder/session"
)

// drawDrive draws the page of pictures, live or in a replay.
func (m *model) drawDrive(s *sheet) {
	l := arrange(m.w, m.h, len(m.snap.Lanes), m.replay)
	m.drawHeader(s)
	s.rule(m.theme.faint, "", "")
	said := m.drawState(s)
	if said > 1 { // a finding, or what to do about a lost link, replaces the rule
		l.giveUp(said - 2)
	}
	if m.replay {
		m.drawRuler(s)
	}
	switch {
	case said > 1:
	case m.replay:
		s.rule(m.theme.faint, stripLegend, "")
	default:
		s.rule(m.theme.faint, "", "")
	}
	m.drawChart(s, l)
	m.drawSwing(s, l)
	m.drawLanes(s, l)
	m.drawIncidents(s, l)
	if l.footRule {
		s.rule(m.theme.faint, "", m.footLabel())
	}
	s.fill(1)
	s.line(m.foot(m.w))
}

func (m *model) drawHeader(s *sheet) {
	r := &m.snap.Replay
	name := left(" judder", 9)
	mode, t := left("drive", 8), left(prose.Clock(m.snap.Now), 10)
	end := right(linkWord(&m.snap)+" ", 15)
	if m.replay {
		mode, t = left("replay", 8), left(prose.Clock(m.snap.Now)+" of "+prose.Clock(r.Length), 22)
		end = right(replayMotion(&m.snap)+" ", 14)
	}
	room := m.w - prose.Cells(name) - prose.Cells(mode) - prose.Cells(t) - prose.Cells(end)
	s.line(m.theme.faint.on(name), mode, m.theme.strong.on(t),
		m.theme.faint.on(left(recordingWords(&m.snap, m.replay), room)), end)
}

func recordingWords(s *session.Snapshot, replay bool) string {
	switch {
	case replay:
		return prose.Clean(baseName(s.Link.Source))
	case s.Recording == "":
		return "not recorded"
	case s.Stopped.Cause != "":
		return "recorded to " + prose.Clock(s.Stopped.At)
	}
	return "recording " + prose.Clean(baseName(s.Recording))
}

// troubleWords are why nothing is recorded, the shortest that are known: they must not be cut.
func troubleWords(s *session.Snapshot) string {
	if s.Stopped.Cause != "" {
		return prose.Clean(s.Stopped.Cause)
	}
	return prose.Clean(s.Trouble)
}

func baseName(file string) string { return path.Base(strings.ReplaceAll(file, `\`, "/")) }

func replayMotion(s *session.Snapshot) string {
	switch {
	case s.Replay.Paused:
		return "paused"
	case s.Phase == session.Finished || s.Replay.Length > 0 && s.Now >= s.Replay.Length:
		return "at the end"
	case s.Replay.Speed <= 0:
		return "full speed"
	}
	return fmt.Sprintf("playing ×%g", s.Replay.Speed)
}

// drawState draws the state, large, and its reason under it; at the right of the state, in
// the way of nothing else, what is wrong with the recording. It returns how many lines the
// reason took.
func (m *model) drawState(s *sheet) (reasons int) {
	st := stateOf(&m.snap, m.replay)
	word := stateWord(st, m.w)
	trouble := ""
	if m.snap.Trouble != "" {
		trouble = cut("NOT RECORDING: "+troubleWords(&m.snap), m.w-prose.Cells(word)-4) + " "
	} else if m.replay && m.snap.Replay.Damage != "" {
		trouble = cut("damaged: "+prose.Clean(m.snap.Replay.Damage), m.w-prose.Cells(word)-4) + " "
	}
	s.line(" ", m.inkOf(st).on(word), spaces(m.w-1-prose.Cells(word)-prose.Cells(trouble)), m.theme.watch.on(trouble))
	lines := reasonLines(&m.snap, st, m.replay, m.w-4)
	for _, l := range lines {
		s.line("   ", l)
	}
	return len(lines)
}

// stateWord is the word of a state, spaced out where the window is wide enough. An alarm has
// its glyph three times on both sides, so that it stands out without colour too.
func stateWord(st state, w int) string {
	row := &states[st]
	word := row.word
	if w >= 70 {
		word = strings.Join(strings.Split(word, ""), " ")
	}
	if row.mood == moodAlarm {
		g := strings.Repeat(row.glyph, 3)
		return " " + g + "  " + word + "  " + g + " "
	}
	return " " + row.glyph + "  " + word + " "
}

func (m *model) inkOf(st state) ink { return m.theme.mood(states[st].mood, m.theme.strong) }

// mood returns the ink of a mood, neutral for none.
func (t *theme) mood(m mood, neutral ink) ink {
	switch m {
	case moodGood:
		return t.good
	case moodWatch:
		return t.watch
	case moodAlarm:
		return t.alarm
	}
	return neutral
}

// linkWord is how many readings of engine speed come a second, or the state of the link.
func linkWord(s *session.Snapshot) string {
	if s.Link.State == obd.LinkCar && s.Detector.Rate > 0 {
		return fixed(s.Detector.Rate, 0) + " readings/s"
	}
	return linkShort(s.Link.State)
}

// linkHealth is how many requests the car answered and how, in words.
func linkHealth(l *session.Link) string {
	if l.Exchanges == 0 {
		return "link: " + dash
	}
	text := fmt.Sprintf("link: %d answered, %d unanswered", l.Exchanges-l.Silent-l.Waited, l.Silent)
	if l.Waited > 0 {
		text += fmt.Sprintf(", %d “wait”", l.Waited)
	}
	text += fmt.Sprintf(", %d damaged", l.Damaged)
	if l.HostShare > 0 {
		text += fmt.Sprintf(", own share %.1f ms", float64(l.HostShare)/float64(time.Millisecond))
	}
	return text
}

// drawRuler draws the whole drive on one line, with the cursor.
func (m *model) drawRuler(s *sheet) {
	r := &m.snap.Replay
	from, to := " "+prose.Clock(0)+" ", " "+prose.Clock(r.Length)+" "
	n := m.w - prose.Cells(from) - prose.Cells(to)
	axis := timeAxis{per: max(r.Length/time.Duration(n)+1, 1), n: n}
	glyphs := drawStrip(axis, course{spans: r.Spans, events: r.Events, stops: r.Stops, marks: r.Marks,
		observations: r.Observations})
	if at := axis.at(m.cursor); at >= 0 && at < n {
		glyphs[at] = glyphCursor
	}
	s.line(m.theme.faint.on(from), m.inkStrip(glyphs), m.theme.faint.on(to))
}

// inkStrip colours a strip: its glyphs say the same without.
func (m *model) inkStrip(glyphs []rune) string {
	var b strings.Builder
	for from := 0; from < len(glyphs); {
		to := from + 1
		k := m.glyphInk(glyphs[from])
		for to < len(glyphs) && m.glyphInk(glyphs[to]) == k {
			to++
		}
		b.WriteString(k.on(string(glyphs[from:to])))
		from = to
	}
	return b.String()
}

func (m *model) glyphInk(g rune) ink {
	switch g {
	case glyphShudder, glyphBoth:
		return m.theme.alarm
	case glyphFelt, glyphFeltDark, glyphOther:
		return m.theme.watch
	case glyphCursor, glyphNote, glyphStop:
		return m.theme.strong
	}
	return m.theme.faint
}

// drawChart draws engine speed, the strip under it and the words of the time axis, with the
// facts of the drive at the right.
func (m *model) drawChart(s *sheet, l layout) {
	facts := m.facts(l)
	fact := func(i int) string {
		if i < len(facts) {
			return facts[i]
		}
		return ""
	}
	for i, text := range m.chartLines(l) {
		label, line := cutCells(text, axisWidth)
		s.line(m.theme.faint.on(label), m.theme.picture.on(left(line, l.plot)), fact(i))
	}
	axis := axisEnding(m.snap.Now, columnTimes[m.zoom], l.plot)
	strip := drawStrip(axis, course{m.snap.Spans, m.snap.Events, m.snap.Stops, m.snap.Observations, m.snap.Marks})
	s.line(m.theme.faint.on(right("usable ", axisWidth)), m.inkStrip(strip), fact(l.chart))
	s.line(m.theme.faint.on(spaces(axisWidth)+timeWords(axis, l.plot, m.replay)), fact(l.chart+1))
}

// stoppedRPM is the engine speed below which the engine does not run: such readings do not
// widen the chart's axis and are not drawn: at its foot they would look like its lowest label.
const stoppedRPM = 400

func (m *model) chartLines(l layout) []string {
	p := &m.pictures
	lane := findLane(&m.snap, pids.RPM)
	if lane == nil {
		return emptyChart(l.chart)
	}
	axis := axisEnding(m.snap.Now, columnTimes[m.zoom], l.plot+1)
	p.cols = columns(p.cols, lane.History, axis, m.snap.Now, holdTime(lane.History))
	lo, hi := rangeOf(p.cols, stoppedRPM)
	p.chart.follow(lo, hi, smallestFor("rpm"), l.chart-1, m.snap.Now)
	if !p.chart.settled {
		return emptyChart(l.chart)
	}
	return drawChart(p.cols, p.chart.lo, p.chart.hi, l.chart)
}

// timeWords is the line under the pictures: how far back they go and what a column stands
// for.
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

// drawSwing draws the swing of engine speed, and from where it is an alarm.
func (m *model) drawSwing(s *sheet, l layout) {
	p := &m.pictures
	axis := axisEnding(m.snap.Now, columnTimes[m.zoom], l.plot)
	p.cols = columns(p.cols, m.snap.Swing, axis, m.snap.Now, holdTime(m.snap.Swing))
	_, hi := rangeOf(p.cols, 0)
	if limit := m.snap.Detector.LimitRPM; known(limit) && !(hi > 1.5*limit) {
		hi = 1.5 * limit
	}
	p.swing.follow(0, math.Max(hi, 0), 20, sparkParts, m.snap.Now)
	values := right(amount(m.snap.Detector.SwingRPM, "rpm"), 7) + " rpm alarm at" +
		right(amount(m.snap.Detector.LimitRPM, "rpm"), 4)
	s.line(m.theme.strong.on(left(" swing", axisWidth)),
		m.theme.picture.on(spark(p.cols, p.swing.lo, p.swing.hi)), cut(values, l.side))
}

func (m *model) drawLanes(s *sheet, l layout) {
	shown := m.lanes.visible(m.pictures.order)
	for i := range l.lanes {
		if i >= len(shown) {
			s.line()
			continue
		}
		m.drawLane(s, l, shown[i])
	}
}

func (m *model) drawLane(s *sheet, l layout, lane *session.Lane) {
	p := &m.pictures
	axis := axisEnding(m.snap.Now, columnTimes[m.zoom], l.plot)
	hold := holdTime(lane.History)
	p.cols = columns(p.cols, lane.History, axis, m.snap.Now, hold)
	lo, hi := rangeOf(p.cols, math.Inf(-1))
	sc := p.scaleOf(idOf(lane))
	sc.follow(lo, hi, smallestFor(lane.Unit), sparkParts, m.snap.Now)
	digits := digitsOf(lane)
	value := fixed(lane.Value, digits)
	if m.snap.Now-lane.At > max(hold, 3*time.Second) {
		value = dash
	}
	text := right(value, 8) + " " + left(prose.Clean(lane.Unit), 6) + right(laneRate(lane), 7)
	if wanted, ok := wantedSlip(&m.snap); ok && lane.Role == vehicle.RoleSlip {
		text = right(value, 8) + " " + left(prose.Clean(lane.Unit), 3) + " wanted" + right(amount(wanted, lane.Unit), 4)
	}
	if l.side >= wideSide {
		text += "  " + left(rangeWords(lo, hi, digits), l.side-2-prose.Cells(text))
	}
	s.line(" ", m.theme.strong.on(laneName(lane, plainName(lane.Signal), &m.snap, axisWidth-2)), " ",
		m.theme.picture.on(spark(p.cols, sc.lo, sc.hi)), cut(text, l.side))
}

// rangeWords is the lowest and the highest reading in the picture; the unit stands beside.
func rangeWords(lo, hi float64, digits int) string {
	if !known(lo) {
		return dash
	}
	return fixed(lo, digits) + " to " + fixed(hi, digits)
}
