package tui

import (
	"io"
	"strings"

	"github.com/charmbracelet/lipgloss"
	"github.com/muesli/termenv"
)

// ink is a style reduced to what it writes before and after a text; styling a cell with
// it costs a concatenation.
type ink struct{ before, after string }

// on returns s in the ink.
func (k ink) on(s string) string {
	if k.before == "" || s == "" {
		return s
	}
	return k.before + s + k.after
}

// theme is the inks of the screen. None of them says anything alone: where a colour has a
// meaning, a word or a glyph beside it has the same.
type theme struct {
	plain, strong, faint ink
	good, watch, alarm   ink // states: quiet, pay attention, shudder
	wave                 ink // the brightest of the page
	picture              ink // sparklines and the chart's line: quiet
	key                  ink // names of keys
}

// newTheme builds the inks for the terminal behind out, which has to be the file itself for
// it to be known as one, or without any colour.
// The sixteen colours of the terminal's own palette are used, and one grey from the middle of its
// ramp, so that they suit its background, which is not asked for.
func newTheme(out io.Writer, noColor bool) theme {
	var opts []termenv.OutputOption
	if noColor {
		opts = append(opts, termenv.WithProfile(termenv.Ascii))
	}
	r := lipgloss.NewRenderer(out, opts...)
	r.SetHasDarkBackground(true)
	return theme{
		strong:  inkOf(r.NewStyle().Bold(true)),
		faint:   inkOf(r.NewStyle().Faint(true)),
		good:    inkOf(r.NewStyle().Bold(true).Foreground(lipgloss.Color("2"))),
		watch:   inkOf(r.NewStyle().Bold(true).Foreground(lipgloss.Color("3"))),
		alarm:   inkOf(r.NewStyle().Bold(true).Reverse(true).Foreground(lipgloss.Color("1"))),
		wave:    inkOf(r.NewStyle().Bold(true)),
		picture: inkOf(r.NewStyle().Foreground(lipgloss.Color("244"))), // a grey that holds on dark and light
		key:     inkOf(r.NewStyle().Bold(true)),
	}
}

func inkOf(s lipgloss.Style) ink {
	before, after, _ := strings.Cut(s.Render("x"), "x")
	return ink{before, after}
}

// mood returns the ink of a mood, neutral for none.
func (t *theme) mood(m mood, neutral ink) ink {
	switch m {
	case moodGood:
		return t.good
	case moodWatch:
		return t.watch
	case moodAlarm:
		return t.alarm
	}
	return neutral
}
