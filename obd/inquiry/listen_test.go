package inquiry

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/fixtures"
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/link"
	"github.com/judder-obd/judder/obd/obdtest"
	"github.com/judder-obd/judder/obd/traffic"
	"github.com/judder-obd/judder/simcar"
)

// tap is a link that keeps what is written, with its times.
type tap struct {
	elm.Link
	kept *[]written
}

// written is one write to the adapter.
type written struct{ text string }

// listening is what a test of listening saw.
type listening struct {
	sim   *simcar.Sim
	out   BusTraffic
	took  time.Duration
	wrote []written // from AT TP on
	after bool      // the next ordinary request was answered
}

func (k tap) Write(b []byte) (int, error) {
	*k.kept = append(*k.kept, written{text: string(b)})
	return k.Link.Write(b)
}

// listenTo sets up a simulated car and listens to its bus.
func listenTo(t *testing.T, car simcar.CarFunc, opts ...simcar.Option) (l listening) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		l.sim = simcar.New(car, opts...)
		start := time.Now()
		var writes []written
		cfg := adapter.Config{
			Open: func(ctx context.Context, _ int) (elm.Link, error) {
				return tap{link.Over(l.sim.Pipe(ctx), "test"), &writes}, nil
			},
			Bauds: []int{0}, Name: "test",
			Since: func() time.Duration { return time.Since(start).Truncate(time.Microsecond) },
		}
		err := Run(t.Context(), cfg, &obdtest.Journal{}, time.Minute, func(q *Inquiry) (err error) {
			writes = nil
			begun := q.conn.Now()
			l.out, err = q.listen()
			l.took, l.wrote = q.conn.Now()-begun, writes
			if err != nil {
				return err
			}
			answers, err := q.AskAll(q.Parameters(obd.EngineSpeed))
			l.after = err == nil && len(answers) > 0 && answers[0].Outcome == Answered
			return err
		})
		if err != nil {
			t.Errorf("%v after %+v", err, l.out)
		}
		synctest.Wait()
	})
	return l
}

// stopped is the moving car with its engine off.
func stopped(t time.Duration) simcar.Condition {
	c := obdtest.Moving(t)
	c.RPM, c.SpeedKMH = 0, 0
	return c
}

// Each kind of bus and of adapter is found out, and the car is read after it.
func TestListen(t *testing.T) {
	twoECUs := func() simcar.Option { return simcar.WithECUs(simcar.EngineECU(), simcar.TransmissionECU()) }
	own := func() simcar.Option {
		return simcar.WithTraffic(simcar.Broadcasts(simcar.CarFunc(obdtest.Moving), false))
	}
	own29 := func() simcar.Option {
		return simcar.WithTraffic(simcar.Broadcasts(simcar.CarFunc(obdtest.Moving), true))
	}
	for _, c := range []struct {
		name, adapter string
		car           simcar.CarFunc
		opts          []simcar.Option
		want          Hearing
		stood         bool
	}{
		{"traffic", "genuine", obdtest.Moving, []simcar.Option{own(), simcar.PacedAt(115200)}, HearsTraffic, false},
		{"traffic at 250 kbit/s", "genuine", obdtest.Moving, []simcar.Option{own(), simcar.OnBus(simcar.CAN11at250)}, HearsTraffic, false},
		{"traffic on 29 bits", "genuine", obdtest.Moving, []simcar.Option{own29(), simcar.OnBus(simcar.CAN29at500)}, HearsTraffic, false},
		{"traffic, several ECUs", "genuine", obdtest.Moving, []simcar.Option{own(), twoECUs()}, HearsTraffic, false},
		{"without AT CRA", "older", obdtest.Moving, []simcar.Option{own(), twoECUs()}, HearsTraffic, false},
		{"without AT AR and AT CRA", "mask-only", obdtest.Moving, []simcar.Option{own(), twoECUs()}, HearsTraffic, false},
		{"without AT DPN", "v2.1", obdtest.Moving, []simcar.Option{own()}, HearsTraffic, false},
		{"with spaces and echo", "talkative", obdtest.Moving, []simcar.Option{own()}, HearsTraffic, false},
		{"a bare prompt", "bare-prompt", obdtest.Moving, []simcar.Option{own()}, HearsTraffic, false},
		{"after SAE J1979-2", "genuine", obdtest.Moving, []simcar.Option{own(), simcar.WithECUs(simcar.SuccessorECU())}, HearsTraffic, false},
		{"quiet", "genuine", obdtest.Moving, nil, HearsNothing, false},
		{"quiet, engine off", "genuine", stopped, nil, HearsNothing, true},
		{"gateway", "genuine", obdtest.Moving, []simcar.Option{own(), simcar.BehindGateway()}, HearsNothing, false},
		{"blind", "blind", obdtest.Moving, []simcar.Option{own()}, HearsNothing, false},
		{"ids of the other length", "genuine", obdtest.Moving, []simcar.Option{own29()}, HearsNothing, false},
		{"older bus", "genuine", obdtest.Moving, []simcar.Option{simcar.OnBus(simcar.KWPFast)}, NotOnCAN, false},
		{"no headers", "no-headers", obdtest.Moving, []simcar.Option{own()}, HidesIDs, false},
		{"no AT TP 6", "auto-only", obdtest.Moving, nil, NotFixed, false},
		{"says OK to AT TP 6", "stays-automatic", obdtest.Moving, nil, NotFixed, false},
		{"no AT MA", "no-monitor", obdtest.Moving, []simcar.Option{own()}, NoCommands, false},
		{"no AT CM", "no-filter", obdtest.Moving, []simcar.Option{own()}, NoCommands, false},
		{"says OK", "says-ok", obdtest.Moving, []simcar.Option{own()}, OnlySaysOK, false},
		{"ignores filters", "ignores-filter", obdtest.Moving, []simcar.Option{own()}, IgnoresFilters, false},
		{"chokes", "chokes", obdtest.Moving, []simcar.Option{own()}, Overflows, false},
		{"stops late", "stops-late", obdtest.Moving, []simcar.Option{own()}, StopsLate, false},
		{"hangs up", "hangs-up", obdtest.Moving, []simcar.Option{own()}, LostListening, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			profile, ok := simcar.ProfileNamed(c.adapter)
			if !ok {
				t.Fatal(c.adapter)
			}
			l := listenTo(t, c.car, append(c.opts, simcar.WithProfile(profile))...)
			if l.out.Hearing != c.want || l.out.EngineStood != c.stood || !l.after {
				t.Errorf("%+v, the car read after it %v", l.out, l.after)
			}
			if heard := c.want == HearsTraffic || c.want == IgnoresFilters || c.want == Overflows; heard != (l.out.IDs > 10) {
				t.Errorf("%d ids heard", l.out.IDs)
			}
			if l.took > 10*time.Second {
				t.Errorf("took %v", l.took)
			}
			if c.want != NotOnCAN && c.want != HidesIDs {
				l.checkSilent(t)
			}
			if n := l.sim.WriteAttempts(); n != 0 {
				t.Errorf("%d requests would have changed the car", n)
			}
			t.Logf("%+v in %v", l.out, l.took)
		})
	}
}

// checkSilent holds every byte that went to the adapter, and everything that the adapter put on the
// bus: the request that proves the protocol, listening, and the request that proves the end.
func (l *listening) checkSilent(t *testing.T) {
	t.Helper()
	asks := func(text string) bool {
		text = strings.TrimSpace(text)
		return !strings.HasPrefix(text, "AT") && text != "" // a lone space stops listening
	}
	first, last := -1, -1 // AT MA
	for i, w := range l.wrote {
		text := strings.TrimSpace(w.text)
		switch {
		case text == elm.MonitorRequest && first < 0:
			first, last = i, i
		case text == elm.MonitorRequest:
			last = i
		case strings.HasPrefix(text, "ATCAF0") || strings.HasPrefix(text, "ATCSM0"):
			t.Errorf("%q was written", w.text)
		}
	}
	if first < 0 {
		if l.out.Hearing == HearsTraffic || l.out.Hearing == HearsNothing {
			t.Error("it never listened")
		}
		return
	}
	for _, w := range l.wrote[first : last+1] {
		switch text := strings.TrimSpace(w.text); {
		case text == elm.MonitorRequest, strings.HasPrefix(text, "ATCM"), strings.HasPrefix(text, "ATCF"), w.text == " ", text == elm.FreeCommand:
		default:
			t.Errorf("%q was written while it listened", w.text)
		}
	}
	for i, w := range l.wrote[:first] {
		if asks(w.text) && strings.TrimSpace(w.text) != "010C" && strings.TrimSpace(w.text) != "22F40C" {
			t.Errorf("%q was asked before (%d)", w.text, i)
		}
	}
	if l.out.Hearing == LostListening {
		return // it is set up again
	}
	for _, w := range l.wrote[last+1:] { // no other request before the ordinary one
		if asks(w.text) {
			if text := strings.TrimSpace(w.text); text != "010C" && text != "22F40C" {
				t.Errorf("%q is the first request after it", w.text)
			}
			break
		}
	}
	// From the first AT MA to the request after the last nothing is on the bus.
	var from, to time.Duration
	for _, r := range l.sim.Requests() {
		switch {
		case r.Text == elm.MonitorRequest && from == 0:
			from = r.At
		case from > 0 && asks(r.Text) && to == 0:
			to = r.At
		}
	}
	for _, s := range l.sim.Transmissions() {
		if s.At >= from && s.At < to {
			t.Errorf("%+v while it listened from %v to %v", s, from, to)
		}
	}
	if len(l.sim.Transmissions()) == 0 {
		t.Error("the simulated bus keeps no transmissions")
	}
}

// What goes wrong while it listens is an outcome, and the car is read again after it.
func TestListen_Faults(t *testing.T) {
	for name, c := range map[string]struct {
		fault simcar.Fault
		want  Hearing
	}{
		"line lost":    {simcar.Fault{Kind: simcar.LineDrop}, LostListening},
		"reset":        {simcar.Fault{Kind: simcar.AdapterReset}, LostListening},
		"supply dips":  {simcar.Fault{Kind: simcar.LowVoltage}, LostListening},
		"silence":      {simcar.Fault{Kind: simcar.Silence, For: 3 * time.Second}, StopsLate},
		"noise":        {simcar.Fault{Kind: simcar.Noise}, HearsTraffic},
		"ignition off": {simcar.Fault{Kind: simcar.IgnitionOff, For: 6 * time.Second}, Unproved},
	} {
		t.Run(name, func(t *testing.T) {
			c.fault.At = 3 * time.Second // it listens from 1.7 s on, for 4.7 s
			l := listenTo(t, obdtest.Moving, simcar.WithTraffic(simcar.Broadcasts(simcar.CarFunc(obdtest.Moving), false)), simcar.WithFaults(c.fault))
			if l.out.Hearing != c.want || !l.after {
				t.Errorf("%+v, want %d; the car read after it %v", l.out, c.want, l.after)
			}
		})
	}
}

// recorded is a public recording of a bus, and what awk counts in it:
//
//	awk '{split($3,a,"#"); n[a[1]]++; t=substr($1,2)+0} END{for(i in n){ids++; if(n[i]/t>15)fast++}; print NR,ids,fast,t}'
type recorded struct {
	name              string
	frames, ids, fast int
	often             int     // ids twice a second and more
	seconds           float64 // of the last frame
}

// Excerpts of two cars' buses are listened to through an adapter. The list is short of ids that come
// seldom; a count made apart from this code (awk, above) has them all.
func TestListen_RecordedBus(t *testing.T) {
	for _, c := range []recorded{
		{"automatic.log", 1793, 80, 19, 38, 1.997460},
		{"short-drive.log", 2507, 67, 24, 47, 1.998000},
	} {
		raw, err := fixtures.Files.ReadFile("bus/" + c.name)
		if err != nil {
			t.Fatal(err)
		}
		c.check(t, raw)
	}
}

// JUDDER_BUS names the folder with the whole recordings.
func TestListen_WholeRecordedBus(t *testing.T) {
	folder := os.Getenv("JUDDER_BUS")
	if folder == "" {
		t.Skip("JUDDER_BUS names no folder")
	}
	for _, c := range []recorded{
		{"automatic.log", 53800, 90, 19, 36, 59.992699},
		{"short-drive.log", 87212, 72, 24, 44, 70.37},
	} {
		raw, err := os.ReadFile(filepath.Join(folder, c.name))
		if err != nil {
			t.Fatal(err)
		}
		c.check(t, raw)
	}
}

func (c *recorded) check(t *testing.T, raw []byte) {
	t.Helper()
	frames, err := simcar.ReadCandump(bytes.NewReader(raw))
	if err != nil || len(frames) != c.frames {
		t.Fatalf("%s: %d frames, %v", c.name, len(frames), err)
	}
	for _, speed := range []int{38400, 115200} {
		bus := simcar.Recorded(frames, frames[len(frames)-1].At+time.Millisecond)
		l := listenTo(t, obdtest.Moving, simcar.WithTraffic(bus), simcar.PacedAt(speed))
		rate := float64(c.frames) / c.seconds
		if l.out.Hearing != HearsTraffic || !l.after {
			t.Errorf("%s at %d: %+v", c.name, speed, l.out)
		}
		// in two rounds of 0.25 s nearly all that come twice a second, and never more than there are
		if l.out.IDs > c.ids || l.out.IDs < c.often {
			t.Errorf("%s at %d: %d ids, awk counts %d, %d of them twice a second and more", c.name, speed, l.out.IDs, c.ids, c.often)
		}
		if d := l.out.Fast - c.fast; d < -2 || d > 2 {
			t.Errorf("%s at %d: %d ids above 15 a second, awk counts %d", c.name, speed, l.out.Fast, c.fast)
		}
		if d := l.out.PerSecond/rate - 1; d < -0.1 || d > 0.1 {
			t.Errorf("%s at %d: %.0f frames a second, awk counts %.0f", c.name, speed, l.out.PerSecond, rate)
		}
		l.checkSilent(t)
		t.Logf("%s at %d baud: %+v in %v", c.name, speed, l.out, l.took)
	}
}

// Every id of the recordings is in one slice, and the fullest slice fits a line at 38400 baud about:
// characters counted as an adapter writes them, 20 a frame and 11 for the mark.
func TestSlices_RecordedBus(t *testing.T) {
	for name, most := range map[string]int{"automatic.log": 4600, "short-drive.log": 6200} {
		raw, err := fixtures.Files.ReadFile("bus/" + name)
		if err != nil {
			t.Fatal(err)
		}
		frames, err := simcar.ReadCandump(bytes.NewReader(raw))
		if err != nil {
			t.Fatal(err)
		}
		chars := map[traffic.Slice]int{}
		for _, f := range frames {
			for _, s := range traffic.Slices(obd.FormCAN11) {
				if s.Holds(f.ID) {
					if chars[s] += 20; f.Data[0] > 0x3F {
						chars[s] += 11
					}
				}
			}
		}
		for s, n := range chars {
			if n/2 > most { // two seconds
				t.Errorf("%s: %d characters a second in %+v", name, n/2, s)
			}
		}
	}
}

// After a further module was asked by a filter of its own, what control units say unasked stays out of
// the replies: also through adapters that only know filters by mask.
func TestAskOne_BroadcastingCar(t *testing.T) {
	for _, name := range []string{"genuine", "older", "mask-only"} {
		profile, _ := simcar.ProfileNamed(name)
		car := simcar.CarFunc(obdtest.Moving)
		sim, err := inquireCar(t, car, func(q *Inquiry) error {
			m := obd.Module{Request: "760", Reply: "768"}
			a, err := q.AskOne(m, "190101")
			if err != nil || a.Outcome != Answered {
				t.Errorf("%s: %+v, %v", name, a, err)
			}
			begun := q.conn.Now()
			answers, err := q.AskAll(q.Parameters(obd.EngineSpeed))
			if err != nil || len(answers) == 0 || answers[0].Outcome != Answered || len(answers[0].Raw) > 2 {
				t.Errorf("%s: %+v, %v", name, answers, err)
			}
			if took := q.conn.Now() - begun; took > 1500*time.Millisecond {
				t.Errorf("%s: took %v", name, took)
			}
			return err
		}, simcar.WithProfile(profile), simcar.WithTraffic(simcar.Broadcasts(car, false)),
			simcar.WithECUs(simcar.EngineECU(), simcar.BrakesModule()))
		if err != nil || sim.WriteAttempts() != 0 {
			t.Errorf("%s: %v", name, err)
		}
	}
}
