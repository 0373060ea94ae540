package cli

import (
	"strings"
	"testing"
	"time"

	"judder/detect"
	"judder/prose"
	"judder/session"
)

// Engine speed that stays away while the link stands is told, once a time, with its reason.
func TestFollow_Unread(t *testing.T) {
	var said strings.Builder
	e := &env{err: prose.NewWriter(&said)}
	var told followed
	s := session.Snapshot{Phase: session.Running}
	gap := detect.State{Reason: detect.LinkGap}
	for i, c := range []struct {
		state  detect.State
		unread session.Unread
		check  bool
	}{
		{detect.State{}, 0, false}, {gap, session.UnreadSilent, false}, {gap, session.UnreadWaits, false}, {gap, session.UnreadWaits, false},
		{detect.State{}, session.UnreadSilent, false}, {gap, session.UnreadOthers, false}, {gap, session.UnreadOthers, false},
		{detect.State{}, 0, false}, {gap, session.UnreadOthers, true},
	} {
		s.Now = time.Duration(i) * time.Second
		s.Detector, s.Unread, s.Check.Running = c.state, c.unread, c.check
		told.report(e, &s)
	}
	const want = "judder: 0:00:02  engine speed is not read: the car asks to wait\n" +
		"judder: 0:00:05  the car gives no engine speed; other readings come\n"
	if said.String() != want {
		t.Errorf("said\n%swant\n%s", said.String(), want)
	}
}
