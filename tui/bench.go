package tui

import (
	"fmt"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/session"
)

// bench is what of the wave was asked for in a replay: a length of time around the cursor instead of
// the whole event, and a second cursor.
type bench struct {
	span time.Duration // of the picture; 0 for the whole event, or the last seconds
	from time.Duration // where it begins

	second    time.Duration // the second cursor
	hasSecond bool
}

// benchSpans are the lengths of time that the wave can have at the bench.
var benchSpans = [...]time.Duration{time.Second, 2 * time.Second, 4 * time.Second, 8 * time.Second, 16 * time.Second, 32 * time.Second, 64 * time.Second}

// zoomWave makes the picture shorter (by < 0) or longer. The cursor stays where it is in it.
func zoomWave(by int) func(*model) tea.Cmd {
	return func(m *model) tea.Cmd {
		p := &m.pictures.wave
		b, c := &m.bench, &p.now.cut
		was := c.To - c.From
		next := was
		for i := range benchSpans {
			if s := benchSpans[len(benchSpans)-1-i]; by < 0 && s < was {
				next = s
				break
			}
			if s := benchSpans[i]; by > 0 && s > was {
				next = s
				break
			}
		}
		if next == was || was <= 0 {
			return nil
		}
		share := float64(m.cursor-c.From) / float64(was)
		b.span, b.from = next, m.cursor-time.Duration(max(0, min(share, 1))*float64(next))
		p.now.axis = reachAxis{}
		p.follow(&m.view, false)
		return nil
	}
}

// wholeWave shows the event whole again.
func wholeWave(m *model) tea.Cmd {
	m.bench.span = 0
	m.pictures.wave.now.axis = reachAxis{}
	m.pictures.wave.follow(&m.view, false)
	return nil
}

// secondCursor sets the second cursor where the first is, or takes it away.
func secondCursor(m *model) tea.Cmd {
	b := &m.bench
	if b.hasSecond = !b.hasSecond; b.hasSecond {
		b.second = m.cursor
		m.say("second cursor set: move on to see the difference; x takes it away")
	}
	return nil
}

// exportedMsg is what became of an export.
type exportedMsg string

// exportWindow has what the wave shows written to files; the screen does not wait for it.
func exportWindow(m *model) tea.Cmd {
	export, from, to := m.export, m.pictures.wave.now.cut.From, m.pictures.wave.now.cut.To
	if export == nil {
		m.say("nothing to export here")
		return nil
	}
	m.say("writing …")
	return func() tea.Msg {
		files, err := export(max(from, 0), to)
		if err != nil {
			return exportedMsg("not exported: " + err.Error())
		}
		return exportedMsg("written: " + files)
	}
}

// keep moves the picture so that the cursor is in it.
func (b *bench) keep(cursor time.Duration) (from, to time.Duration) {
	margin := b.span / 20
	b.from = max(min(b.from, cursor-margin), cursor+margin-b.span)
	b.from = max(b.from, 0)
	return b.from, b.from + b.span
}

// around cuts a length of time that is not an event.
func (p *wavePicture) around(s *session.Snapshot, from, to time.Duration) {
	if from != p.cut.From || to != p.cut.To {
		p.axis = reachAxis{}
	}
	p.event, p.placed, p.ofEvent = detect.Event{}, true, false
	p.cut.From, p.cut.To = from, to
	alarm := s.Detector.LimitRPM
	for i := range s.Replay.Events {
		if e := &s.Replay.Events[i]; e.End > from && e.Start < to {
			p.event, alarm = *e, e.LimitRPM
		}
	}
	p.take(s, alarm)
}

// difference is the second cursor against the first: time, what frequency that would be, and engine
// speed. "" where there is no second cursor.
func (b *bench) difference(cursor time.Duration, rpm []session.Point) string {
	if !b.hasSecond {
		return ""
	}
	d := cursor - b.second
	text := fmt.Sprintf("x to cursor %.2f s", d.Seconds())
	if d != 0 {
		text += fmt.Sprintf(" (%.2f Hz)", 1/max(d, -d).Seconds())
	}
	from, ok := valueAt(rpm, b.second)
	to, also := valueAt(rpm, cursor)
	if !ok || !also {
		return text + ", " + dash + " rpm"
	}
	return text + fmt.Sprintf(", %+.0f rpm", to-from)
}

// valueAt is the reading that held at a time: the last one before it, no older than a second.
func valueAt(pts []session.Point, at time.Duration) (float64, bool) {
	i := firstPoint(pts, at+1) - 1
	if i < 0 || at-pts[i].At > time.Second || !known(pts[i].Value) {
		return 0, false
	}
	return pts[i].Value, true
}
