package obd

import (
	"context"
	"errors"
	"time"
)

// ErrNoCar is returned by Inquire when the adapter is there and the car does not answer in
// the time allowed.
var ErrNoCar = errors.New("the adapter answers, the car does not; switch the ignition on (engine off) and check the plug")

// Inquiry is a dialogue that has been set up and in which one asks what one wants, one
// request after the other.
type Inquiry struct {
	p *Poller
}

// Inquire opens the port, sets adapter and car up, has ask put its questions, and closes the
// port. Every exchange goes to sink as in Run. The car is waited for at most so long; then
// the error is ErrNoCar. Otherwise it is the link's or that of ask.
func (p *Poller) Inquire(ctx context.Context, sink Sink, wait time.Duration, ask func(*Inquiry) error) error {
	found, stop := context.WithCancel(ctx)
	defer stop()
	timer := time.AfterFunc(wait, stop)
	defer timer.Stop()
	p.ctx, p.sink = found, sink
	defer p.close()
	p.tell(LinkOpening, "opening "+p.cfg.Name)
	err := p.connect()
	if err == nil {
		p.tell(LinkAdapter, p.adapterText())
		err = p.setUp()
		for try := 1; errors.Is(err, errSetUp) && try < firstTries; try++ {
			err = p.setUp()
		}
	}
	switch {
	case ctx.Err() != nil:
		return ctx.Err()
	case found.Err() != nil && p.can.Adapter != "":
		return ErrNoCar
	case found.Err() != nil:
		return &SilentError{Port: p.cfg.Name, Bauds: p.cfg.Bauds}
	case err != nil:
		return err
	}
	if !timer.Stop() {
		return ErrNoCar
	}
	err = ask(&Inquiry{p})
	if errors.Is(err, errOver) {
		err = ctx.Err()
	}
	return err
}
