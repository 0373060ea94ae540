package tui

import (
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"github.com/judder-obd/judder/prose"
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

// whileTyping reports whether a key marks while a note is typed: it is no part of a text.
func (k *marker) whileTyping(key tea.KeyMsg) bool {
	return k.isSwitch(key) || key.Type == tea.KeyPgDown || key.Type == tea.KeyRight
}

// learnSwitch asks for the key of a foot switch or presenter.
func learnSwitch(m *model) tea.Cmd {
	m.marks.learning = true
	m.foot.notice = notice{"press your switch now; esc keeps it as it is", m.now.Add(time.Minute)}
	return nil
}

// notSwitches are keys that must keep what they do.
var notSwitches = map[string]bool{"esc": true, "ctrl+c": true, "q": true, "backspace": true}

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
		m.say("your switch marks now; its key is " + keyName(name))
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

// felt marks this moment. A held key is one mark.
func (m *model) felt() tea.Cmd {
	k := &m.marks
	again := m.now.Sub(k.pressed) < oneMark
	k.pressed = m.now
	if m.replay && again {
		return nil
	}
	m.src.Felt()
	if !again {
		k.open, k.at = true, m.snap.Now
	}
	m.say("felt at " + prose.Clock(k.at))
	return nil
}

// takeBack takes the latest mark back.
func (m *model) takeBack() tea.Cmd {
	if at, ok := m.src.replay.TakeBack(); ok {
		m.say("taken back: the mark at " + prose.Clock(at))
	} else {
		m.say("no mark to take back")
	}
	m.marks.open, m.marks.pressed = false, time.Time{}
	return nil
}

// answerMark says once what became of the latest mark.
func (m *model) answerMark() {
	k := &m.marks
	if !k.open {
		return
	}
	if k.at > m.snap.Now { // the replay was sent elsewhere
		k.open = false
		return
	}
	if o, reason := outcomeOf(k.at, &m.snap); o != outcomeOpen {
		k.open = false
		m.say("felt at " + prose.Clock(k.at) + ": " + outcomeWords(o, reason))
	}
}
