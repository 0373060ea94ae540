package tui

import (
	"strings"
	"testing"

	"github.com/judder-obd/judder/session"
)

// A key is answered on whatever page is shown, whole where one line is not enough, and for as long as it
// takes to read.
func TestAnswersOnEveryPage(t *testing.T) {
	const long = "blind: 12 of 14 marks at a shudder, whose windows cover 21 % of 12:44 min; by chance under 0.01 %"
	for _, key := range []string{"", "?", "c", "t", "v", "g", "tab"} {
		for _, size := range [][2]int{{80, 24}, {120, 40}, {minWidth, minHeight}} {
			f := &fakeDrive{now: at(11, 12)}
			m := still(t, size[0], size[1], f)
			if press(m, "esc"); key != "" {
				press(m, key)
			}
			if press(m, "space"); f.felt != 1 || !strings.Contains(m.View(), " felt at 0:11:12") {
				t.Errorf("after %q at %v: %d marks, no answer:\n%s", key, size, f.felt, m.View())
			}
			m.say(long)
			page := m.View()
			checkShape(t, page, size[0], size[1])
			if !strings.Contains(strings.Join(strings.Fields(page), " "), long) {
				t.Errorf("after %q at %v the answer is cut:\n%s", key, size, page)
			}
			if m.foot.notice.until.Sub(m.now) < 2*noticeTime {
				t.Errorf("a long answer stays for %v", m.foot.notice.until.Sub(m.now))
			}
		}
	}
}

// An answer to an earlier key does not cover the keys of the last page.
func TestLastPageHasNoOldAnswer(t *testing.T) {
	m := still(t, 80, 24, &fakeDrive{now: at(11, 12), replay: true})
	if press(m, "x", "q"); m.page != pageEnd || !strings.Contains(m.View(), "back to the pictures") {
		t.Errorf("page %d:\n%s", m.page, m.View())
	}
}

// A mark after the end of a drive is none, and that is said.
func TestMarkAfterTheEnd(t *testing.T) {
	f := &fakeDrive{now: at(14, 0), change: func(s *session.Snapshot) { s.Phase = session.Finished }}
	m := still(t, 80, 24, f)
	if press(m, "space"); f.felt != 0 || !strings.Contains(m.View(), "not marked: the drive is over") {
		t.Errorf("%d marks:\n%s", f.felt, m.View())
	}
}
