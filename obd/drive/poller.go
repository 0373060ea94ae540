// Package drive polls a car for as long as a drive lasts: it asks by the schedule, recovers what
// is lost, and watches for what is missing.
package drive

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"judder/obd"
	"judder/obd/reply"
	"judder/pids/vehicle"
	"judder/prose"
)

// Sink takes what the poller lives through, in order, on the poller's goroutine.
type Sink interface {
	Exchange(obd.Exchange)
	Link(obd.LinkChange)
}

// Config is what a poller needs.
type Config struct {
	// Open opens the port at a serial speed (ignored on TCP). It is called again after the
	// link was lost.
	Open func(ctx context.Context, baud int) (Link, error)
	// Bauds are the serial speeds to try, in order; one entry when it is known.
	Bauds []int
	// Name is the port in words, for messages.
	Name string
	// Since is the time since the start of the session, in whole microseconds.
	Since func() time.Duration
	// AskVIN has the car asked for its identification number once, so that the recording
	// holds it.
	AskVIN bool
	// Profile names what this car can tell beyond the standard; nil for nothing.
	Profile *vehicle.Profile
}

// Poller keeps asking a car: it opens the port, sets the adapter up, polls by the schedule,
// and begins again where it can when something is lost.
type Poller struct {
	cfg  Config
	sink Sink

	ctx       context.Context
	term      *terminal
	baud      int // the speed at which the adapter answered last; 0 before
	decoder   reply.Decoder
	can       obd.Capabilities
	support   reply.Support
	schedule  *Schedule
	errands   errands
	state     obd.LinkState
	text      string
	reached   bool            // this life of the link has reached an adapter
	ever      bool            // some life has
	filter    string          // AT CRA as last set
	patient   bool            // the adapter has been told to wait its longest
	refused   map[string]bool // adapter commands answered with "?"
	noFaster  map[int]bool    // serial speeds that did not work
	calm      int             // good replies in a row since one that said "wait"
	asks      chan func(*Inquiry) error
	raised    int    // serial speed that was proved above p.baud; 0: none
	several   bool   // more than one ECU answered the first request
	alone     string // request header of the ECU that is asked alone, where replies come without headers
	idleCount bool   // the count digit changes nothing: neither replies nor the wait
	watch     watch
	took      map[string]bool // settings that this adapter has said OK to
	balks     int             // set-ups in a row in which it refused one of them
	found     string          // the protocol by which the car answered last, by its number
	mingled   mingled
	fruitful  bool // a reply came since it was set up
	nameless  bool // headers were asked for once more already
	blocked   bool // an ERR94 forbids the adapter to look for a CAN car until AT FE
}

// NewPoller makes a poller.
func NewPoller(cfg Config) *Poller {
	return &Poller{cfg: cfg, noFaster: map[int]bool{}, took: map[string]bool{}, asks: make(chan func(*Inquiry) error, 1)}
}

// Waits. The adapter's own are in the ELM327 data sheet: up to about 1 s for a reset (p. 9),
// a protocol search of up to some 20 s (common practice, no source), 200 ms for a reply
// (p. 27).
const (
	waitIdentify = 500 * time.Millisecond
	waitReset    = 3 * time.Second
	waitSetting  = time.Second
	waitSearch   = 22 * time.Second
	waitReply    = 2 * time.Second
	waitReplyBus = 6 * time.Second        // K-line: it may have to be woken first
	pauseLost    = 500 * time.Millisecond // before opening a lost port again, doubled up to
	pauseMost    = 4 * time.Second
	pauseAgain   = 50 * time.Millisecond // after a text that says the moment was wrong
	pauseCar     = time.Second           // before asking again for a car that is silent
	busyTries    = 4                     // to hear from an adapter that is busy
)

// Capabilities are what is known of adapter and car; to be called from the sink only.
func (p *Poller) Capabilities() obd.Capabilities { return p.can }

// Profile is the vehicle profile the poller asks by; nil for none.
func (p *Poller) Profile() *vehicle.Profile { return p.cfg.Profile }

// Run polls until the context ends. It returns an error only when it has never reached an
// adapter and the port cannot be the right one; a link that was lost is looked for again.
func (p *Poller) Run(ctx context.Context, sink Sink) error {
	p.ctx, p.sink = ctx, sink
	pause := pauseLost
	for try := 1; ctx.Err() == nil; try++ {
		p.reached = false
		err := p.live()
		p.close()
		if ctx.Err() != nil {
			break
		}
		if p.reached {
			try, pause = 0, pauseLost
			p.ever = true
		}
		p.tell(obd.LinkClosed, lostCause(err), lostText(p.cfg.Name, err))
		if !p.ever && (try >= firstTries || hopeless(err) || p.cfg.Since() > firstPatience) {
			return err
		}
		p.rest(pause)
		pause = min(2*pause, pauseMost)
	}
	p.tellEnd()
	return nil
}

// live is one life of the link, from the opening of the port to its loss.
func (p *Poller) live() error {
	if err := p.reach(); err != nil {
		return err
	}
	for {
		p.fruitful = false
		err := p.setUp()
		if err == nil {
			if err = p.poll(); !p.fruitful { // it may be that commands grow too long for it
				p.term.lead = ""
			}
		}
		if !errors.Is(err, errSetUp) {
			return err
		}
	}
}

// reach opens the port and finds the adapter.
func (p *Poller) reach() error {
	p.tell(obd.LinkOpening, obd.CauseOpening, "opening "+p.cfg.Name)
	if err := p.connect(); err != nil {
		return err
	}
	p.tell(obd.LinkAdapter, obd.CauseAdapterFound, p.adapterText())
	return nil
}

// do sends one command and passes the exchange on. An adapter that may still be busy with
// the request before takes the first character for "stop" and what is left for a request of
// its own: 010C0D1 would become 10 C0 D1. So it is first sent a setting that it has
// already and of which no end is a request, until it answers.
func (p *Poller) do(command string, wait time.Duration) (obd.Exchange, []reply.Message, error) {
	for try := 0; p.term.busy && !strings.HasPrefix(command, "AT"); try++ {
		x, messages, err := p.do("ATL0", waitSetting)
		if err == nil && try == busyTries {
			err = because(obd.CauseSilent, fmt.Errorf("the adapter on %s no longer answers", p.cfg.Name))
		}
		if err != nil {
			return x, messages, err
		}
	}
	x, err := p.term.exchange(command, wait)
	p.doubtLead(&x)
	if !strings.HasPrefix(command, "AT") {
		if p.can.Form == obd.FormUnknown {
			p.can.Form = reply.InferForm(&x)
		}
	}
	x.Form = p.can.Form // a late reply may stand before what a setting brought
	p.blocked = p.blocked || reply.Says(&x, "ERR94")
	messages := p.decoder.Messages(&x)
	p.sink.Exchange(x)
	return x, messages, err
}

func (p *Poller) tell(state obd.LinkState, cause obd.Cause, text string) {
	if state == p.state && text == p.text {
		return
	}
	p.state, p.text = state, text
	p.reached = p.reached || state >= obd.LinkAdapter
	p.sink.Link(obd.LinkChange{At: p.cfg.Since(), State: state, Cause: cause, Text: prose.Clean(text)})
}

// rest waits, or less when the session ends.
func (p *Poller) rest(d time.Duration) {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
	case <-p.ctx.Done():
	}
}

func (p *Poller) close() {
	if p.term != nil {
		p.lower()
		_ = p.term.link.Close() // it is being given up; there is nobody to tell
		p.term = nil
	}
}

// How often, and about how long, a port that has never led to an adapter is tried: an
// adapter may take seconds to wake.
const (
	firstTries    = 3
	firstPatience = 8 * time.Second
)

// openError is a port that did not open.
type openError struct{ error }

func (e openError) Unwrap() error { return e.error }

// hopeless tells whether trying again is of no use: the port does not open.
func hopeless(err error) bool { return errors.As(err, new(openError)) }

// tellEnd reports the end of the session. Where no adapter was ever found, it first reports what
// was tried: what went before may be that a port was being opened.
func (p *Poller) tellEnd() {
	if !p.ever && !p.reached {
		silent := &SilentError{Port: p.cfg.Name, Bauds: p.cfg.Bauds}
		p.tell(obd.LinkClosed, obd.CauseSilent, silent.Error())
	}
	p.tell(obd.LinkClosed, obd.CauseEnded, "session ended")
}

// lostText is why the link went.
func lostText(name string, err error) string {
	switch {
	case err == nil:
		return "lost " + name
	case errors.Is(err, io.EOF):
		return "the adapter is gone from " + name + " (unplugged, out of range, or without power)"
	}
	return strings.TrimRight(err.Error(), ".")
}
