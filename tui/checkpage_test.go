package tui

import (
	"strings"
	"testing"

	"github.com/judder-obd/judder/session"
)

// The pages of the help turn by the keys that turn pages, and stop at both ends.
func TestHelp_Moves(t *testing.T) {
	m := still(t, 80, 24, &fakeDrive{})
	press(m, "?")
	last := len(helpLines(&m.view, m.foot.keys)) - helpRows(m.h)
	for _, c := range []struct {
		key  string
		want int
	}{{"down", 1}, {"up", 0}, {"up", 0}, {"pgdown", helpRows(24)}, {"end", last}, {"pgdown", last}, {"home", 0}, {"pgup", 0}} {
		press(m, c.key)
		if m.page != pageHelp || m.help.first != c.want {
			t.Errorf("after %s line %d of page %v, want %d", c.key, m.help.first, m.page, c.want)
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
	if want := 60 - (24 - checkFrame); m.check.first != want {
		t.Errorf("line %d is on top, want %d", m.check.first, want)
	}
}
