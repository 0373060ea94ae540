package tui

import (
	"time"

	"github.com/judder-obd/judder/session"
)

// steady holds the large word still: a state is shown once it has lasted for a while, SHUDDER at
// once. The more often the word has changed of late, the longer the next state must last: a word that
// flickers is not trusted. The lines under the word belong to the state that is shown; once that is over,
// they are of now.
type steady struct {
	shown, next state
	since       time.Duration // of the drive: next is seen since then
	held        time.Duration // of the drive: when the state that is shown last held
	last        time.Duration // of the drive: the frame before
	begun       bool
	changes     [5]time.Duration // of the drive: when the word last changed, the latest first

	lines []string // under the word, as they were when the state was last seen
	wide  int      // cells that they were broken at
}

// steadyAfter is how long a state must last before it is shown, and jumpTime a step of the drive's
// clock that is no frame: the drive is then looked at from elsewhere.
const (
	steadyAfter = 1500 * time.Millisecond
	jumpTime    = 2 * time.Second
	readable    = time.Second // the least that a word is shown

	afterShudder   = 3 * time.Second  // bursts that follow each other are one alarm
	longestShudder = 20 * time.Second // that SHUDDER is shown after the last of them
	longestQuiet   = 8 * time.Second  // that QUIET is shown after the cruise
	nearAlarm      = 0.6              // share of the alarm: a swing above it is no moment to begin to say QUIET
)

// restless is how much longer a state must last, by how often the word has changed within a minute.
var restless = [...]time.Duration{3: 3 * time.Second, 4: 12 * time.Second, 5: 25 * time.Second}

// restlessFrom is from how many changes within a minute the word is restless.
const restlessFrom = 3

// follow takes the state that holds now; at once where the drive is looked at from elsewhere.
func (y *steady) follow(now state, at time.Duration, atOnce bool) {
	step := at - y.last
	y.last = at
	if now != y.next || step < 0 {
		y.next, y.since = now, at
	}
	jump := !y.begun || atOnce || step < 0 || step > jumpTime
	if jump {
		y.changes = [5]time.Duration{}
	}
	if now == y.shown && y.begun {
		y.held = at
		return
	}
	if !jump && now != shudder && !y.outdated(at) && at-y.since < y.needed(now, at) {
		return
	}
	if !jump {
		copy(y.changes[1:], y.changes[:])
		y.changes[0] = at
	}
	y.shown, y.begun, y.held = now, true, at
}

// ofTheLink reports whether a state says that nothing is read now.
func (s state) ofTheLink() bool { return s == connecting || s == noReadings || s == linkLost }

// outdated reports whether the word says of now what is over, however restless the word has been and
// whatever comes after it: the driver acts by QUIET, SHUDDER and ENGINE STOPPED, and by a link that is lost.
func (y *steady) outdated(at time.Duration) bool {
	switch y.shown {
	case quiet:
		return at-y.held >= longestQuiet
	case shudder:
		return at-y.held >= longestShudder
	}
	return (y.shown == engineStopped || y.shown.ofTheLink()) && at-y.held >= steadyAfter
}

// needed is how long a state must have lasted to be shown. That nothing is read is news, however restless
// the word has been. That the engine has stopped is a fact, shown once the word before could be read; a
// restless word waits with it too.
func (y *steady) needed(now state, at time.Duration) time.Duration {
	if now == blindPass || y.shown == blindPass { // asked for
		return 0
	}
	if now.ofTheLink() {
		return steadyAfter
	}
	lately := 0
	for _, t := range y.changes {
		if t > 0 && at-t < time.Minute {
			lately++
		}
	}
	if now == engineStopped && lately < restlessFrom {
		return max(0, y.changes[0]+readable-y.since)
	}
	need := steadyAfter + restless[lately]
	if y.shown == shudder {
		need = max(need, afterShudder)
	}
	return need
}

// settle follows a snapshot. A replay that is held or was sent elsewhere shows the second at its
// cursor, whatever came before.
func (v *view) settle(jumped bool) {
	s := &v.snap
	atOnce := jumped || v.replay && s.Phase != session.Replaying || s.Phase == session.Finished
	st := stateOf(s, v.replay)
	if st == quiet && v.word.shown != quiet && s.Detector.SwingRPM > nearAlarm*s.Detector.LimitRPM {
		v.word.since = s.Now
	}
	v.word.follow(st, s.Now, atOnce)
}

// over reports whether the word that is shown is of a while ago: the lines under it then are of now.
func (y *steady) over() bool {
	after := steadyAfter
	if y.shown == shudder {
		after = afterShudder
	}
	return y.shown != y.next && y.last-y.held >= after
}

// shownLines are the lines under the word, at most w cells each.
func (v *view) shownLines(w int) []string {
	y := &v.word
	if y.over() {
		now := "now: " + reasonLine(&v.snap, y.next, v.replay)
		if y.shown == shudder {
			now = "it is over; " + now
		}
		return wrapped(now, w, 2)
	}
	if y.shown == y.next || y.lines == nil || y.wide != w {
		y.lines, y.wide = reasonLines(&v.snap, y.shown, v.replay, w), w
	}
	return y.lines
}
