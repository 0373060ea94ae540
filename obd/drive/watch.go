package drive

import (
	"fmt"
	"slices"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/pids"
)

// What was learnt at set-up may cease to hold while all requests are answered: an ECU woke
// later than the others, or one reply was lost at set-up. Without a watch a whole drive was without
// engine speed, or had 25 readings a second and not 97.

const (
	// seekSpeed is how often an ECU that reports engine speed is looked for where none did:
	// nothing can be judged meanwhile, so that looking costs nothing. seekRest is the same for
	// road speed and throttle, doubled each time, up to seekMost.
	seekSpeed = 3 * time.Second
	seekRest  = 5 * time.Second
	seekMost  = time.Minute
)

// watch is when further ECUs were looked for.
type watch struct {
	sought time.Duration
	seeks  int // so often in a row
}

// begin begins again with a set-up, which has looked for them.
func (w *watch) begin(now time.Duration) { w.sought = now }

// lacking is how often to look for ECUs that have not answered yet; 0 when nothing is
// missing and nobody unknown was heard.
func (d *Drive) lacking(unknown bool) time.Duration {
	s := d.conn.Car().Support()
	throttle := s.Has(0x11) || s.Has(0x45) || s.Has(0x4C)
	switch {
	case !s.Has(obd.EngineSpeed):
		return seekSpeed
	case !s.Has(0x0D) || !throttle || unknown:
		return min(seekRest<<min(d.watch.seeks, 4), seekMost)
	}
	return 0
}

// seek asks everybody now and then where something is missing that only an ECU reports that
// did not answer at set-up, or where one is heard that did not. One that does now is ErrSetUp.
func (d *Drive) seek(now time.Duration, got *reply.Decoded) error {
	c := d.conn
	every := d.lacking(slices.ContainsFunc(got.Messages, c.Decoder().Unknown))
	if every == 0 || now < d.watch.sought+every || c.Address().Alone() != "" {
		return nil
	}
	d.watch.sought = now
	d.watch.seeks++
	can := c.Can()
	if can.Focus != "" {
		if err := c.Address().Everybody(); err != nil {
			return err
		}
	}
	_, got, err := c.Do(can.Parameters(0), elm.WaitReply)
	if err != nil {
		return err
	}
	for _, m := range got.Messages {
		if p := reply.ParameterData(m.Data); !m.Bare && !m.Late && len(p) == 5 && c.Car().Support().Of(m.ECU) == nil && d.reportsMissing(p) {
			return c.SetUpAgain(obd.CauseFurtherECU, fmt.Sprintf("%s answers now; setting up for it", m.ECU))
		}
	}
	if can.Focus != "" {
		return c.Address().Home()
	}
	return nil
}

// reportsMissing reports whether a first support map has something that no ECU has so far.
func (d *Drive) reportsMissing(data []byte) bool {
	var has pids.SupportMap
	if has.Add(data[0], data[1:]) != nil {
		return false
	}
	return slices.ContainsFunc(needed, func(pid byte) bool { return has.Has(pid) && !d.conn.Car().Support().Has(pid) })
}

// needed are what a drive cannot do without, of the first support map: engine speed, road speed,
// throttle.
var needed = []byte{obd.EngineSpeed, 0x0D, 0x11}
