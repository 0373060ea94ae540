package session

import (
	"testing"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/session/recording"
)

// Why engine speed is not read shows in what came instead: "response pending" (7F 01 78,
// ISO 14229-1), the readings of others, or nothing. What was asked to wait and what was silent is
// no answer.
func TestUnread(t *testing.T) {
	const speed, rpm, wait = "7E9 03 41 0D 32", "7E8 04 41 0C 1A F8", "7E8 03 7F 01 78"
	for name, c := range map[string]struct {
		before, after  []string // replies, one exchange each, over and over: 10 s each, ten a second
		want           Unread
		waited, silent int // of the exchanges after
	}{
		"nothing":                {[]string{rpm, speed}, []string{"NO DATA"}, UnreadSilent, 0, 100},
		"wait":                   {[]string{rpm, speed}, []string{wait}, UnreadWaits, 100, 0},
		"wait, others are read":  {[]string{rpm, speed}, []string{wait, speed}, UnreadWaits, 50, 0},
		"others are read":        {[]string{rpm, speed}, []string{speed}, UnreadOthers, 0, 0},
		"silent, others do":      {[]string{rpm, speed}, []string{"NO DATA", speed}, UnreadOthers, 0, 50},
		"refused, others do":     {[]string{rpm, speed}, []string{"7E8 03 7F 01 12", speed}, UnreadOthers, 0, 0},
		"never came":             {[]string{speed}, []string{speed}, UnreadOthers, 0, 0},
		"no prompt":              {[]string{rpm, speed}, []string{""}, UnreadSilent, 0, 100},
		"a damaged reply is one": {[]string{rpm, speed}, []string{"7E8 04 41 0C 1A <DATA ERROR"}, UnreadSilent, 0, 0},
	} {
		a, b := NewAnalysis(nil), board{}
		at := time.Duration(0)
		play := func(replies []string) {
			for i := range 100 {
				text := replies[i%len(replies)]
				x := obd.Exchange{Sent: at, Request: "010C0D", Done: at + 50*time.Millisecond, Form: obd.FormCAN11}
				if text == "" {
					x.Ending = obd.EndSilence
				} else {
					x.Lines = []obd.Line{{At: at + 20*time.Millisecond, Text: text}}
				}
				e := recording.OfExchange(x)
				b.show(a, &e, a.Take(&e))
				at += 100 * time.Millisecond
			}
		}
		var s Snapshot
		look := func() Snapshot {
			s.Now = a.end
			fill(&s, a, &b)
			return s
		}
		play(c.before)
		if l := look().Link; l.Waited != 0 || l.Silent != 0 {
			t.Errorf("%s, before: %+v", name, l)
		}
		if got := s.Detector.Reason == detect.LinkGap; got != (c.before[0] != rpm) {
			t.Errorf("%s, before: %v", name, s.Detector.Reason)
		}
		play(c.after)
		if l := look().Link; l.Waited != c.waited || l.Silent != c.silent || l.Exchanges != 200 {
			t.Errorf("%s: %+v", name, l)
		}
		if s.Detector.Reason != detect.LinkGap || s.Unread != c.want {
			t.Errorf("%s: %v, unread %d, want %d", name, s.Detector.Reason, s.Unread, c.want)
		}
	}
}
