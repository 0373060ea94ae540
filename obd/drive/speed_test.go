package drive

import (
	"context"
	"strings"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/link"
	"github.com/judder-obd/judder/obd/obdtest"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/simcar"
)

// cable is a serial line in memory: at another speed than the peer's only junk goes
// either way.
type cable struct {
	*link.Link
	baud *atomic.Int64
	most int // a faster speed is refused by the port
}

func (c cable) SetBaud(baud int) error {
	if baud > c.most {
		return link.ErrSpeed
	}
	c.baud.Store(int64(baud))
	return nil
}

// rideSerial is ride over a serial line of 38400 baud whose port can be set up to most.
// port is the speed that the port had at the end.
func rideSerial(t *testing.T, d time.Duration, most int, opts ...simcar.Option) (j *obdtest.Journal, sim *simcar.Sim, port int) {
	t.Helper()
	j = &obdtest.Journal{}
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithTimeout(t.Context(), d)
		defer cancel()
		wire, cut := context.WithCancel(t.Context())
		var baud atomic.Int64
		opts = append(opts, simcar.PacedAt(38400), simcar.HostBaud(func() int { return int(baud.Load()) }))
		sim = simcar.New(simcar.CarFunc(obdtest.Moving), opts...)
		start := time.Now()
		p := New(adapter.Config{
			Open: func(_ context.Context, at int) (elm.Link, error) {
				baud.Store(int64(at))
				return cable{link.Over(sim.Pipe(wire), "test"), &baud, most}, nil
			},
			Bauds: []int{115200, 38400}, Name: "test",
			Since: func() time.Duration { return time.Since(start).Truncate(time.Microsecond) },
		})
		if err := p.Run(ctx, j); err != nil {
			t.Error(err)
		}
		cut()
		synctest.Wait()
		port = int(baud.Load())
	})
	return j, sim, port
}

// An peer that proves a higher speed is read more often; one that does not know the
// command, pretends, or whose port refuses goes on at its own speed and loses nothing.
func TestDrive_RaisesTheSpeed(t *testing.T) {
	for _, c := range []struct {
		peer  string
		most  int
		want  int     // baud
		least float64 // readings a second
	}{
		{"genuine", 500000, 500000, 75},
		{"genuine", 230400, 230400, 70},
		{"genuine", 115200, 115200, 60},
		{"genuine", 38400, 38400, 40},
		{"v1.5", 500000, 38400, 30},
		{"talkative", 500000, 500000, 25},
	} {
		peer, ok := simcar.ProfileNamed(c.peer)
		if !ok {
			t.Fatal(c.peer)
		}
		j, sim, got := rideSerial(t, 20*time.Second, c.most, simcar.WithProfile(peer))
		if sim.Baud() != 38400 {
			t.Errorf("%s, port up to %d: left at %d baud, where the next program does not find it", c.peer, c.most, sim.Baud())
		}
		rate := j.Rate(pids.RPM, "7E8", 10*time.Second, 20*time.Second)
		t.Logf("%s, port up to %d: %d baud, %.1f readings a second", c.peer, c.most, got, rate)
		if got != c.want || rate < c.least {
			t.Errorf("%s, port up to %d: %d baud, %.1f readings a second; want %d, %.0f", c.peer, c.most, got, rate, c.want, c.least)
		}
		compare(t, j, sim, false, 0)
	}
}

// A dip of the supply throws the peer back to its delivered speed: it is found there and
// raised again.
func TestDrive_SpeedAfterADip(t *testing.T) {
	peer, _ := simcar.ProfileNamed("genuine")
	j, _, port := rideSerial(t, 40*time.Second, 500000, simcar.WithProfile(peer),
		simcar.WithFaults(simcar.Fault{Kind: simcar.LowVoltage, At: 15 * time.Second}))
	if port != 500000 {
		t.Errorf("%d baud at the end", port)
	}
	gap, before := time.Duration(0), time.Duration(0)
	for _, s := range j.Samples {
		if s.Signal == pids.RPM {
			if before > 0 {
				gap = max(gap, s.At-before)
			}
			before = s.At
		}
	}
	t.Logf("longest gap %v", gap)
	if gap > 8*time.Second || before < 39*time.Second {
		t.Errorf("longest gap %v, last reading at %v", gap, before)
	}
}

// An internal error of the peer forbids its search for a CAN car until it is allowed to
// forget it (ELM327 data sheet, AT FE).
func TestDrive_ERR94(t *testing.T) {
	j, _ := ride(t, 40*time.Second, simcar.WithFaults(simcar.Fault{Kind: simcar.ERR94, At: 15 * time.Second}))
	told := false
	for i := range j.Exchanges {
		told = told || j.Exchanges[i].Request == "ATFE"
	}
	if r := j.Rate(pids.RPM, "7E8", 30*time.Second, 40*time.Second); !told || r < 30 {
		t.Errorf("AT FE sent: %v; %.1f readings a second afterwards", told, r)
	}
	for _, l := range j.Links {
		if strings.Contains(l.Text, "\r") {
			t.Errorf("%q", l.Text)
		}
	}
}

// A session that was cut off leaves the peer at its raised speed: the next one finds it
// there, also when the delivered speed is given, and leaves it at that in the end.
func TestDrive_LeftAtARaisedSpeed(t *testing.T) {
	peer, _ := simcar.ProfileNamed("genuine")
	synctest.Test(t, func(t *testing.T) {
		var baud atomic.Int64
		sim := simcar.New(simcar.CarFunc(obdtest.Moving), simcar.WithProfile(peer), simcar.PacedAt(38400), simcar.HostBaud(func() int { return int(baud.Load()) }))
		start := time.Now()
		since := func() time.Duration { return time.Since(start).Truncate(time.Microsecond) }
		session := func(d time.Duration, cutOff bool) *obdtest.Journal {
			ctx, cancel := context.WithTimeout(t.Context(), d)
			defer cancel()
			wire, cut := context.WithCancel(t.Context())
			if cutOff {
				wire = ctx
			}
			defer cut()
			j := &obdtest.Journal{}
			p := New(adapter.Config{
				Open: func(_ context.Context, at int) (elm.Link, error) {
					baud.Store(int64(at))
					return cable{link.Over(sim.Pipe(wire), "test"), &baud, 500000}, nil
				},
				Bauds: []int{38400}, Name: "test", Since: since,
			})
			if err := p.Run(ctx, j); err != nil {
				t.Error(err)
			}
			return j
		}
		session(10*time.Second, true)
		synctest.Wait()
		if sim.Baud() != 500000 {
			t.Fatalf("cut off at %d baud", sim.Baud())
		}
		begun := since()
		j := session(15*time.Second, false)
		synctest.Wait()
		if len(j.Samples) == 0 || j.Samples[0].At-begun > 7*time.Second {
			t.Errorf("no reading in seven seconds; %q", j.Causes(0))
		}
		if sim.Baud() != 38400 {
			t.Errorf("left at %d baud", sim.Baud())
		}
	})
}
