package schedule

import (
	"slices"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/reply"
)

// mapReply is the reply to 06A0 of a car of four cylinders: bits of A1 to A5, from the left (SAE J1979:
// the support maps of service 06 are like those of service 01).
func mapReply(bits ...byte) *reply.Decoded {
	return &reply.Decoded{Messages: []reply.Message{{ECU: "7E8", Data: append([]byte{0x46, 0xA0}, bits...)}}}
}

// counted asks by the side requests for a time and returns what was asked and when. Each request takes
// 40 ms, and want is when a shudder is over.
func counted(s *Side, d time.Duration, got *reply.Decoded, want ...time.Duration) (out []asking) {
	const took = 40 * time.Millisecond
	for now := time.Duration(0); now < d; now += took {
		if len(want) > 0 && now >= want[0] {
			s.WantCounts()
			want = want[1:]
		}
		which := s.Due(now)
		for _, r := range which {
			out = append(out, asking{now, r.Request()})
			s.Heard(r, got)
			r.Answered(now+took, got != nil && len(got.Messages) > 0, false)
		}
		if len(which) > 0 {
			now += took
			s.Done(now-took, now)
		}
	}
	return out
}

func requestsOf(all []asking) (out []string) {
	for _, a := range all {
		out = append(out, a.request)
	}
	return out
}

// The map first, then each cylinder that it has; again once a minute, and after a shudder. Together they
// take less than 2 % of the time, and every request passes the gate.
func TestCounts(t *testing.T) {
	s := new(Side).WithCounts("7E0", 0)
	round := []string{"06A2", "06A3", "06A4", "06A5"}
	all := counted(s, 3*time.Minute, mapReply(0xF8, 0, 0, 0), 30*time.Second)
	want := append([]string{"06A0"}, round...)
	want = append(append(want, round...), round...) // by the shudder at 30 s, by themselves a minute later
	if got := requestsOf(all); !slices.Equal(got[:len(want)], want) || all[0].at < countAfter {
		t.Fatalf("%q, want %q first, from %v on", got, want, countAfter)
	}
	if at := all[5].at; at < 30*time.Second || at > 35*time.Second {
		t.Errorf("the round for a shudder at 30 s begins at %v", at)
	}
	for i, a := range all {
		if err := elm.Permit(a.request); err != nil {
			t.Error(err)
		}
		if i > 0 && 50*40*time.Millisecond > a.at-all[i-1].at+80*time.Millisecond {
			t.Errorf("%v after the last of 40 ms, which is more than 2 %%", a.at-all[i-1].at)
		}
	}
	if n := len(all); n > 1+4*5 {
		t.Errorf("%d requests in 3 minutes", n)
	}
}

// A car without counters is asked twice which it has, and then left alone; one that has none of a
// cylinder, and one that gives another map, too.
func TestCounts_None(t *testing.T) {
	for name, c := range map[string]struct {
		reply *reply.Decoded
		most  int
	}{
		"silent":       {new(reply.Decoded), countTries},
		"refused":      {&reply.Decoded{Messages: []reply.Message{{Data: []byte{0x7F, 0x06, 0x12}}}}, 10},
		"no cylinder":  {mapReply(0x80, 0, 0, 1), 1},
		"another map":  {&reply.Decoded{Messages: []reply.Message{{Data: []byte{0x46, 0x80, 0xFF, 0xFF, 0xFF, 0xFF}}}}, 10},
		"short":        {mapReply(0xF8), 10},
		"twelve":       {mapReply(0xFF, 0xF8, 0, 0), 1 + 12*10},
		"no cylinders": {mapReply(0, 0, 0, 0), 1},
	} {
		all := counted(new(Side).WithCounts("7E0", 0), 5*time.Minute, c.reply)
		if len(all) == 0 || len(all) > c.most || name != "twelve" && slices.ContainsFunc(all, func(a asking) bool { return a.request != "06A0" }) {
			t.Errorf("%s: %q", name, requestsOf(all))
		}
	}
	if all := counted(new(Side).WithCounts("", 0), time.Minute, mapReply(0xF8, 0, 0, 0), time.Second); len(all) != 0 {
		t.Errorf("without an address: %q", requestsOf(all))
	}
}

// Nothing is asked of the profile's parameters less because of the counts.
func TestCounts_BesideProfile(t *testing.T) {
	s := NewSide(byRole(), obd.Capabilities{}, new(reply.Support)).WithCounts("7E0", 0)
	slips := 0
	for _, a := range counted(s, time.Minute, mapReply(0xF8, 0, 0, 0)) {
		if a.request == "224D00" {
			slips++
		}
	}
	if slips < 60 {
		t.Errorf("slip %d times in a minute", slips)
	}
}
