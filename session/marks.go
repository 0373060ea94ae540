package session

import "time"

// Mark is the user's "felt it now", or a note.
//
// A felt mark is made of presses that follow each other. Presses within three seconds of the first, or
// within a second and a half of the one before, are one mark. One to three of them are its strength; a
// key that is held, or pressed more often, gives it a length.
type Mark struct {
	At       time.Duration
	Note     string        // "" for a felt mark
	Lasted   time.Duration // from the first press to the last, where the key was held or pressed more than three times; else 0
	Strength int           // 1 to 3; 0 for a note
	Blind    bool          // made in a blind pass
	Outcome  FeltOutcome   // of a felt mark
	Why      DarkReason    // where the outcome is NotJudged
}

// What presses are one mark (chosen; a terminal repeats a held key 10 to 40 times a second, after
// 0.25 to 0.7 s).
const (
	pressesWithin = 3 * time.Second
	pressesApart  = 1500 * time.Millisecond
	heldApart     = 200 * time.Millisecond
	heldDelay     = 750 * time.Millisecond
	strongest     = 3
)

// BlindPass is a stretch in which the screen hid what was found.
type BlindPass struct {
	Start, End time.Duration // End is Start while it lasts
}

// markBook makes marks of presses, in the order in which they come.
type markBook struct {
	marks  []Mark
	blinds []BlindPass
	open   bool // a blind pass lasts

	felt    int           // index+1 of the felt mark that grows; 0 for none
	press1  time.Duration // the latest press
	gap     time.Duration // between the two latest presses
	presses int           // of the mark that grows, a held key counted once
	held    bool          // the latest presses are those of a held key
}

// press takes a press of the felt key.
func (b *markBook) press(at time.Duration) {
	gap := at - b.press1
	before := b.gap
	b.press1, b.gap = at, gap
	if b.felt == 0 || !b.joins(at, gap) {
		b.marks = append(b.marks, Mark{At: at, Strength: 1, Blind: b.open})
		b.felt, b.presses, b.held = len(b.marks), 1, false
		b.gap = pressesWithin
		return
	}
	m := &b.marks[b.felt-1]
	switch {
	case gap >= heldApart:
		b.presses++
		b.held = false
	case !b.held:
		if b.held = true; before < heldDelay && b.presses > 1 {
			b.presses-- // the press before was the key's first repeat
		}
	}
	if b.held || b.presses > strongest {
		m.Lasted = at - m.At
	}
	m.Strength = min(b.presses, strongest)
}

func (b *markBook) joins(at, gap time.Duration) bool {
	m := &b.marks[b.felt-1]
	return m.Blind == b.open && (at-m.At <= pressesWithin || gap <= pressesApart)
}

func (b *markBook) note(at time.Duration, text string) {
	b.marks = append(b.marks, Mark{At: at, Note: text})
}

// last is the time of the last felt mark.
func (b *markBook) last() (m Mark, ok bool) {
	if i := b.lastFelt(); i >= 0 {
		return b.marks[i], true
	}
	return Mark{}, false
}

func (b *markBook) lastFelt() int {
	for i := len(b.marks) - 1; i >= 0; i-- {
		if b.marks[i].Note == "" {
			return i
		}
	}
	return -1
}

// takeBack drops the last felt mark.
func (b *markBook) takeBack() {
	if i := b.lastFelt(); i >= 0 {
		b.marks = append(b.marks[:i], b.marks[i+1:]...)
	}
	b.felt = 0
}

// blindPass takes the beginning or the end of a blind pass.
func (b *markBook) blindPass(at time.Duration, begins bool) {
	switch {
	case begins && !b.open:
		b.blinds = append(b.blinds, BlindPass{at, at})
		b.open = true
	case !begins:
		b.finish(at)
	}
}

// finish closes a blind pass that lasts.
func (b *markBook) finish(at time.Duration) {
	if b.open {
		b.blinds[len(b.blinds)-1].End, b.open = at, false
	}
}

// benchMark is a mark made at the bench.
func benchMark(at time.Duration, note string) Mark {
	m := Mark{At: at, Note: note, Strength: 1}
	if note != "" {
		m.Strength = 0
	}
	return m
}
