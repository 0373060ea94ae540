package tui

import (
	"fmt"

	"github.com/judder-obd/judder/prose"
)

// A window narrower or lower than this has the small page: the state word, the swing, the wave and
// the keys, and of what happened as much as there is room for.
const (
	smallBelow = 72 // cells
	smallRows  = 22
)

// drawSmall draws the small page.
func (m *model) drawSmall(s *sheet) {
	m.drawHeader(s)
	m.drawState(s)
	d := &m.snap.Detector
	s.line(cut(fmt.Sprintf("   swing %s   alarm at %s", right(quantity(d.SwingRPM, "rpm"), 8), right(quantity(d.LimitRPM, "rpm"), 8)), m.w))
	if m.replay {
		m.drawRuler(s)
	}
	m.lastRule(s, "")
	free := s.rest() - waveFrame - 1
	rows := min(max(free, 1), waveLeast)
	free -= rows
	p := &m.pictures
	block := p.wave.now.lines(&m.view, waveLeast, m.w-axisWidth, axisWidth)
	if rows < waveLeast { // the wave itself goes last
		block = append(block[:waveLeast], block[waveLeast+waveFrame-1])
	}
	for _, l := range block[:max(min(len(block), s.rest()-1), 0)] {
		s.line(l)
	}
	if line := m.smallAim(); line != "" && free > 1 {
		s.line(" ", m.theme.faint.on(cut(line, m.w-2)))
		free--
	}
	switch {
	case p.wave.showFrozen(&m.view, false) && free > waveLeast+waveFrame:
		s.rule(m.theme.faint, "the last shudder", "")
		p.wave.frozen.draw(s, &m.view, waveLeast, m.w-axisWidth)
	case free > 1:
		p.drawIncidents(s, &m.view, layout{events: min(free-1, mostEvents)})
	}
	s.fill(1)
	s.line(m.footLine())
}

// smallAim is what the driver is after, in one line: the step that was announced, or what is still needed
// of a complaint; "" for neither.
func (v *view) smallAim() string {
	s := &v.snap
	switch {
	case s.Arming.On:
		return armingWords(&s.Arming, s.Now)
	case !v.replay && !s.Complaint.IsZero():
		return stillNeeded(&s.Need) + ", " + s.Complaint.String()
	}
	return ""
}

// smallHeader is the header where there is no room for the name of the file.
func (v *view) smallHeader(s *sheet) {
	mode, t := "drive ", prose.Clock(v.snap.Now)
	end := linkWord(&v.snap)
	if v.replay {
		mode, t, end = "replay ", prose.Clock(v.snap.Now)+" of "+prose.Clock(v.snap.Replay.Length), replayMotion(&v.snap)
	}
	end = " " + cut(end, max(v.w-prose.Cells(mode)-prose.Cells(t)-3, 0)) + " "
	s.line(" ", mode, v.theme.strong.on(t), spaces(v.w-1-prose.Cells(mode)-prose.Cells(t)-prose.Cells(end)), end)
}
