package tui

import "github.com/judder-obd/judder/session"

// Speaker says the large word aloud.
type Speaker interface {
	// Say says a word, and returns at once.
	Say(word string)
	// Trouble is why a word could not be said, once; "" when all is well.
	Trouble() string
}

// saying knows which word was said last.
type saying struct {
	by   Speaker // nil says nothing
	said string
}

// follow says a word that has changed, and returns what went wrong, once.
func (y *saying) follow(word string) (trouble string) {
	if y.by == nil {
		return ""
	}
	if word != y.said {
		y.said = word
		y.by.Say(word)
	}
	return y.by.Trouble()
}

// Words follows the large word of a drive that has no screen, and has it said at each change, as the
// screen would.
type Words struct {
	view   view
	saying saying
}

// NewWords says with a speaker.
func NewWords(by Speaker) *Words { return &Words{saying: saying{by: by}} }

// Follow takes a snapshot, and returns why a word could not be said, once; "" when all is well.
func (w *Words) Follow(s *session.Snapshot) (trouble string) {
	w.view.snap = *s
	w.view.settle(false)
	return w.saying.follow(states[w.view.word.shown].word)
}
