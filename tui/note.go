package tui

import (
	"unicode/utf8"

	tea "github.com/charmbracelet/bubbletea"

	"github.com/judder-obd/judder/prose"
)

// noteEntry is the note being written, one line.
type noteEntry struct {
	open bool
	text []rune
}

const longestNote = 200 // characters

func (m *model) openNote() tea.Cmd {
	m.foot.note, m.foot.notice = noteEntry{open: true}, notice{} // the keys of the note are told instead
	m.page = pageDrive
	return nil
}

// typeNote takes a key while a note is written. Enter keeps the note, escape drops it.
func (m *model) typeNote(k tea.KeyMsg) tea.Cmd {
	n := &m.foot.note
	if m.marks.whileTyping(k) {
		return m.felt()
	}
	switch k.Type {
	case tea.KeyCtrlC:
		return m.leave()
	case tea.KeyEsc:
		n.open = false
	case tea.KeyEnter:
		keepNote(m)
	case tea.KeyBackspace:
		n.text = n.text[:max(0, len(n.text)-1)]
	case tea.KeySpace, tea.KeyRunes:
		for _, r := range k.Runes {
			if len(n.text) < longestNote && utf8.ValidRune(r) {
				n.text = append(n.text, prose.CleanRune(r))
			}
		}
	}
	return nil
}

// keepNote keeps the note that is being written; nothing where there is none.
func keepNote(m *model) {
	n := &m.foot.note
	if text := prose.Clean(string(n.text)); n.open && text != "" {
		m.src.Note(text)
		m.say("note kept at " + prose.Clock(m.snap.Now))
	}
	n.open = false
}

// line draws the note in w cells: the end of a long one, where the typing is.
func (n *noteEntry) line(w int) string {
	return n.asking(" note: ", "   enter keeps it, esc drops it", w)
}

// asking draws what is typed between words before and after it.
func (n *noteEntry) asking(ask, keys string, w int) string {
	room := max(w-len(ask)-len(keys)-1, 8)
	text := string(n.text)
	for prose.Cells(text) > room {
		_, size := utf8.DecodeRuneInString(text)
		text = text[size:]
	}
	return cut(ask+text+"_"+keys, w)
}
