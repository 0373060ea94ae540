package session

import (
	"context"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/drive"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/link"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/simcar"
)

// A car that renews engine speed five times a second is read more often than that: the
// screen is given the rate of new values. At ten new values of ten nothing is said.
func TestSnapshot_Renewal(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		every    time.Duration
		repeats  bool
		from, to float64
	}{{200 * time.Millisecond, true, 4.5, 5.5}, {time.Millisecond, false, 40, 100}} {
		synctest.Test(t, func(t *testing.T) {
			ctx, cancel := context.WithTimeout(t.Context(), 40*time.Second)
			defer cancel()
			sim := simcar.New(simcar.CarFunc(func(at time.Duration) simcar.Condition {
				w := simcar.WarmIdle()
				w.RPM = 1500 + float64(at/c.every%97)/4
				return w
			}))
			start := time.Now()
			since := func() time.Duration { return time.Since(start).Truncate(time.Microsecond) }
			poller := drive.New(adapter.Config{
				Open:  func(context.Context, int) (elm.Link, error) { return link.Over(sim.Pipe(ctx), "test"), nil },
				Bauds: []int{0}, Name: "test", Since: since,
			})
			l := NewLive(poller, since, "test", nil, "")
			var snap Snapshot
			time.AfterFunc(30*time.Second, func() { l.Snapshot(&snap) })
			if err := l.Run(ctx); err != nil {
				t.Error(err)
			}
			synctest.Wait()
			for i := range snap.Lanes {
				if r := &snap.Lanes[i]; r.Signal == pids.RPM && (r.Repeats != c.repeats || r.Rate < c.from || r.Rate > c.to) {
					t.Errorf("renewed every %v: %.1f a second, repeats %v", c.every, r.Rate, r.Repeats)
				}
			}
			if len(snap.Lanes) == 0 {
				t.Error("no lanes")
			}
		})
	}
}
