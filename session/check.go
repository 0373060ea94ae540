package session

import (
	"strings"
	"time"

	"judder/obd"
	"judder/obd/check"
)

// CheckState is the standing check of a live session.
type CheckState struct {
	Asked   bool   // it was started at least once
	Running bool   // engine speed is not read meanwhile
	Doing   string // what is being read
	At      time.Duration
	Lines   []string // the last result, in words; shared, never changed
}

// StartCheck has every computer asked what it remembers, between the drive's own requests;
// it is false while one is running. What is asked stands in the recording; the VIN is left out.
func (l *Live) StartCheck() bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.check.Running || l.finished {
		return false
	}
	options := check.Options{SkipVIN: true, Now: time.Now(), Progress: l.checking}
	options.AddProfile(l.poller.Profile())
	if !l.poller.Interject(func(q *obd.Inquiry) error { return l.runCheck(q, options) }) {
		return false
	}
	l.check.Asked, l.check.Running, l.check.Doing = true, true, "waiting for the car"
	return true
}

func (l *Live) checking(doing string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.check.Doing = doing
}

func (l *Live) runCheck(q *obd.Inquiry, options check.Options) error {
	r, err := check.Run(q, options)
	var text strings.Builder
	if wrong := r.WriteText(&text); wrong != nil {
		text.WriteString(wrong.Error())
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if err != nil {
		text.WriteString("\nthe check broke off: " + err.Error() + "\n")
	}
	l.check.Running, l.check.Doing, l.check.At = false, "", l.since()
	l.check.Lines = strings.Split(strings.TrimRight(text.String(), "\n"), "\n")
	return err
}
