package tui

import (
	"strings"
	"testing"

	"github.com/charmbracelet/x/ansi"

	"judder/session"
)

// Long lines are broken between words, as deep as their text; nothing is lost or too wide.
func TestWrap(t *testing.T) {
	lines := []string{"  1.   Repair the engine's misfire before judging the converter: P0304, P0741 (ISO 14229-1, status of a trouble code)", "", "short", "\tx\x1b[2Jy", strings.Repeat("w", 200)}
	for _, w := range []int{30, 58, 78} {
		out := Wrap(lines, w)
		for _, l := range out {
			if ansi.StringWidth(l) > w || strings.Contains(l, "\x1b") {
				t.Errorf("%d wide: %q", w, l)
			}
		}
		joined := strings.Join(strings.Fields(strings.Join(out, " ")), " ")
		if !strings.Contains(joined, "1. Repair the engine's misfire before judging the converter:") || !strings.Contains(joined, "short") {
			t.Errorf("%d wide: %q", w, joined)
		}
		if !strings.HasPrefix(out[1], "       ") {
			t.Errorf("%d wide: %q does not stand under the text", w, out[1])
		}
	}
}

// What is broken off stands under the text of its line, behind the word that is set apart.
func TestWrap_UnderTheText(t *testing.T) {
	for line, want := range map[string]string{
		"  changed    misfire, all cylinders, of late  4 → 0":          "  changed    misfire, all\n             cylinders, of late\n             4 → 0",
		"  0:01:05  shudder, 72 rpm peak to peak at 81 km/h":           "  0:01:05  shudder, 72 rpm peak\n           to peak at 81 km/h",
		"      10.0 s  standing check and more than fits":              "      10.0 s  standing check and\n              more than fits",
		"  not far  but the text begins behind it, and that is enough": "  not far  but the text begins\n           behind it, and that\n           is enough",
		"a sentence ends.  Another goes on for longer than the line":   "a sentence ends.  Another goes\non for longer than the line",
	} {
		if got := strings.Join(Wrap([]string{line}, 33), "\n"); got != want {
			t.Errorf("got\n%s\nwant\n%s", got, want)
		}
	}
}

// The pages of the help turn by the keys that turn pages, and stop at both ends.
func TestHelp_Moves(t *testing.T) {
	m := still(t, 80, 24, &fakeDrive{})
	press(m, "?")
	last := len(m.helpLines()) - helpRows(m.h)
	for _, c := range []struct {
		key  string
		want int
	}{{"down", 1}, {"up", 0}, {"up", 0}, {"pgdown", helpRows(24)}, {"end", last}, {"pgdown", last}, {"home", 0}, {"pgup", 0}} {
		press(m, c.key)
		if m.page != pageHelp || m.help != c.want {
			t.Errorf("after %s line %d of page %v, want %d", c.key, m.help, m.page, c.want)
		}
	}
}

// The result of a check stops with its last line at the foot of the page.
func TestCheckPage_StopsAtItsEnd(t *testing.T) {
	d := &fakeDrive{change: func(s *session.Snapshot) {
		s.Check.Asked = true
		for i := range 60 {
			s.Check.Lines = append(s.Check.Lines, strings.Repeat("x", i%9+1))
		}
	}}
	m := still(t, 80, 24, d)
	press(m, "c")
	for range 10 {
		press(m, "pgdown")
	}
	if want := 60 - (24 - checkFrame); m.check != want {
		t.Errorf("line %d stands on top, want %d", m.check, want)
	}
}
