package tui

import (
	"io"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/complaint"
)

// What was not driven is 0 s, not a blank; in a small window bands without anything go first.
func TestCoverTable(t *testing.T) {
	var s session.Snapshot
	fakeCover(&s)
	both := themes(io.Discard, true)
	th := &both[0]
	for most, want := range map[int]int{10: 10, 20: 10, 9: 3, 3: 3, 2: 2} {
		if got := coverTable(&s.Cover, complaint.Box{}, th, most); len(got) != want {
			t.Errorf("%d lines for at most %d, want %d", len(got), most, want)
		}
	}
	whole := strings.Join(coverTable(&s.Cover, complaint.Box{}, th, 20), "\n")
	if n := strings.Count(whole, " 0 s"); n != 9*4-3 {
		t.Errorf("%d cells of 0 s:\n%s", n, whole)
	}
	asked := coverTable(&s.Cover, complaint.Box{FromKMH: 100, ToKMH: 110}, th, 5)
	if !strings.Contains(asked[len(asked)-1], "100–110") {
		t.Errorf("what is asked about is left out:\n%s", strings.Join(asked, "\n"))
	}
}

func TestNeedWords(t *testing.T) {
	for _, tt := range []struct {
		n    session.Need
		want string
	}{
		{session.Need{More: 3}, "0 passes, 0 s; 3 more passes of 8 s"},
		{session.Need{Passes: 1, Judged: 9 * time.Second, More: 1, Shudders: 1}, "1 pass, 9 s, 1 shook; one more pass of 8 s"},
		{session.Need{Passes: 4, Judged: 90 * time.Second}, "4 passes, 1:30 min; enough"},
		{session.Need{Beyond: true}, "0 passes, 0 s; outside 30 to 115 km/h nothing can be seen"},
	} {
		if got := needCounts(&tt.n) + "; " + stillNeeded(&tt.n); got != tt.want {
			t.Errorf("%q, want %q", got, tt.want)
		}
	}
}
