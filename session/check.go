package session

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/check/page"
	"github.com/judder-obd/judder/check/read"
	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/inquiry"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/session/recording"
)

// CheckState is the code check of a live session.
type CheckState struct {
	Asked   bool   // it was started at least once
	Running bool   // engine speed is not read meanwhile
	Doing   string // what is being read
	At      time.Duration
	Lines   []string // the last result, in words; shared, never changed
	number  int      // of the last one started
}

// Reasons not to start a check.
var (
	ErrCheckRuns = errors.New("a check is under way already")
	ErrNoCheck   = errors.New("there is no car to ask here")
	ErrMoving    = errors.New("the car moves: stop first, then press enter")
)

// speedIsFresh is how old a road speed may be that keeps a check from starting.
const speedIsFresh = 3 * time.Second

// StartCheck has every ECU asked for its codes, between the drive's own requests.
// The error is one of those above. What is asked is in the recording, between a line for the
// beginning and one for the end; the VIN is left out. The result is kept beside the recording.
func (l *Live) StartCheck() error {
	now := l.since()
	l.mu.Lock()
	defer l.mu.Unlock()
	switch {
	case l.check.Running:
		return ErrCheckRuns
	case l.finished || l.phase != Running:
		return ErrNoCheck
	case l.board.moves(now):
		return ErrMoving
	}
	options := read.Options{SkipVIN: true, Now: time.Now(), Progress: l.checking, Program: l.analysis.header.Program}
	options.AddProfile(l.poller.Profile())
	if !l.poller.Interject(func(c *adapter.Conn) error { return l.runCheck(inquiry.On(c), options) }) {
		return ErrCheckRuns
	}
	l.check.Asked, l.check.Running, l.check.Doing = true, true, "waiting for the car"
	l.check.number++
	return nil
}

// moves reports whether the car was seen to move lately.
func (b *board) moves(now time.Duration) bool {
	for _, l := range b.lanes {
		if l.Signal == pids.VSS && l.Value > 0 && now-l.At < speedIsFresh {
			return true
		}
	}
	return false
}

func (l *Live) checking(item check.Item, done, of int) {
	doing := item.Words()
	if of > 0 {
		doing = fmt.Sprintf("%s, %d %%", doing, 100*done/of)
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.check.Doing = doing
}

func (l *Live) runCheck(q *inquiry.Inquiry, options read.Options) error {
	l.recordCheck(recording.Check{State: recording.CheckBegun})
	r, err := read.Run(q, options)
	end := recording.Check{State: recording.CheckOver}
	if r.BrokeOff != nil {
		end.State = recording.CheckBroke
	}
	var text strings.Builder
	path, why := l.keepCheck(r)
	if why != nil {
		text.WriteString(why.Error() + "\n\n")
	} else {
		end.Kept = path
		text.WriteString("kept in " + path + "\n\n")
	}
	if wrong := page.WriteCheck(&text, r); wrong != nil {
		text.WriteString(wrong.Error())
	}
	l.recordCheck(end)
	l.mu.Lock()
	defer l.mu.Unlock()
	l.check.Running, l.check.Doing, l.check.At = false, "", l.since()
	l.check.Lines = strings.Split(strings.TrimRight(text.String(), "\n"), "\n")
	return err
}

func (l *Live) recordCheck(c recording.Check) {
	l.mark(func(at time.Duration) recording.Entry { return recording.OfCheck(at, c) })
}

// errNotRecorded is why a result is not kept.
var errNotRecorded = errors.New("not kept, because the drive is not recorded; judder check keeps one")

// keepCheck keeps a result beside the recording, and returns where.
func (l *Live) keepCheck(r *check.Report) (path string, err error) {
	if l.path == "" {
		return "", errNotRecorded
	}
	l.mu.Lock()
	number := l.check.number
	l.mu.Unlock()
	path = fmt.Sprintf("%s-check-%d.json", strings.TrimSuffix(l.path, filepath.Ext(l.path)), number)
	return path, check.Save(path, r)
}
