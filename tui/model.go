package tui

import (
	"slices"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/prose"
)

// page is what fills the window.
type page uint8

const (
	pageStart page = iota // the caution, before the first data
	pageDrive             // the pictures; in a replay too
	pageGlance
	pageSignals
	pageHelp
	pageCheck
	pageCover
	pageEvents // of a replay
	pageSteps
	pageEnd // after a live drive
)

// model is the tea.Model of a session. It routes messages and keys; what is drawn is drawn by panes.
type model struct {
	view
	outside
	leaving
	src   shown
	every time.Duration // between frames

	page   page
	themes [2]theme // the usual one, and the one for sunlight
	jumped bool     // a replay was sent elsewhere since the latest frame
	stood  bool     // the car stood, as last seen

	pictures pictures
	glance   glance
	help     helpPage
	check    checkPage
	events   eventList
	steps    stepsPage
	foot     foot
	marks    marker
	blind    blindPane
	bell     bell
}

// outside is what the screen reaches besides the session.
type outside struct {
	ring   func()          // rings the terminal's bell
	done   <-chan struct{} // closed when the program ends
	saying saying
	export Exporter // nil where nothing can be exported
}

// hiddenInBlind are the pages that show what is found.
var hiddenInBlind = map[page]bool{pageStart: true, pageDrive: true, pageGlance: true, pageSignals: true, pageCover: true, pageSteps: true}

// frameMsg asks for the next frame.
type frameMsg time.Time

func newModel(src shown, o Options, th [2]theme) *model {
	m := &model{
		themes: th,
		view:   view{theme: th[0], replay: src.replay != nil, w: 80, h: 24},
		src:    src, every: time.Second / time.Duration(o.fps()),
		pictures: pictures{zoom: defaultZoom}, foot: foot{keys: driveKeys()},
		bell: bell{on: o.Bell}, marks: marker{learnt: keyOf(o.Switch)}, outside: outside{ring: func() {}, saying: saying{by: o.Speaker}, export: o.Export},
	}
	if o.Sunlight {
		m.theme = th[1]
	}
	if m.replay {
		m.foot.keys, m.page = replayKeys(), pageDrive
	}
	return m
}

// Init takes the first snapshot and starts the frame tick.
func (m *model) Init() tea.Cmd {
	m.pull(time.Now())
	return m.tick()
}

// tick waits for the next frame, or for the end of the program: nothing outlives it.
func (m *model) tick() tea.Cmd {
	return func() tea.Msg {
		timer := time.NewTimer(m.every)
		defer timer.Stop()
		select {
		case t := <-timer.C:
			return frameMsg(t)
		case <-m.done:
			return nil
		}
	}
}

// Update routes a message; it never blocks.
func (m *model) Update(msg tea.Msg) (tea.Model, tea.Cmd) {
	switch msg := msg.(type) {
	case frameMsg:
		m.pull(time.Time(msg))
		return m, tea.Batch(m.tick(), m.soundBell())
	case tea.WindowSizeMsg:
		m.w, m.h = msg.Width, msg.Height
	case exportedMsg:
		m.say(prose.Clean(string(msg)))
	case tea.KeyMsg:
		return m, m.pressEach(msg)
	}
	return m, nil
}

// pressEach presses the keys that came in one piece, as a slow connection delivers them, one
// after the other.
func (m *model) pressEach(k tea.KeyMsg) tea.Cmd {
	if k.Type != tea.KeyRunes || len(k.Runes) < 2 || k.Paste {
		return m.press(k)
	}
	var all []tea.Cmd
	for _, r := range k.Runes {
		one := tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune{r}, Alt: k.Alt}
		if r == ' ' {
			one.Type = tea.KeySpace
		}
		all = append(all, m.press(one))
	}
	return tea.Sequence(all...)
}

// pull takes a snapshot and lets the panes that remember something follow it.
func (m *model) pull(t time.Time) {
	m.now = t
	m.src.Snapshot(&m.snap)
	m.snap.Blind.On = m.snap.Blind.On && !m.replay // at the bench nothing is hidden
	m.cursor = m.snap.Now
	m.settle(m.jumped)
	if trouble := m.saying.follow(states[m.word.shown].word); trouble != "" {
		m.say(prose.Clean(trouble))
	}
	m.pictures.follow(&m.view, m.jumped)
	answerMark(m)
	followBlind(m)
	followSteps(m)
	m.jumped = false
	m.driveOff()
}

// driveOff leaves what is for a standing car once the car moves: the caution, and the page of a code
// check that was not started.
func (m *model) driveOff() {
	moves, stood := false, m.stood
	if kmh, ok := m.roadSpeed(); ok {
		moves, m.stood = kmh > 0, !(kmh > 0)
	}
	switch {
	case !moves:
	case m.page == pageStart, m.page == pageCheck && stood && !m.snap.Check.Asked && !m.snap.Check.Running:
		m.page = pageDrive
	}
}

// roadSpeed is the road speed that was read last, km/h; ok is false where none was.
func (v *view) roadSpeed() (kmh float64, ok bool) {
	if l := findLane(&v.snap, pids.VSS); l != nil {
		for _, r := range slices.Backward(l.History) {
			if known(r.Value) {
				return r.Value, true
			}
		}
	}
	return 0, false
}

// View draws the page.
func (m *model) View() string {
	if m.w < minWidth || m.h < minHeight {
		return drawTooSmall(m.w, m.h)
	}
	s := newSheet(m.w, m.h)
	switch page := m.page; {
	case m.snap.Blind.On && hiddenInBlind[page]:
		drawBlind(s, m)
	default:
		m.drawPage(s, page)
	}
	m.foot.answer(s, &m.view)
	return m.theme.paint(s.String(), m.w)
}

func (m *model) drawPage(s *sheet, p page) {
	switch p {
	case pageStart:
		m.drawStart(s)
	case pageGlance:
		m.glance.draw(s, &m.view, m.footLine())
	case pageSignals:
		m.pictures.choice.draw(s, &m.view, m.pictures.order)
	case pageHelp:
		m.help.draw(s, &m.view, m.foot.keys)
	case pageCheck:
		m.check.draw(s, &m.view)
	case pageEvents:
		drawEvents(s, m)
	case pageSteps:
		drawSteps(s, m)
	case pageCover:
		drawCover(s, m)
	case pageEnd:
		m.drawEnd(s)
	default:
		m.drawDrive(s)
	}
}

// press routes a key: to the note being written, to the page that is shown, or to the table of
// keys. Any key closes the caution, and still does what it does, but for enter.
func (m *model) press(k tea.KeyMsg) tea.Cmd {
	if k.String() != "q" && m.now.Before(m.asked) {
		m.asked, m.foot.notice = time.Time{}, notice{} // the drive goes on
	}
	switch {
	case m.marks.learning:
		return m.learn(k)
	case m.foot.note.open:
		return m.typeNote(k)
	case m.marks.isSwitch(k) && m.page != pageEnd:
		return m.felt()
	}
	if m.page == pageStart {
		m.page = pageDrive
		if k.Type == tea.KeyEnter { // as pressed twice on the page before
			return nil
		}
	}
	if m.page == pageEvents {
		if cmd, taken := m.events.press(k, m); taken {
			return cmd
		}
	}
	if m.pressOnPage(k) {
		return nil
	}
	for _, b := range m.foot.keys {
		if keyMatches(k, b) {
			return b.do(m)
		}
	}
	return nil
}

// pressOnPage gives a key to the page that is shown; it reports whether the page took it.
func (m *model) pressOnPage(k tea.KeyMsg) bool {
	switch m.page {
	case pageSignals:
		return m.pictures.choice.press(k, m.pictures.order)
	case pageSteps:
		return pressSteps(m, k)
	case pageHelp:
		return m.help.press(k, &m.view, m.foot.keys)
	case pageCheck:
		if k.Type == tea.KeyEnter {
			m.startCheck()
			return true
		}
		return m.check.press(k, &m.view)
	}
	return false
}

func (m *model) soundBell() tea.Cmd {
	if m.replay || !m.bell.due(&m.snap) || m.snap.Blind.On {
		return nil
	}
	ring := m.ring
	return func() tea.Msg { ring(); return nil }
}
