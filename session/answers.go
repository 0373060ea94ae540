package session

import (
	"slices"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/pids"
)

// Unread is why engine speed is not read though the link is there.
type Unread uint8

// The reasons.
const (
	UnreadSilent Unread = iota // nothing came
	UnreadWaits                // the car asks to wait
	UnreadOthers               // other readings come, and engine speed does not
)

var unreadWords = [...]string{
	UnreadSilent: "engine speed is not read: nothing came from the car",
	UnreadWaits:  "engine speed is not read: the car asks to wait",
	UnreadOthers: "the car gives no engine speed; other readings come",
}

// Words are the reason for a person.
func (u Unread) Words() string {
	if int(u) >= len(unreadWords) {
		u = UnreadSilent
	}
	return unreadWords[u]
}

// answerWatch follows what came of the requests to the car.
type answerWatch struct {
	silent   int // requests that brought nothing
	waited   int // requests that brought "wait" and no reading
	waits    time.Duration
	first    time.Duration // of the readings
	last     time.Duration
	read     bool
	engine   time.Duration // latest reading of engine speed
	hasSpeed bool          // there is one
}

// exchange takes an exchange and what it brought.
func (w *answerWatch) exchange(x *obd.Exchange, d *reply.Decoded) {
	switch {
	case len(d.Samples) > 0 || !isRequest(x.Request):
	case len(d.Messages) == 0 && d.Damaged == 0:
		w.silent++
	case slices.ContainsFunc(d.Messages, reply.Message.Waits):
		w.waited++
		if reply.OfDrive(x.Request) {
			w.waits = x.Done
		}
	}
}

// readings takes the readings of any entry.
func (w *answerWatch) readings(samples []pids.Sample) {
	for i := range samples {
		s := &samples[i]
		if !w.read {
			w.read, w.first = true, s.At
		}
		w.last = max(w.last, s.At)
		if s.Signal == pids.RPM {
			w.hasSpeed, w.engine = true, s.At
		}
	}
}

// How old a reply may be and still show how things are now: readings come several times a second,
// and an ECU may ask to wait every 5 s (the longest wait of ISO 15765-4).
const (
	readLately   = 3 * time.Second
	waitLately   = 6 * time.Second
	withoutSpeed = time.Second // others must have come for so long without engine speed
)

// never reports whether the car has been read for a while, and engine speed never came.
func (w *answerWatch) never(now time.Duration) bool {
	return w.read && !w.hasSpeed && now-w.first > 2*withoutSpeed
}

// unread is why engine speed is not read, if it is not.
func (w *answerWatch) unread(now time.Duration) Unread {
	since := w.engine
	if !w.hasSpeed {
		since = w.first
	}
	switch {
	case w.waits > since && now-w.waits < waitLately:
		return UnreadWaits
	case w.last > since+withoutSpeed && now-w.last < readLately:
		return UnreadOthers
	}
	return UnreadSilent
}
