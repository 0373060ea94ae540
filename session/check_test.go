package session

import (
	"context"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"judder/obd"
	"judder/obd/link"
	"judder/obd/simcar"
	"judder/pids"
)

// A standing check in the middle of a drive: its result is on the snapshot, nothing was
// erased, the VIN was not asked, and engine speed is read again afterwards.
func TestLive_Check(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithTimeout(t.Context(), 60*time.Second)
		defer cancel()
		engine := simcar.EngineECU()
		engine.Stored = simcar.Codes("P0741")
		sim := simcar.New(simcar.CarFunc(func(time.Duration) simcar.Condition { return simcar.WarmIdle() }), simcar.WithECUs(engine))
		start := time.Now()
		since := func() time.Duration { return time.Since(start).Truncate(time.Microsecond) }
		poller := obd.NewPoller(obd.Config{
			Open:  func(context.Context, int) (obd.Link, error) { return link.Over(sim.Pipe(ctx), "test"), nil },
			Bauds: []int{0}, Name: "test", Since: since,
		})
		l := NewLive(poller, since, "test", nil, "")
		var snap Snapshot
		time.AfterFunc(10*time.Second, func() {
			if !l.StartCheck() || l.StartCheck() {
				t.Error("a check does not start, or starts twice")
			}
		})
		time.AfterFunc(40*time.Second, func() { l.Snapshot(&snap) })
		if err := l.Run(ctx); err != nil {
			t.Error(err)
		}
		synctest.Wait()
		c := snap.Check
		text := strings.Join(c.Lines, "\n")
		if !c.Asked || c.Running || !strings.Contains(text, "P0741     stored") || strings.Contains(text, "VIN") {
			t.Errorf("%+v", c)
		}
		for _, r := range sim.Requests() {
			if strings.HasPrefix(r.Text, "0902") {
				t.Error("the VIN was asked while everything is recorded")
			}
		}
		if sim.WriteAttempts() != 0 {
			t.Error("something would have changed the car")
		}
		after := 0
		for _, lane := range snap.Lanes {
			if lane.Signal == pids.RPM && lane.At > c.At+5*time.Second {
				after++
			}
		}
		if after != 1 {
			t.Errorf("engine speed is not read after the check: %+v", snap.Lanes)
		}
	})
}
