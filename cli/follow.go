package cli

import (
	"fmt"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/tui"
)

// follow prints what happens, for a session without a screen.
func follow(e *env, s *session.Live, by tui.Speaker, ended <-chan struct{}) {
	var snap session.Snapshot
	var said followed
	words := tui.NewWords(by)
	tick := time.NewTicker(250 * time.Millisecond)
	defer tick.Stop()
	for over := false; !over; {
		select {
		case <-ended:
			over = true // after one last look
		case <-tick.C:
		}
		s.Snapshot(&snap)
		said.report(e, &snap)
		if trouble := words.Follow(&snap); trouble != "" {
			e.say("%s", trouble)
		}
	}
}

// rollsKnown is after how long it is known whether a car with a stopped engine rolls.
const rollsKnown = 2 * time.Second

// followed is what has been reported.
type followed struct {
	link, trouble string
	unread        bool // engine speed stays away
	rewritten     bool // the recording was removed or moved
	events, ended int  // shudders reported as begun, and as over
	stops         int
	missing       map[string]bool // in words
}

func (f *followed) report(e *env, s *session.Snapshot) {
	at := prose.Clock(s.Now)
	link := s.Link.Text
	if words := s.Link.Words(); s.Phase == session.LinkLost && words != "" {
		link = "link lost: " + words
	}
	if link != f.link && s.Phase != session.Finished { // conclude reports how it ended
		f.link = link
		e.say("%s  %s", at, link)
	}
	if s.Trouble != f.trouble {
		f.trouble = s.Trouble
		e.say("%s  %s", at, f.trouble)
	}
	if s.Stopped.Rewritten() && !f.rewritten {
		f.rewritten = true
		e.say("%s  the recording was removed or moved: it was written again, whole", at)
	}
	for i := range s.Missing {
		why, _ := s.Missing[i].Words()
		words := fmt.Sprintf("%s: %s", s.Missing[i].Signal, why)
		if f.missing == nil {
			f.missing = map[string]bool{}
		}
		if !f.missing[words] {
			f.missing[words] = true
			e.say("%s  not read: %s", at, words)
		}
	}
	f.gap(e, s)
	f.shudder(e, s)
	for ; f.stops < len(s.Stops); f.stops++ {
		if s.Stops[f.stops].FromStart && s.Now < s.Stops[f.stops].Start+rollsKnown && s.Phase != session.Finished {
			break
		}
		what := "engine stop"
		if s.Stops[f.stops].FromStart {
			what = s.Stops[f.stops].Words()
		}
		e.say("%s  %s", prose.Clock(s.Stops[f.stops].Start), what)
	}
}

// gap reports that engine speed stays away while the link is up. A moment in which nothing comes is
// reported as a lost link, if it becomes one.
func (f *followed) gap(e *env, s *session.Snapshot) {
	if s.Phase != session.Running || s.Detector.Reason != detect.LinkGap || s.Check.Running {
		f.unread = false
		return
	}
	if !f.unread && s.Unread != session.UnreadSilent {
		f.unread = true
		e.say("%s  %s", prose.Clock(s.Now), s.Unread.Words())
	}
}

// shudderOver is how long after its last swing a shudder no longer goes on: the detector joins swings up
// to 2.5 s apart, and sees them through a window of 3 s.
const shudderOver = 6 * time.Second

// shudder reports each shudder when it begins, with what has been seen by then, and when it is over.
func (f *followed) shudder(e *env, s *session.Snapshot) {
	for i := f.ended; i < len(s.Events); i++ {
		ev := &s.Events[i]
		if i == f.events {
			f.events++
			e.say("%s  shudder begins, %.0f rpm peak to peak so far, at %.0f km/h", prose.Clock(ev.Start), ev.SwingRPM, ev.SpeedKMH)
		}
		if i == len(s.Events)-1 && s.Now < ev.End+shudderOver && s.Phase != session.Finished {
			return
		}
		f.ended++
		e.say("%s  shudder over: %.0f rpm peak to peak, %s from %s", prose.Clock(ev.End), ev.SwingRPM, prose.Duration(ev.End-ev.Start), prose.Clock(ev.Start))
	}
}
