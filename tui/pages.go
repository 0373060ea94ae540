package tui

import "github.com/judder-obd/judder/prose"

// caution is the first page. It asks for no answer: any key closes it, and so does driving off.
var caution = []string{
	"Two people: one drives, the other watches this screen.",
	"The driver watches the road. Nothing here needs an answer.",
	"",
	"Obey traffic law. Drive only where a steady cruise is safe.",
	"The maker's procedure comes before anything said here.",
	"",
	"Press space the moment the shake is felt.",
}

// drawStart draws the caution with how the link is coming up.
func (m *model) drawStart(s *sheet) {
	m.drawHeader(s)
	s.rule(m.theme.faint, "", "")
	m.drawState(s)
	s.rule(m.theme.faint, "", "")
	const wide = 64
	before := max((s.rest()-len(caution)-2)/2, 0)
	for range before {
		s.line()
	}
	for _, t := range caution {
		s.line(spaces((m.w-min(wide, m.w))/2+1), cut(t, m.w-1))
	}
	s.fill(2)
	s.rule(m.theme.faint, "any key closes this page; driving off closes it too", "")
	s.line(m.footLine())
}

// drawDrive draws the page of pictures, live or in a replay.
func (m *model) drawDrive(s *sheet) {
	if m.w < smallBelow || m.h < smallRows {
		m.drawSmall(s)
		return
	}
	l := arrange(m.w, m.h, len(m.snap.Lanes), m.replay)
	m.drawHeader(s)
	m.needRule(s)
	said := m.drawState(s)
	l.giveUp(said - 1)
	if m.replay {
		m.drawRuler(s)
	}
	m.lastRule(s, showsFrom(&m.snap))
	m.pictures.draw(s, &m.view, l)
	if l.footRule {
		if m.replay {
			s.rule(m.theme.faint, stripLegend, "")
		} else {
			m.armingRule(s)
		}
	}
	s.fill(1)
	s.line(m.footLine())
}

// armingRule is the line above the keys, with the step that was announced.
func (m *model) armingRule(s *sheet) {
	arming, label := armingWords(&m.snap.Arming, m.snap.Now), m.footLabel()
	if arming != "" && prose.Cells(arming)+prose.Cells(label)+10 > m.w {
		label = ""
	}
	s.rule(m.theme.faint, arming, label)
}

func (m *model) footLabel() string {
	if m.snap.Check.Running {
		return "code check: reading " + prose.Clean(m.snap.Check.Doing)
	}
	return bellWord(m.bell.on)
}

func (m *model) footLine() string { return m.foot.line(&m.view, m.w) }
