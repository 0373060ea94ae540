// Package adapter is a connection to one adapter and, through it, to a car: it finds the adapter,
// sets it up, learns what both can do, and says whom the adapter asks and how long it waits.
package adapter

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/pids/vehicle"
)

// Sink takes what a connection lives through, in order, on the goroutine that uses it. An exchange
// comes with what was decoded of it, valid until the next one: nobody need decode it again.
type Sink interface {
	Exchange(obd.Exchange, *reply.Decoded)
	Link(obd.LinkChange)
}

// Config is what a connection needs.
type Config struct {
	// Open opens the port at a serial speed (ignored on TCP). It is called again after the
	// link was lost.
	Open func(ctx context.Context, baud int) (elm.Link, error)
	// Bauds are the serial speeds to try, in order; one entry when it is known.
	Bauds []int
	// Name is the port in words, for messages.
	Name string
	// Since is the time since the start of the session, in whole microseconds.
	Since func() time.Duration
	// AskVIN has the car asked for its identification number once, so that the recording
	// holds it.
	AskVIN bool
	// Profile names what this car reports beyond the standard; nil for nothing.
	Profile *vehicle.Profile
}

// ErrSetUp asks for the adapter to be set up again; the link itself is whole.
var ErrSetUp = errors.New("the adapter has lost its settings")

// Conn is a connection. It is made once for a session and opened as often as the link is lost. Its
// methods are for one goroutine.
type Conn struct {
	line
	cfg      Config
	settings settings
	speed    Speed
	wait     Wait
	address  Address
	search   search
	car      Car
}

// New makes a connection that is not open yet.
func New(cfg Config) *Conn {
	c := &Conn{cfg: cfg}
	c.name, c.now, c.decoder.Profile = cfg.Name, cfg.Since, cfg.Profile
	c.settings = settings{line: &c.line, took: map[string]bool{}, balks: map[string]int{}}
	c.speed = Speed{line: &c.line, failed: map[int]bool{}}
	c.address.settings = &c.settings
	c.search.settings = &c.settings
	c.car = Car{settings: &c.settings, address: &c.address, profile: cfg.Profile}
	c.wait.settings, c.wait.car = &c.settings, &c.car
	return c
}

// Use has the connection live as long as ctx, and report to sink.
func (c *Conn) Use(ctx context.Context, sink Sink) {
	c.ctx, c.sink = ctx, sink
}

// Bound has the connection give up with ctx, until release gives it its own context back.
func (c *Conn) Bound(ctx context.Context) (release func()) {
	session := c.ctx
	c.ctx = ctx
	return func() { c.ctx = session }
}

// Context is for how long the connection lives.
func (c *Conn) Context() context.Context { return c.ctx }

// Name is the port in words.
func (c *Conn) Name() string { return c.cfg.Name }

// Bauds are the serial speeds that were to be tried.
func (c *Conn) Bauds() []int { return c.cfg.Bauds }

// Profile names what this car reports beyond the standard; nil for nothing.
func (c *Conn) Profile() *vehicle.Profile { return c.cfg.Profile }

// Can is what adapter and car were seen to do.
func (c *Conn) Can() obd.Capabilities {
	can := c.can
	can.Timeout = c.wait.Learnt()
	return can
}

// Wait is how long the adapter waits.
func (c *Conn) Wait() *Wait { return &c.wait }

// Car is what is known of the car.
func (c *Conn) Car() *Car { return &c.car }

// Address is whom the adapter asks and hears.
func (c *Conn) Address() *Address { return &c.address }

// Speed is the serial speed of the adapter.
func (c *Conn) Speed() *Speed { return &c.speed }

// Refused reports whether the adapter refused a command since it was set up.
func (c *Conn) Refused(command string) bool { return c.settings.refused[command] }

// Set sends a setting, unless the adapter refused it before.
func (c *Conn) Set(commands ...string) error { return c.settings.set(commands...) }

// Reach opens the port and finds the adapter. The error is a *SilentError, or says that the port
// did not open, or is the link's.
func (c *Conn) Reach() error {
	c.Report(obd.LinkOpening, obd.CauseOpening, "opening "+c.cfg.Name)
	if err := c.connect(); err != nil {
		return err
	}
	c.Report(obd.LinkAdapter, obd.CauseAdapterFound, fmt.Sprintf("adapter found on %s (%s)", c.cfg.Name, c.can.Adapter))
	return nil
}

// Close leaves the adapter as it was found and closes the link.
func (c *Conn) Close() {
	if c.term == nil {
		return
	}
	c.speed.lower()
	_ = c.term.Close() // it is being given up; there is nobody to report to
	c.term = nil
}
