package tui

import (
	"time"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"judder/detect"
	"judder/pids"
	"judder/prose"
	"judder/session"
)

func keyMatches(k tea.KeyMsg, b binding) bool { return key.Matches(k, b.Binding) }

// notice is a short answer to a key, shown at the foot for a moment.
type notice struct {
	text  string
	until time.Time
}

const noticeTime = 2500 * time.Millisecond

func (m *model) say(text string) { m.notice = notice{text, m.now.Add(noticeTime)} }

func (m *model) felt() tea.Cmd {
	m.src.Felt()
	text := "felt mark at " + prose.Clock(m.snap.Now)
	if r := m.snap.Detector.Reason; r != detect.Judged {
		text += ", shudder cannot show now: " + r.Words()
	}
	m.say(text)
	return nil
}

func (m *model) toggleBell() tea.Cmd {
	m.bell.on = !m.bell.on
	m.say(bellWord(m.bell.on))
	return nil
}

func bellWord(on bool) string {
	if on {
		return "bell on"
	}
	return "bell off"
}

func (m *model) openLanes() tea.Cmd {
	m.turnTo(pageLanes)
	return nil
}

func (m *model) toggleGlance() tea.Cmd {
	m.turnTo(pageGlance)
	return nil
}

// turnTo shows a page, or the drive when that page is shown already.
func (m *model) turnTo(p page) {
	if m.page == p {
		p = pageDrive
	}
	m.page = p
}

// toggleHelp opens the words and keys, turns their pages, and closes them after the last.
func (m *model) toggleHelp() tea.Cmd {
	if m.page != pageHelp {
		m.page, m.help = pageHelp, 0
		return nil
	}
	m.help += helpRows(m.h)
	if m.help >= len(m.helpLines()) {
		m.page = pageDrive
	}
	return nil
}

func (m *model) back() tea.Cmd {
	m.page = pageDrive
	return nil
}

// quit ends a replay, and a drive that is not being recorded. A recorded drive asks once, and a page
// that covers it is left first: what was driven cannot be driven again.
func (m *model) quit() tea.Cmd {
	switch {
	case m.replay || !recorded(&m.snap) || m.now.Before(m.asked):
		return m.leave()
	case m.page != pageDrive && m.page != pageGlance:
		return m.back()
	}
	m.asked = m.now.Add(askTime)
	m.notice = notice{"press q again to end the drive", m.asked}
	return nil
}

// askTime is how long a second q ends the drive.
const askTime = 5 * time.Second

func (m *model) leave() tea.Cmd { return tea.Quit }

// recorded reports whether something of the drive was read and is being recorded.
func recorded(s *session.Snapshot) bool {
	return s.Recording != "" && s.Trouble == "" && (s.Phase == session.Running || s.Phase == session.LinkLost)
}

// columnTimes are the times that a column can stand for.
var columnTimes = [...]time.Duration{
	100 * time.Millisecond, 200 * time.Millisecond, 500 * time.Millisecond, time.Second, 2 * time.Second,
}

const defaultZoom = 2

func zoom(by int) func(*model) tea.Cmd {
	return func(m *model) tea.Cmd {
		m.zoom = max(0, min(m.zoom+by, len(columnTimes)-1))
		m.pictures.fit()
		return nil
	}
}

func (m *model) togglePause() tea.Cmd {
	m.snap.Replay.Paused = !m.snap.Replay.Paused // until the next frame says so
	m.src.Pause(m.snap.Replay.Paused)
	return nil
}

// speeds are how fast a replay can run.
var speeds = [...]float64{0.25, 0.5, 1, 2, 4, 8, 16, 32, 64}

func speed(by int) func(*model) tea.Cmd {
	return func(m *model) tea.Cmd {
		next := m.snap.Replay.Speed
		for i := range speeds {
			if by > 0 && speeds[i] > m.snap.Replay.Speed {
				next = speeds[i]
				break
			}
			if by < 0 && speeds[len(speeds)-1-i] < m.snap.Replay.Speed {
				next = speeds[len(speeds)-1-i]
				break
			}
		}
		m.snap.Replay.Speed = next
		m.src.SetSpeed(next)
		return nil
	}
}

// seek sends the replay to t. Keys pressed before the next frame count from there.
func (m *model) seek(t time.Duration) tea.Cmd {
	m.cursor = max(0, min(t, m.snap.Replay.Length))
	m.src.Seek(m.cursor)
	m.jumped = true
	return nil
}

func seekBy(d time.Duration) func(*model) tea.Cmd {
	return func(m *model) tea.Cmd { return m.seek(m.cursor + d) }
}

func seekTo(share float64) func(*model) tea.Cmd {
	return func(m *model) tea.Cmd { return m.seek(time.Duration(share * float64(m.snap.Replay.Length))) }
}

// stepReading holds the replay and moves it on by one interval between readings of engine
// speed.
func (m *model) stepReading() tea.Cmd {
	if !m.snap.Replay.Paused {
		m.togglePause()
	}
	step := 100 * time.Millisecond
	if l := findLane(&m.snap, pids.RPM); l != nil && len(l.History) > 1 {
		step = max(usualInterval(l.History), time.Millisecond)
	}
	return m.seek(m.cursor + step)
}

// seekMark goes to where the next thing that happened after the cursor begins, or the one before
// it.
func seekMark(by int) func(*model) tea.Cmd {
	return func(m *model) tea.Cmd {
		if t, ok := nextPlace(m.cursor, by, &m.snap.Replay); ok {
			return m.seek(t)
		}
		m.say("no event that way")
		return nil
	}
}

// nextPlace finds the start of a row of what happened, or the time of a mark, that lies nearest
// after (by > 0) or before from.
func nextPlace(from time.Duration, by int, r *session.ReplayState) (time.Duration, bool) {
	var best time.Duration
	found := false
	try := func(t time.Duration) {
		ahead := by > 0 && t > from && (!found || t < best)
		behind := by < 0 && t < from && (!found || t > best)
		if ahead || behind {
			best, found = t, true
		}
	}
	for i := range r.Events {
		try(r.Events[i].Start)
	}
	for i := range r.Slip {
		try(r.Slip[i].Start)
	}
	for _, s := range r.Stops {
		try(s.Start)
	}
	for _, o := range r.Observations {
		try(o.Start)
	}
	for i := range r.Losses {
		try(r.Losses[i].Start)
	}
	for _, u := range missingRows(nil, r.Missing) {
		try(u.at)
	}
	for _, m := range r.Marks {
		try(m.At)
	}
	return best, found
}
