package tui

import (
	"io"
	"strings"

	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"
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
	word                 [moodCount]ink // of the state word, by mood
	text                 [moodCount]ink // of rows and large letters, by mood
	wave                 ink            // the brightest of the page
	picture              ink            // signals and the line of the chart: quiet
	key                  ink            // names of keys

	ground string // what paints the page; "" for the terminal's own ground
}

// tones are the colours of a theme, by their numbers in the palette of 256.
type tones struct{ good, watch, alarm, quiet string }

// The tones of the usual theme hold on a dark and on a light ground, which is not asked for: each has
// a contrast of at least 3.5 to 1 with black and with white. Those of the theme for sunlight are for its
// own white ground.
var (
	usualTones    = tones{good: "28", watch: "166", alarm: "160", quiet: "243"}
	sunlightTones = tones{good: "22", watch: "94", alarm: "124", quiet: "16"}
)

// White and black of the palette.
const white, black = "231", "16"

// themes are the usual theme and the one for sunlight, for the terminal behind out, which has to be
// the file itself for it to be known as one, or without any colour.
func themes(out io.Writer, noColor bool) [2]theme {
	var opts []termenv.OutputOption
	if noColor {
		opts = append(opts, termenv.WithProfile(termenv.Ascii))
	}
	return themesOf(lipgloss.NewRenderer(out, opts...))
}

func themesOf(r *lipgloss.Renderer) [2]theme {
	r.SetHasDarkBackground(true)
	return [2]theme{usualTheme(r), sunlightTheme(r)}
}

func usualTheme(r *lipgloss.Renderer) theme {
	th := toned(r, usualTones)
	th.word = th.text
	th.word[moodNeutral] = th.strong
	th.word[moodAlarm] = inkOf(r.NewStyle().Bold(true).Foreground(lipgloss.Color(white)).Background(lipgloss.Color(usualTones.alarm)))
	return th
}

// sunlightTheme is black on white, with the states as blocks.
func sunlightTheme(r *lipgloss.Renderer) theme {
	th := toned(r, sunlightTones)
	block := func(on string) ink {
		return inkOf(r.NewStyle().Bold(true).Foreground(lipgloss.Color(white)).Background(lipgloss.Color(on)))
	}
	t := sunlightTones
	th.word = [moodCount]ink{moodNeutral: th.strong, moodGood: block(t.good), moodWatch: block(t.watch), moodAlarm: block(t.alarm)}
	th.faint, th.picture = ink{}, ink{} // as the ground
	th.ground = inkOf(r.NewStyle().Foreground(lipgloss.Color(black)).Background(lipgloss.Color(white))).before
	return th
}

func toned(r *lipgloss.Renderer, t tones) theme {
	fore := func(tone string) ink { return inkOf(r.NewStyle().Bold(true).Foreground(lipgloss.Color(tone))) }
	quiet := inkOf(r.NewStyle().Foreground(lipgloss.Color(t.quiet)))
	bold := inkOf(r.NewStyle().Bold(true))
	return theme{
		strong: bold, wave: bold, key: bold, faint: quiet, picture: quiet,
		text: [moodCount]ink{moodGood: fore(t.good), moodWatch: fore(t.watch), moodAlarm: fore(t.alarm)},
	}
}

func inkOf(s lipgloss.Style) ink {
	before, after, _ := strings.Cut(s.Render("x"), "x")
	return ink{before, after}
}

// mood returns the ink of a row of this mood, neutral for none.
func (t *theme) mood(m mood, neutral ink) ink {
	if m == moodNeutral {
		return neutral
	}
	return t.text[m]
}

const resetInk = "\x1b[0m"

// paint puts a page of w cells on the theme's ground. Every style ends with a reset, after which the
// ground begins again.
func (t *theme) paint(page string, w int) string {
	if t.ground == "" {
		return page
	}
	lines := strings.Split(page, "\n")
	for i, l := range lines {
		l += spaces(w - ansi.StringWidth(l))
		lines[i] = t.ground + strings.ReplaceAll(l, resetInk, resetInk+t.ground) + resetInk
	}
	return strings.Join(lines, "\n")
}
