package tui

import (
	"time"

	"judder/session"
)

// steady holds the large word still: a state is shown once it has lasted for a while, SHUDDER at
// once. The lines under the word belong to the state that is shown, and wait with it.
type steady struct {
	shown, next state
	since       time.Duration // of the drive: next is seen since then
	last        time.Duration // of the drive: the frame before
	begun       bool

	lines []string // under the word, as they were when the state was last seen
	wide  int      // cells that they were broken at
}

// steadyAfter is how long a state must last before it is shown, and jumpTime a step of the drive's
// clock that is no frame: the drive is then looked at from elsewhere.
const (
	steadyAfter = 1500 * time.Millisecond
	jumpTime    = 2 * time.Second
)

// follow takes the state that holds now; at once where the drive is looked at from elsewhere.
func (y *steady) follow(now state, at time.Duration, atOnce bool) {
	step := at - y.last
	y.last = at
	if now != y.next || step < 0 {
		y.next, y.since = now, at
	}
	if !y.begun || atOnce || step < 0 || step > jumpTime || now == shudder || at-y.since >= steadyAfter {
		y.shown, y.begun = now, true
	}
}

// settle follows a snapshot. A replay that is held or was sent elsewhere shows the second at its
// cursor, whatever came before.
func (v *view) settle(jumped bool) {
	s := &v.snap
	atOnce := jumped || v.replay && s.Phase != session.Replaying || s.Phase == session.Finished
	v.word.follow(stateOf(s, v.replay), s.Now, atOnce)
}

// shownLines are the lines under the word, at most w cells each.
func (v *view) shownLines(w int) []string {
	y := &v.word
	if y.shown == y.next || y.lines == nil || y.wide != w {
		y.lines, y.wide = reasonLines(&v.snap, y.shown, v.replay, w), w
	}
	return y.lines
}
