package tui

import (
	"strings"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// marker is what the keys that mark need to remember: the switch that was learnt, and the mark whose
// answer is still to come.
type marker struct {
	learning bool   // the next key is the switch
	learnt   string // the key of a foot switch or presenter; "" where none was learnt

	open    bool          // a mark waits for its answer
	at      time.Duration // of the drive: that mark
	pressed time.Time     // the latest press, on the wall clock
}

// oneMark is within what time presses are one mark: a held key repeats itself.
const oneMark = 1500 * time.Millisecond

// isSwitch reports whether k is the switch that was learnt. It marks on every page, and while a note
// is typed.
func (k *marker) isSwitch(key tea.KeyMsg) bool { return k.learnt != "" && key.String() == k.learnt }

// whileTyping reports whether a key marks while a note is typed: it is no part of a text. Enter keeps the
// note, also where a switch sends it.
func (k *marker) whileTyping(key tea.KeyMsg) bool {
	return k.isSwitch(key) && key.Type != tea.KeyEnter || key.Type == tea.KeyPgDown || key.Type == tea.KeyRight
}

// learnSwitch asks for the key of a foot switch or presenter.
func learnSwitch(m *model) tea.Cmd {
	m.marks.learning = true
	m.foot.notice = notice{"press your switch now; esc keeps it as it is", m.now.Add(time.Minute)}
	return nil
}

// learn takes the key that follows.
func (m *model) learn(k tea.KeyMsg) tea.Cmd {
	m.marks.learning = false
	name := k.String()
	switch {
	case k.Type == tea.KeyCtrlC:
		return m.leave()
	case k.Paste || name == "" || notSwitches[name]:
		m.say("no switch was learnt")
	default:
		m.marks.learnt = name
		text := "your switch marks now; its key is " + keyName(name)
		if !m.replay && !strings.ContainsAny(name, " \"'\\") {
			text += "; --switch " + keyName(name) + " keeps it"
		}
		m.say(text)
	}
	return nil
}

// keyName is the name of a key, fit for the screen.
func keyName(name string) string {
	if name == " " {
		return "space"
	}
	return cut(prose.Clean(name), 20)
}

// felt marks this moment. A held key is one mark; in a drive the session counts its presses.
func (m *model) felt() tea.Cmd {
	k := &m.marks
	again := m.now.Sub(k.pressed) < oneMark
	k.pressed = m.now
	switch {
	case m.snap.Phase == session.Finished && !m.replay:
		m.say("not marked: the drive is over")
		return nil
	case m.replay && again:
		return nil
	}
	m.src.Felt()
	if !again {
		k.open, k.at = true, m.snap.Now
	}
	m.say("felt at " + prose.Clock(k.at))
	return nil
}

// takeBack takes the latest mark back, at the bench also a note.
func takeBack(m *model) tea.Cmd {
	switch mark, ok := m.src.TakeBack(); {
	case !ok:
		m.say("no mark to take back")
	case mark.Note != "":
		m.say("taken back: the note at " + prose.Clock(mark.At))
	default:
		m.say("taken back: the mark at " + prose.Clock(mark.At))
	}
	m.marks.open, m.marks.pressed = false, time.Time{}
	return nil
}

// answerMark follows the latest mark: how it was made while it grows, and once what became of it. In a
// blind pass nothing is given away.
func answerMark(m *model) {
	k := &m.marks
	if !k.open || k.learning { // what is asked for stays on the line
		return
	}
	mark := markSince(m.snap.Marks, k.at)
	switch {
	case k.at > m.snap.Now: // the replay was sent elsewhere
		k.open = false
	case mark == nil:
	case m.snap.Blind.On || mark.Outcome == session.Undecided || m.now.Sub(k.pressed) < oneMark:
		if m.foot.noticed(m.now) {
			m.foot.notice.text = "felt at " + prose.Clock(mark.At) + madeWords(mark)
		}
	default:
		k.open = false
		m.say(prose.Clock(mark.At) + ": " + markWords(mark))
	}
}

// markSince is the last felt mark, made at that time or later; nil where there is none.
func markSince(marks []session.Mark, at time.Duration) *session.Mark {
	for i := len(marks) - 1; i >= 0 && marks[i].At >= at; i-- {
		if marks[i].Note == "" {
			return &marks[i]
		}
	}
	return nil
}
