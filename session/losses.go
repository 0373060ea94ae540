package session

import (
	"time"

	"github.com/judder-obd/judder/obd"
)

// Loss is a time in which a car was not read that had been read before: from the last reading
// before it to the first one after it.
type Loss struct {
	Start, End time.Duration // End is the latest that is known while it lasts
	Open       bool          // it lasts
	Reason     LinkReason    // the first that is known of it
}

// lossWatch follows the link through a session's entries.
type lossWatch struct {
	losses []Loss
	seen   bool          // the car has been read
	last   time.Duration // the last reading, or since when none was wanted
}

// reading takes a time at which the car was read.
func (w *lossWatch) reading(at time.Duration) {
	if l := w.open(); l != nil {
		l.Open, l.End = false, at
	}
	w.seen, w.last = true, at
}

// change takes a change of the link. One that is down because somebody wanted something else is
// not lost.
func (w *lossWatch) change(c *obd.LinkChange) {
	if c.Cause == obd.CauseEnded || c.Cause == obd.CauseCheckOver {
		w.last = max(w.last, c.At)
		return
	}
	if l := w.open(); l != nil {
		l.End = c.At
		return
	}
	if c.State >= obd.LinkCar || !w.seen {
		return
	}
	w.losses = append(w.losses, Loss{Start: min(w.last, c.At), End: c.At, Open: true, Reason: LinkReason{c.Cause, c.Text}})
}

// open is the loss that lasts; nil when there is none.
func (w *lossWatch) open() *Loss { return OpenLoss(w.losses) }

// OpenLoss is the loss that lasts, the last of them; nil when there is none.
func OpenLoss(losses []Loss) *Loss {
	if n := len(losses); n > 0 && losses[n-1].Open {
		return &losses[n-1]
	}
	return nil
}

// finish closes what is open at the end of the session.
func (w *lossWatch) finish(at time.Duration) {
	if l := w.open(); l != nil {
		l.Open, l.End = false, at
	}
}
