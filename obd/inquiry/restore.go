package inquiry

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/elm"
)

// A drive goes on when the adapter resets or the link is lost; the questions of an inquiry
// that read do too. Clearing does not: it is sent once, whatever comes.

const (
	restoreWithin = 30 * time.Second // from a failure until everything is set up again
	restoreMost   = 3                // times one question is put again
	restorePause  = 500 * time.Millisecond
)

// surviving puts a question to an ECU, or to all; and again when adapter or link failed
// under it and could be set up again. The error is the first that could not be mended.
func (q *Inquiry) surviving(m obd.Module, put func() error) error {
	for try := 0; ; try++ {
		err := q.turnTo(m)
		if err == nil {
			err = put()
		}
		switch {
		case err == nil, errors.Is(err, elm.ErrOver), errors.Is(err, adapter.ErrLoses), errors.As(err, new(*elm.RefusedError)), try == restoreMost:
			return err
		}
		if err := q.restore(err); err != nil {
			return err
		}
	}
}

// restore sets up what failed: the adapter, or the link as well. It gives up when that takes
// too long; the error then has the cause in it.
func (q *Inquiry) restore(cause error) error {
	c, session := q.conn, q.conn.Context()
	bounded, stop := context.WithCancel(session)
	timer := time.AfterFunc(restoreWithin, stop)
	defer c.Bound(bounded)()
	q.begun = false
	err := cause
	for {
		if !errors.Is(err, adapter.ErrSetUp) {
			c.ReportLost(err)
			c.Close()
			c.Rest(restorePause)
			err = c.Reach()
		}
		if err == nil || errors.Is(err, adapter.ErrSetUp) {
			err = c.SetUp()
		}
		switch {
		case session.Err() != nil:
			return elm.ErrOver
		case err == nil && timer.Stop():
			return nil
		case errors.Is(err, adapter.ErrLoses):
			return err
		case bounded.Err() != nil:
			return fmt.Errorf("%s was lost (%w) and could not be set up again within %v", c.Name(), cause, restoreWithin)
		}
	}
}
