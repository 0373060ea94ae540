package adapter

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/reply"
)

// line is the way to the adapter: a command goes out, its reply comes back taken apart, and the
// sink sees both.
type line struct {
	reporter
	ctx     context.Context
	term    *elm.Terminal // nil while no port is open
	decoder reply.Decoder
	can     obd.Capabilities
	blocked bool // an ERR94 forbids the adapter to look for a CAN car until AT FE
}

// Do sends one command, waits for its reply at most so long, and passes the exchange on. The
// decoded reply is valid until the next command. An adapter that may lose the beginning of it is
// freed first. The error is the link's, the gate's refusal, ErrLoses or elm.ErrOver.
func (l *line) Do(command string, wait time.Duration) (obd.Exchange, *reply.Decoded, error) {
	if x, err := l.free(command); err != nil {
		return x, &reply.Decoded{}, err
	}
	x, err := l.term.Exchange(command, wait)
	got := l.take(&x)
	return x, got, err
}

// Erase sends a request that clears, once; sent reports whether it may have gone out.
func (l *line) Erase(command string, wait time.Duration) (x obd.Exchange, got *reply.Decoded, sent bool, err error) {
	if x, err = l.free(command); err != nil {
		return x, nil, false, err
	}
	x, sent, err = l.term.Erase(command, wait)
	return x, l.take(&x), sent, err
}

// take passes on an exchange that is over.
func (l *line) take(x *obd.Exchange) *reply.Decoded {
	if l.can.Form == obd.FormUnknown && !strings.HasPrefix(x.Request, "AT") {
		l.can.Form = reply.InferForm(x)
	}
	x.Form = l.can.Form // a late reply may be there before what a setting brought
	l.blocked = l.blocked || reply.Says(x, "ERR94")
	got := l.decoder.Decode(x)
	l.sink.Exchange(*x, got)
	return got
}

// ErrLoses is returned where an adapter loses characters of what it is sent, or takes no spaces that
// they could be and does not show that it hears the whole. It is final: what is left of a request
// might change the car.
var ErrLoses = because(obd.CauseLoses, errors.New("this adapter loses characters of what it is sent, so that the car might be asked for something else; "+
	"judder does not read the car through it; use another adapter"))

// free waits until the adapter shows that it is free, where a command has to wait for that.
func (l *line) free(command string) (x obd.Exchange, err error) {
	for try := 0; !l.term.Ready(command); try++ {
		switch {
		case l.term.Loses(), try > elm.FreeTries && !l.term.Led() && x.Ending == obd.EndPrompt:
			return x, ErrLoses
		case try > elm.FreeTries:
			return x, because(obd.CauseSilent, fmt.Errorf("the adapter on %s no longer answers", l.name))
		}
		if x, _, err = l.Do([]string{elm.FreeCommand, elm.NameCommand}[try%2], elm.WaitSetting); err != nil {
			return x, err
		}
	}
	return x, nil
}

// Listen waits for a line that comes unasked, at most for d; the next exchange has it.
func (l *line) Listen(d time.Duration) error { return l.term.Listen(d) }

// Doubt has the next exchange wait until nothing more comes: what is missing may be under way.
func (l *line) Doubt() { l.term.Doubt() }

// Now is the time since the start of the session.
func (l *line) Now() time.Duration { return l.now() }

// Over reports whether the session is ending.
func (l *line) Over() bool { return l.ctx.Err() != nil }

// Rest waits, or less when the session ends.
func (l *line) Rest(d time.Duration) {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
	case <-l.ctx.Done():
	}
}

// Decoder is what has been made of the replies so far.
func (l *line) Decoder() *reply.Decoder { return &l.decoder }
