package tui

import (
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/session"
)

// columnTimes are the times that a column can have.
var columnTimes = [...]time.Duration{
	100 * time.Millisecond, 200 * time.Millisecond, 500 * time.Millisecond, time.Second, 2 * time.Second,
}

const defaultZoom = 2

func zoom(by int) func(*model) tea.Cmd {
	return func(m *model) tea.Cmd {
		m.pictures.zoom = max(0, min(m.pictures.zoom+by, len(columnTimes)-1))
		m.pictures.fit()
		return nil
	}
}

func (m *model) togglePause() tea.Cmd {
	m.snap.Replay.Paused = !m.snap.Replay.Paused // until the next frame says so
	m.src.replay.Pause(m.snap.Replay.Paused)
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
		m.src.replay.SetSpeed(next)
		return nil
	}
}

// seek sends the replay to t. Keys pressed before the next frame count from there.
func (m *model) seek(t time.Duration) tea.Cmd {
	m.cursor = max(0, min(t, m.snap.Replay.Length))
	m.src.replay.Seek(m.cursor)
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
	for i := range r.Steps {
		if worthARow(&r.Steps[i]) {
			try(r.Steps[i].Start)
		}
	}
	for _, m := range r.Marks {
		try(m.At)
	}
	return best, found
}
