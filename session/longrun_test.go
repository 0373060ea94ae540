package session

import (
	"context"
	"flag"
	"io"
	"math"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/drive"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/link"
	"github.com/judder-obd/judder/session/recording"
	"github.com/judder-obd/judder/simcar"
)

var longRun = flag.Duration("longrun", time.Hour, "how long the long run lasts in drive time; 8h is a day's work")

// mishap is a fault of the long run and what it may leave in doubt.
type mishap struct {
	fault simcar.Fault
	// inDoubt is how many readings may be seen otherwise than the simulated car counts them:
	// it takes a line with zero bytes strewn in for hurt, which is whole without them, and
	// one with noise before it for given; a late reply answers no request any more for it.
	inDoubt int
	// bare says that replies come without headers until the adapter is set up again, so that
	// nobody can know the ECU.
	bare bool
}

// mishaps are all kinds of faults, one a minute, round and round.
var mishaps = []mishap{
	{fault: simcar.Fault{Kind: simcar.LostReply}},
	{fault: simcar.Fault{Kind: simcar.LateReply, For: 150 * time.Millisecond}, inDoubt: 2},
	{fault: simcar.Fault{Kind: simcar.DamagedReply}, inDoubt: 2}, // a digit that became another digit: CAN lines have no check byte
	{fault: simcar.Fault{Kind: simcar.DataError}},
	{fault: simcar.Fault{Kind: simcar.NulBytes}, inDoubt: 2},
	{fault: simcar.Fault{Kind: simcar.AdapterReset}, bare: true},
	{fault: simcar.Fault{Kind: simcar.LowVoltage}, bare: true},
	{fault: simcar.Fault{Kind: simcar.ERR94}, bare: true},
	{fault: simcar.Fault{Kind: simcar.Silence, For: 5 * time.Second}},
	{fault: simcar.Fault{Kind: simcar.LineDrop}},
	{fault: simcar.Fault{Kind: simcar.StoppedByItself}},
	{fault: simcar.Fault{Kind: simcar.BufferFull}},
	{fault: simcar.Fault{Kind: simcar.CANError}},
	{fault: simcar.Fault{Kind: simcar.BusBusy}},
	{fault: simcar.Fault{Kind: simcar.BusInitError}},
	{fault: simcar.Fault{Kind: simcar.Noise}, inDoubt: 2},
	{fault: simcar.Fault{Kind: simcar.EndlessLine}},
	{fault: simcar.Fault{Kind: simcar.IgnitionOff, For: 10 * time.Second}},
	{fault: simcar.Fault{Kind: simcar.StaleValues, For: 10 * time.Second}},
}

// Within each minute the fault strikes at strikesAt, not on the same phase of an exchange
// each time; the minute is over when the next begins.
const strikesAt = 20 * time.Second

func strikes(minute int) time.Duration {
	return time.Duration(minute)*time.Minute + strikesAt + time.Duration(minute*37%100)*time.Millisecond
}

func faultsOf(length time.Duration) (faults []simcar.Fault) {
	for minute := range int(length / time.Minute) {
		f := mishaps[minute%len(mishaps)].fault
		f.At = strikes(minute)
		faults = append(faults, f)
	}
	return faults
}

// The long run's car shudders at the end of every round of minutes.
const (
	shudderEvery = 10 * time.Minute
	shudderLasts = 30 * time.Second
)

// commuter is a car on a long road, after a few seconds at rest: every value moves all the
// time, so that a reading that was invented or put to the wrong signal shows.
func commuter(t time.Duration) simcar.Condition {
	s := t.Seconds()
	c := simcar.WarmIdle()
	if t < 8*time.Second {
		return c
	}
	c.RPM, c.SpeedKMH = 1700+60*math.Sin(s/11)+2*math.Sin(37*s), 80+4*math.Sin(s/11)
	if t%shudderEvery > shudderEvery-shudderLasts {
		c.RPM += 60 * math.Sin(2*math.Pi*2.3*s)
	}
	c.ThrottlePct, c.RelThrottlePct = 18+math.Sin(s/7), 5+math.Sin(s/7)
	c.PedalPct, c.RelPedalPct = 22+math.Sin(s/7), 6+math.Sin(s/7)
	c.LoadPct, c.MAPkPa, c.CoolantC = 34+2*math.Cos(s/5), 45+5*math.Sin(s/2), 80+8*math.Sin(s/600)
	return c
}

// discard is a file without end that holds nothing.
type discard struct{ io.Writer }

func (discard) Sync() error          { return nil }
func (discard) Truncate(int64) error { return nil }
func (discard) Close() error         { return nil }

// A day on the road with a fault every minute: nothing grows, and the books balance.
func TestLive_LongRun(t *testing.T) {
	length := *longRun
	if testing.Short() {
		t.Parallel()                         // memory is not measured
		length = min(length, 20*time.Minute) // each mishap once
	}
	began := time.Now()
	var l *ledger
	var live *Live
	synctest.Test(t, func(t *testing.T) { l, live = drivenFor(t, length) })
	l.checkBooks(t, live, length)
	if !testing.Short() {
		l.checkGrowth(t)
	}
	if got, want := len(live.Result().Events), int(length/shudderEvery); got != want {
		t.Errorf("%d shudders found, the car had %d", got, want)
	}
	t.Logf("%v of driving in %v: %d exchanges with readings, %d readings given, %d read, %d missed, %d extra; %+v; %d faults, %d shudders found",
		length, time.Since(began).Round(time.Millisecond), l.answered, l.given, l.read, l.missed, l.extra, l.decoder.Counts,
		l.minutes, len(live.Result().Events))
}

// drivenFor runs a whole session, recording and screen included, on the simulated car.
func drivenFor(t *testing.T, length time.Duration) (*ledger, *Live) {
	ctx, cancel := context.WithTimeout(t.Context(), length+underWay)
	defer cancel()
	began := time.Now()
	since := func() time.Duration { return time.Since(began).Truncate(time.Microsecond) }
	options := append(simcar.Realistic(), simcar.Keep(1<<15), simcar.WithFaults(faultsOf(length)...))
	sim := simcar.New(simcar.CarFunc(commuter), options...)
	poller := drive.New(adapter.Config{
		Open:  func(context.Context, int) (elm.Link, error) { return link.Over(sim.Pipe(ctx), "test"), nil },
		Bauds: []int{0}, Name: "test", Since: since,
	})
	w, err := recording.NewWriter(discard{io.Discard}, "test", recording.Header{Start: began, Program: "test"})
	if err != nil {
		t.Fatal(err)
	}
	l := &ledger{Recorder: w, t: t, sim: sim, open: map[readingKey]int{}}
	live := NewLive(poller, since, "test", l, "test")
	var screen sync.WaitGroup
	screen.Go(func() {
		var s Snapshot
		frames := time.NewTicker(10 * time.Second)
		defer frames.Stop()
		for ctx.Err() == nil {
			live.Snapshot(&s)
			select {
			case <-frames.C:
			case <-ctx.Done():
			}
		}
	})
	if err := live.Run(ctx); err != nil {
		t.Error(err)
	}
	screen.Wait()
	return l, live
}
