package tui

import (
	"math"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/tui/wave"
)

// wavePane is the wave: of the last seconds, or of the event at the cursor of a replay; and beside
// it, for a while after a shudder, that shudder as it was.
type wavePane struct {
	now    wavePicture
	frozen wavePicture
	kept   detect.Event  // the event that is frozen; zero when none is
	at     time.Duration // of the drive: the frame before
}

// wavePicture is one picture and the memory that it is made in.
type wavePicture struct {
	cut   wave.Cut
	trace wave.Trace
	axis  reachAxis
	event detect.Event // in the picture; zero when there is none

	ofEvent bool // the picture is of the event, not of the last seconds
	placed  bool // it lies at a time of the drive that does not move
}

const (
	waveSpan    = 8 * time.Second // of the live wave
	waveFits    = 4 * time.Second // of it, the part that the axis fits: a gear change before that must not flatten it
	eventSpan   = 5 * time.Second // the least of that picture
	frozenFrom  = 1500 * time.Millisecond
	frozenFor   = 20 * time.Second
	longestWave = time.Minute // of an event that is drawn whole
)

// follow makes the pictures of a frame. jumped is that the drive is looked at from elsewhere.
func (p *wavePane) follow(v *view, jumped bool) {
	s := &v.snap
	if s.Now < p.at {
		jumped = true
	}
	p.at = s.Now
	if jumped {
		p.now.axis, p.kept = reachAxis{}, detect.Event{}
	}
	if v.replay && v.bench.span > 0 {
		from, to := v.bench.keep(v.cursor)
		p.now.around(s, from, to)
		return
	}
	if e := eventToShow(s, v.replay); e != nil {
		p.now.whole(s, e)
		return
	}
	p.now.latest(s)
	if !v.replay {
		p.freeze(s)
	}
}

// eventToShow is the event that a replay shows whole: the one at the cursor, or next to it.
func eventToShow(s *session.Snapshot, replay bool) *detect.Event {
	if !replay {
		return nil
	}
	const lead, follow = 2 * time.Second, 5 * time.Second
	var best *detect.Event
	for i := range s.Replay.Events {
		e := &s.Replay.Events[i]
		if e.Start <= s.Now+lead && (s.Now < e.End+follow || s.Phase == session.Finished) {
			best = e
		}
	}
	return best
}

// freeze keeps the latest shudder once it is over.
func (p *wavePane) freeze(s *session.Snapshot) {
	n := len(s.Events)
	if n == 0 {
		return
	}
	e := &s.Events[n-1]
	over := s.Now >= e.End+frozenFrom || s.Phase == session.Finished
	if over && (e.Start != p.kept.Start || e.End != p.kept.End) {
		p.kept = *e
		p.frozen.whole(s, e)
		p.frozen.axis = reachAxis{}
		p.frozen.fitAxis(s.Now)
	}
}

// showFrozen reports whether there is a shudder to show beside the live wave. A wide window has
// room for it until the next one; in others a new one has the whole width.
func (p *wavePane) showFrozen(v *view, wide bool) bool {
	if p.kept.End == 0 || v.replay || v.snap.Detector.Alarmed && !wide {
		return false
	}
	return wide || v.snap.Now < p.kept.End+frozenFrom+frozenFor || v.snap.Phase == session.Finished
}

// latest cuts the last seconds.
func (p *wavePicture) latest(s *session.Snapshot) {
	had := p.event
	p.cut.From, p.cut.To, p.event, p.ofEvent, p.placed = s.Now-waveSpan, s.Now, detect.Event{}, false, false
	if n := len(s.Events); n > 0 && s.Events[n-1].End > p.cut.From && s.Events[n-1].Start < s.Now {
		p.event = s.Events[n-1]
	}
	if p.event.Start != had.Start && p.event.End > 0 { // a new one must not look flat beside what came before
		p.axis = reachAxis{}
	}
	p.take(s, s.Detector.LimitRPM)
}

// whole cuts an event with the time before and after it, the event in the middle.
func (p *wavePicture) whole(s *session.Snapshot, e *detect.Event) {
	length := min(e.End-e.Start, longestWave)
	span := max(length+2*max(wave.AroundLeast, length/4), eventSpan)
	from := max(e.Start+length/2-span/2, 0)
	if from != p.cut.From || from+span != p.cut.To {
		p.axis = reachAxis{}
	}
	p.cut.From, p.cut.To, p.event, p.ofEvent, p.placed = from, from+span, *e, true, true
	p.take(s, e.LimitRPM)
}

// take copies the readings of the cut and makes its trace.
func (p *wavePicture) take(s *session.Snapshot, alarmRPM float64) {
	c := &p.cut
	c.AlarmRPM, c.Hz, c.Start, c.End = 0, 0, p.event.Start, p.event.End
	if p.event.End == 0 {
		c.Start, c.End = c.To-waveFits, c.To
	}
	if known(alarmRPM) {
		c.AlarmRPM = alarmRPM
	}
	if len(p.event.Hz) > 0 {
		c.Hz = p.event.Hz[0]
	}
	rpm, throttle, speed := s.Replay.Course.RPM, s.Replay.Course.Throttle, s.Replay.Course.Speed
	if rpm == nil {
		rpm, throttle, speed = historyOf(s, pids.RPM), historyOf(s, session.DriverDemand...), historyOf(s, pids.VSS)
	}
	c.RPM = readings(c.RPM, rpm, c.From-wave.TrendSpan, min(c.To+wave.TrendSpan, latestOf(s, c.To)))
	c.Throttle = readings(c.Throttle, throttle, c.From-wave.TrendSpan, c.To)
	c.Speed = readings(c.Speed, speed, c.From-wave.TrendSpan, c.To)
	p.trace.Follow(c)
	p.fitAxis(s.Now)
}

// latestOf is up to when readings may be taken: in a replay also what comes after the cursor.
func latestOf(s *session.Snapshot, to time.Duration) time.Duration {
	if s.Replay.Course.RPM != nil {
		return to + wave.TrendSpan
	}
	return max(s.Now, to)
}

// swingReach is how far from the trend a wave goes at most, in shares of its size: a gear change beside it
// must not flatten it.
const swingReach = 0.9

func (p *wavePicture) fitAxis(now time.Duration) {
	reach := p.trace.Reach
	if swing := p.event.SwingRPM; p.event.End > 0 && swing > 0 {
		reach = min(reach, swingReach*swing)
	}
	p.axis.follow(wave.RoundReach(reach, p.cut.AlarmRPM), now)
}

// historyOf is the history of the first of the signals that is read.
func historyOf(s *session.Snapshot, signals ...pids.Signal) []session.Point {
	for _, signal := range signals {
		if l := findLane(s, signal); l != nil {
			return l.History
		}
	}
	return nil
}

// readings copies what of the points lies between from and to. dst is reused.
func readings(dst []wave.Reading, pts []session.Point, from, to time.Duration) []wave.Reading {
	dst = dst[:0]
	for i := firstPoint(pts, from); i < len(pts) && pts[i].At <= to; i++ {
		dst = append(dst, wave.Reading{At: pts[i].At, Value: pts[i].Value})
	}
	return dst
}

// reachAxis is the value axis of a wave, the same above zero as below. It widens at once and narrows
// when less has been enough for a while, so that it does not move with every reading.
type reachAxis struct {
	rpm    float64
	enough time.Duration // since when less is enough
	needed float64       // the most since then
}

const waveNarrowAfter = 3 * time.Second

func (a *reachAxis) follow(want float64, now time.Duration) {
	switch {
	case !(want < a.rpm):
		a.rpm, a.enough, a.needed = want, now, 0
		return
	case now < a.enough:
		a.enough = now
	}
	a.needed = math.Max(a.needed, want)
	if now-a.enough >= waveNarrowAfter {
		a.rpm, a.enough, a.needed = a.needed, now, 0
	}
}
