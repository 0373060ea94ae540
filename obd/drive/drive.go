// Package drive polls a car for as long as a drive lasts: it asks by the schedule, recovers what
// is lost, and watches for what is missing.
package drive

import (
	"context"
	"errors"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/obd/schedule"
	"github.com/judder-obd/judder/pids/vehicle"
)

// Pauses of a drive.
const (
	pauseLost  = 500 * time.Millisecond // before opening a lost port again, doubled up to
	pauseMost  = 4 * time.Second
	pauseAgain = 50 * time.Millisecond // after a text that says the moment was wrong
)

// How often, and about how long, a port that has never led to an adapter is tried: an
// adapter may take seconds to wake.
const (
	firstTries    = 3
	firstPatience = 8 * time.Second
)

// Drive keeps asking a car: it opens the port, sets the adapter up, polls by the schedule,
// and begins again where it can when something is lost.
type Drive struct {
	conn     *adapter.Conn
	schedule *schedule.Schedule
	side     *schedule.Side
	watch    watch
	ever     bool // some life of the link has reached an adapter
	read     bool // some reply was read
	asks     chan func(*adapter.Conn) error
}

// New makes a drive; Run drives it.
func New(cfg adapter.Config) *Drive {
	return &Drive{conn: adapter.New(cfg), asks: make(chan func(*adapter.Conn) error, 1)}
}

// Capabilities are what is known of adapter and car; to be called from the sink only.
func (d *Drive) Capabilities() obd.Capabilities { return d.conn.Can() }

// Profile is the vehicle profile it asks by; nil for none.
func (d *Drive) Profile() *vehicle.Profile { return d.conn.Profile() }

// ErrMixed is returned by Run when several control units answer and the adapter can neither show
// which of them does nor ask one alone: their readings would be mixed.
var ErrMixed = errors.New("this adapter hides which control unit answers, and this car has several that do: their readings would be mixed; use another adapter")

// Run polls until the context ends. It returns an error only when it has never read the
// car and cannot: the port cannot be the right one, or the adapter is ErrMixed; and at any time
// adapter.ErrLoses. A link that was lost is looked for again.
func (d *Drive) Run(ctx context.Context, sink adapter.Sink) error {
	c := d.conn
	c.Use(ctx, sink)
	pause := pauseLost
	for try := 1; ctx.Err() == nil; try++ {
		c.Begin()
		err := d.live()
		c.Close()
		if ctx.Err() != nil {
			break
		}
		if c.Reached() {
			try, pause = 0, pauseLost
			d.ever = true
		}
		if errors.Is(err, ErrMixed) {
			return err
		}
		c.ReportLost(err)
		if errors.Is(err, adapter.ErrLoses) {
			return err
		}
		if !d.ever && (try >= firstTries || adapter.NotOpened(err) || c.Now() > firstPatience) {
			return err
		}
		c.Rest(pause)
		pause = min(2*pause, pauseMost)
	}
	d.reportEnd()
	return nil
}

// reportEnd reports the end of the session. Where no adapter was ever found, it first reports what
// was tried: what went before may be that a port was being opened.
func (d *Drive) reportEnd() {
	c := d.conn
	if !d.ever && !c.Reached() {
		silent := &adapter.SilentError{Port: c.Name(), Bauds: c.Bauds()}
		c.Report(obd.LinkClosed, obd.CauseSilent, silent.Error())
	}
	c.Report(obd.LinkClosed, obd.CauseEnded, "session ended")
}

// live is one life of the link, from the opening of the port to its loss.
func (d *Drive) live() error {
	if err := d.conn.Reach(); err != nil {
		return err
	}
	for mixed := 0; ; {
		err := d.setUp()
		if err == nil {
			mixed = 0
			err = d.poll()
		}
		if errors.Is(err, ErrMixed) {
			d.conn.Report(obd.LinkAdapter, obd.CauseMixed, err.Error())
			d.conn.Rest(pauseMost)
			if mixed++; mixed < mixedMost || d.read { // a late reply may have been in the way
				continue
			}
		}
		if !errors.Is(err, adapter.ErrSetUp) {
			return err
		}
	}
}

// mixedMost is how often the adapter is set up before a car that was never read counts as ErrMixed.
const mixedMost = 3

// setUp has the adapter set up, and makes the schedule for what it can do.
func (d *Drive) setUp() error {
	c := d.conn
	d.watch.begin(c.Now())
	if err := c.SetUp(); err != nil {
		return err
	}
	if c.Car().Mixed() {
		return ErrMixed
	}
	can := c.Can()
	can.Count = c.Car().Counts()
	d.schedule = schedule.New(can, c.Car().Wanted())
	d.side = schedule.NewSide(c.Profile(), can, c.Car().Support()).WithCounts(engineAddress(can, c.Car().Support()), c.Now())
	return nil
}

// engineAddress is where the engine's ECU is asked alone; "" where it is not known.
func engineAddress(can obd.Capabilities, support *reply.Support) string {
	if can.Focus != "" {
		return obd.RequestAddress(can.Focus)
	}
	if e := schedule.EngineOf(support); e != nil && e.Name != "" {
		return obd.RequestAddress(e.Name)
	}
	return ""
}

// WantCounts has the misfire counts read as soon as that is cheap; to be called from the sink only.
func (d *Drive) WantCounts() {
	if d.side != nil {
		d.side.WantCounts()
	}
}

// Interject has ask put its questions between the drive's own, on its goroutine, as soon as
// the car answers; engine speed is not read meanwhile. It is false when another ask waits
// already. ask's error is its own business unless it is the link's.
func (d *Drive) Interject(ask func(*adapter.Conn) error) bool {
	select {
	case d.asks <- ask:
		return true
	default:
		return false
	}
}

// interject runs an ask; afterwards everything is set up again, so that nothing of it stays
// behind in the adapter.
func (d *Drive) interject(ask func(*adapter.Conn) error) error {
	err := ask(d.conn)
	if d.conn.Over() {
		return elm.ErrOver
	}
	if err != nil {
		return err
	}
	return d.conn.SetUpAgain(obd.CauseCheckOver, "the code check is over; setting up for the drive again")
}
