package drive

import (
	"context"
	"errors"
	"fmt"
	"judder/obd"
	"time"
)

// A drive goes on when the adapter resets or the link is lost; the questions of an inquiry
// that read do too. Clearing does not: it is sent once, whatever comes.

const (
	restoreWithin = 30 * time.Second // from a failure until everything is set up again
	restoreMost   = 3                // times one question is put again
)

// surviving puts a question to a module, or to all; and again when adapter or link failed
// under it and could be set up afresh. The error is the first that could not be mended.
func (q *Inquiry) surviving(m obd.Module, put func() error) error {
	for try := 0; ; try++ {
		err := q.turnTo(m)
		if err == nil {
			err = put()
		}
		switch {
		case err == nil, errors.Is(err, ErrOver), errors.As(err, new(*RefusedError)), try == restoreMost:
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
	p, session := q.p, q.p.ctx
	bounded, stop := context.WithCancel(session)
	timer := time.AfterFunc(restoreWithin, stop)
	defer func() { p.ctx = session }()
	p.ctx = bounded
	q.patient, q.module, q.flow = false, obd.Module{}, false
	err := cause
	for {
		if !errors.Is(err, errSetUp) {
			p.tell(obd.LinkClosed, lostCause(err), lostText(p.cfg.Name, err))
			p.close()
			p.rest(pauseLost)
			err = p.reach()
		}
		if err == nil || errors.Is(err, errSetUp) {
			err = p.setUp()
		}
		switch {
		case session.Err() != nil:
			return ErrOver
		case err == nil && timer.Stop():
			return nil
		case bounded.Err() != nil:
			return fmt.Errorf("%s was lost (%w) and could not be set up again within %v", p.cfg.Name, cause, restoreWithin)
		}
	}
}
