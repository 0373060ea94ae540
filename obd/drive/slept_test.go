package drive

import (
	"context"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/link"
	"github.com/judder-obd/judder/obd/obdtest"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/simcar"
)

// A laptop that slept for an hour in the middle of a drive: the gap is reported with its
// length, adapter and car are set up again, and no reading lies within it.
func TestDrive_ComputerSlept(t *testing.T) {
	const asleep = time.Hour
	var j obdtest.Journal
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithTimeout(t.Context(), 30*time.Second)
		defer cancel()
		sim := simcar.New(simcar.CarFunc(obdtest.Moving))
		start := time.Now()
		var jumped atomic.Int64
		time.AfterFunc(15*time.Second, func() { jumped.Store(int64(asleep)) })
		p := New(adapter.Config{
			Open:  func(context.Context, int) (elm.Link, error) { return link.Over(sim.Pipe(ctx), "test"), nil },
			Bauds: []int{0}, Name: "test",
			Since: func() time.Duration {
				return (time.Since(start) + time.Duration(jumped.Load())).Truncate(time.Microsecond)
			},
		})
		if err := p.Run(ctx, &j); err != nil {
			t.Error(err)
		}
		synctest.Wait()
	})
	reported := false
	for _, l := range j.Links {
		reported = reported || l.Cause == obd.CauseSlept
	}
	if !reported {
		t.Errorf("no word of the sleep in %+v", j.Links)
	}
	for _, s := range j.Samples {
		if s.At > 15*time.Second+100*time.Millisecond && s.At < asleep+14*time.Second {
			t.Fatalf("a reading at %v", s.At)
		}
	}
	if r := j.Rate(pids.RPM, "7E8", asleep+20*time.Second, asleep+30*time.Second); r < 40 {
		t.Errorf("%.1f readings a second afterwards", r)
	}
}
