// Package inquiry puts questions to a car that has been set up, one after the other: to every ECU
// or to one, with the patience that each needs; it examines an adapter, and clears codes.
package inquiry

import (
	"context"
	"errors"
	"io"
	"strconv"
	"strings"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/elm"
)

// ErrNoCar is returned by Run when the adapter is there and the car does not answer in
// the time allowed.
var ErrNoCar = errors.New("the adapter answers, the car does not; switch the ignition on (engine off) and check the plug")

// Inquiry is a dialogue that has been set up and in which one asks what one wants.
type Inquiry struct {
	conn     *adapter.Conn
	begun    bool // everybody is asked, and the wait suits further ECUs
	patience patience
	all      everybody
}

// On begins an inquiry on a connection that has been set up. The connection must be set up again
// after it.
func On(c *adapter.Conn) *Inquiry {
	return &Inquiry{conn: c, patience: newPatience()}
}

// setUpMost is how often the adapter is set up before an inquiry gives up on it.
const setUpMost = 3

// Run opens the port, sets adapter and car up, has ask put its questions, and closes the
// port. Every exchange goes to sink. The car is waited for at most so long; then
// the error is ErrNoCar. Otherwise it is the link's or that of ask.
func Run(ctx context.Context, cfg adapter.Config, sink adapter.Sink, wait time.Duration, ask func(*Inquiry) error) error {
	found, stop := context.WithCancel(ctx)
	defer stop()
	timer := time.AfterFunc(wait, stop)
	defer timer.Stop()
	c := adapter.New(cfg)
	c.Use(found, sink)
	defer c.Close()
	err := c.Reach()
	if err == nil {
		err = c.SetUp()
		for try := 1; errors.Is(err, adapter.ErrSetUp) && try < setUpMost; try++ {
			err = c.SetUp()
		}
	}
	switch {
	case ctx.Err() != nil:
		return ctx.Err()
	case found.Err() != nil && c.Can().Adapter != "":
		return ErrNoCar
	case found.Err() != nil:
		return &adapter.SilentError{Port: cfg.Name, Bauds: cfg.Bauds}
	case errors.Is(err, io.EOF):
		return &adapter.HungUpError{Port: cfg.Name, Bauds: cfg.Bauds, Err: err}
	case err != nil:
		return err
	}
	if !timer.Stop() {
		return ErrNoCar
	}
	return ask(On(c))
}

// Capabilities are what adapter and car were seen to do.
func (q *Inquiry) Capabilities() obd.Capabilities { return q.conn.Can() }

// ECUs are those that answered the first request for what is supported.
func (q *Inquiry) ECUs() (ids []string) {
	if q.all.route != routeApart {
		return q.conn.Car().Support().ECUs()
	}
	for _, m := range q.all.order {
		ids = append(ids, m.Reply)
	}
	return ids
}

// Supports reports whether an ECU supports a PID of service 01.
func (q *Inquiry) Supports(ecu string, pid byte) bool {
	if q.all.route == routeApart {
		m := q.all.maps[ecu]
		return m != nil && m.Has(pid)
	}
	e := q.conn.Car().Support().Of(ecu)
	return e != nil && e.Has(pid)
}

// Volts is the voltage at the diagnostic socket as the adapter measures it (AT RV); 0 when it
// cannot.
func (q *Inquiry) Volts() (volts float64, err error) {
	err = q.surviving(obd.Module{}, func() error {
		x, _, err := q.conn.Do("ATRV", elm.WaitSetting)
		if err != nil || len(x.Lines) == 0 {
			return err
		}
		text := strings.TrimSpace(x.Lines[len(x.Lines)-1].Text)
		v, wrong := strconv.ParseFloat(strings.TrimSuffix(strings.ToUpper(text), "V"), 64)
		if wrong == nil && v >= 0 && v <= 60 {
			volts = v
		}
		return nil
	})
	return volts, err
}

// Information is the request for an info type of SAE J1979's service 09, in the car's own way.
func (q *Inquiry) Information(item byte) string {
	can := q.conn.Can()
	return can.Information(item)
}

// Parameters is the request for PIDs of SAE J1979 in the car's own way.
func (q *Inquiry) Parameters(pid ...byte) string {
	can := q.conn.Can()
	return can.Parameters(pid...)
}

// Heard reports whether anything ever came from a reply address, asked for or late.
func (q *Inquiry) Heard(address string) bool { return q.conn.Decoder().Heard(address) }

// Reaches reports whether an ECU can be asked alone here, as far as is known.
func (q *Inquiry) Reaches(m obd.Module) bool { return q.conn.Address().Reaches(m) }
