package drive

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/link"
	"github.com/judder-obd/judder/obd/obdtest"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/pids/vehicle"
	"github.com/judder-obd/judder/simcar"
)

// ride runs a drive on a simulated car under simulated time.
func ride(t *testing.T, d time.Duration, opts ...simcar.Option) (*obdtest.Journal, *simcar.Sim) {
	t.Helper()
	return rideWith(t, d, nil, opts...)
}

func rideWith(t *testing.T, d time.Duration, profile *vehicle.Profile, opts ...simcar.Option) (*obdtest.Journal, *simcar.Sim) {
	t.Helper()
	j := obdtest.Journal{Decoder: reply.Decoder{Profile: profile}}
	var sim *simcar.Sim
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithTimeout(t.Context(), d)
		defer cancel()
		sim = simcar.New(simcar.CarFunc(obdtest.Moving), opts...)
		start := time.Now()
		p := New(adapter.Config{
			Open:  func(context.Context, int) (elm.Link, error) { return link.Over(sim.Pipe(ctx), "test"), nil },
			Bauds: []int{0}, Name: "test", Profile: profile,
			Since: func() time.Duration { return time.Since(start).Truncate(time.Microsecond) },
		})
		if err := p.Run(ctx, &j); err != nil {
			t.Error(err)
		}
		synctest.Wait()
	})
	if n := sim.WriteAttempts(); n != 0 {
		t.Errorf("%d requests would have changed the car", n)
	}
	return &j, sim
}

// compare holds the readings that judder took against those that the simulated car gave:
// each once, none else. hurt says how many it counts as hurt, or as given, that judder may
// see otherwise: a line with zero bytes strewn in is whole without them, one with noise
// before it is not. Where the adapter showed no header, nobody can know the ECU.
func compare(t *testing.T, j *obdtest.Journal, sim *simcar.Sim, bare bool, hurt int) {
	t.Helper()
	type key struct {
		ecu    string
		signal pids.Signal
		value  string
	}
	name := func(v float64) string { return fmt.Sprintf("%.2f", v) }
	want, got := map[key]int{}, map[key]int{}
	total := 0
	for _, g := range sim.Given() {
		f := pids.Lookup(g.PID).Fields
		if len(f) != 1 && g.PID != 0x06 {
			continue // maps, states of several fields: not asked while polling
		}
		k := key{g.ECU, f[0].Signal, name(g.Value)}
		if bare {
			k.ecu = ""
		}
		want[k]++
		total++
	}
	if total == 0 {
		t.Fatal("the simulated car gave nothing")
	}
	for _, s := range j.Samples {
		k := key{s.ECU, s.Signal, name(s.Value)}
		if bare {
			k.ecu = ""
		}
		got[k]++
	}
	if n := len(j.Samples); n > 0 { // the line is whole here before the adapter has sent its end, when the time is up between the two
		last := j.Samples[n-1]
		k := key{last.ECU, last.Signal, name(last.Value)}
		if bare {
			k.ecu = ""
		}
		if got[k] == want[k]+1 {
			got[k]--
		}
	}
	missed, invented := 0, 0
	for k, n := range want {
		missed += max(0, n-got[k])
	}
	for k, n := range got {
		invented += max(0, n-want[k])
	}
	if missed > max(1, hurt) || invented > hurt { // one may be under way when the time is up
		t.Errorf("of %d readings given %d are missing; %d were not given", total, missed, invented)
	}
}

// Where an adapter hides headers on an older bus, no ECU can be asked alone: with two of them
// nobody knows whose a reading is, and none is taken.
func TestDrive_Mixed(t *testing.T) {
	var profile simcar.Profile
	for _, p := range simcar.Profiles {
		if p.Name == "no-headers" {
			profile = p
		}
	}
	for _, bus := range []simcar.Protocol{simcar.ISO9141, simcar.KWPFast, simcar.J1850VPW, simcar.J1850PWM} {
		var j obdtest.Journal
		synctest.Test(t, func(t *testing.T) {
			sim := simcar.New(simcar.CarFunc(obdtest.Moving), simcar.OnBus(bus), simcar.WithProfile(profile),
				simcar.WithECUs(simcar.EngineECU(), simcar.TransmissionECU()))
			start := time.Now()
			d := New(adapter.Config{
				Open:  func(ctx context.Context, _ int) (elm.Link, error) { return link.Over(sim.Pipe(ctx), "test"), nil },
				Bauds: []int{0}, Name: "test", Since: func() time.Duration { return time.Since(start).Truncate(time.Microsecond) },
			})
			if err := d.Run(t.Context(), &j); !errors.Is(err, ErrMixed) {
				t.Errorf("%v: %v", bus, err)
			}
		})
		if len(j.Samples) > 0 {
			t.Errorf("%v: %d readings of nobody knows whom", bus, len(j.Samples))
		}
	}
}

func TestDrive_EveryAdapterOnEveryBus(t *testing.T) {
	buses := map[string]simcar.Protocol{
		"CAN 11/500": simcar.CAN11at500, "CAN 29/500": simcar.CAN29at500, "CAN 11/250": simcar.CAN11at250,
		"ISO 9141-2": simcar.ISO9141, "ISO 14230-4 fast": simcar.KWPFast, "J1850 VPW": simcar.J1850VPW, "J1850 PWM": simcar.J1850PWM,
	}
	for busName, bus := range buses {
		for _, profile := range simcar.Profiles {
			t.Run(busName+"/"+profile.Name, func(t *testing.T) {
				bare := profile.Name == "no-headers"
				lasts := 30 * time.Second
				if testing.Short() {
					lasts = 14 * time.Second
				}
				ecus := []*simcar.ECU{simcar.EngineECU(), simcar.TransmissionECU()}
				if bare && !strings.HasPrefix(busName, "CAN") {
					ecus = ecus[:1] // two without names are ErrMixed there: TestDrive_Mixed
				}
				j, sim := ride(t, lasts, simcar.OnBus(bus), simcar.WithProfile(profile), simcar.WithECUs(ecus...))
				compare(t, j, sim, bare, 0)
				t.Logf("%.1f rpm, %.1f speed, %.1f throttle, %.1f load readings/s", j.Rate(pids.RPM, "", lasts-10*time.Second, lasts),
					j.Rate(pids.VSS, "", lasts-10*time.Second, lasts), j.Rate(pids.TP, "", lasts-10*time.Second, lasts), j.Rate(pids.LoadPct, "", lasts-10*time.Second, lasts))
				if r := j.Rate(pids.RPM, "", lasts-10*time.Second, lasts); r < 2 {
					t.Errorf("%.1f engine-speed readings a second", r)
					show(t, j)
				}
			})
		}
	}
}

// show prints the beginning of the dialogue.
func show(t *testing.T, j *obdtest.Journal) {
	t.Helper()
	for i, x := range j.Exchanges {
		if i > 60 {
			break
		}
		var lines []string
		for _, l := range x.Lines {
			lines = append(lines, l.Text)
		}
		t.Logf("%8.3f %-10s %-60q %.3f end %d form %d", x.Sent.Seconds(), x.Request, lines, (x.Done - x.Sent).Seconds(), x.Ending, x.Form)
	}
	for _, l := range j.Links {
		t.Logf("%8.3f link %d %s", l.At.Seconds(), l.State, l.Text)
	}
}

// hurtBy is how many readings of one exchange each fault leaves in doubt; see compare.
var hurtBy = map[simcar.FaultKind]int{simcar.NulBytes: 2, simcar.Noise: 2, simcar.LateReply: 2}

// Each fault, and after it readings again without anybody doing anything.
func TestDrive_FaultsThenRecover(t *testing.T) {
	for _, f := range []struct {
		name  string
		fault simcar.Fault
		back  time.Duration // without engine speed, beyond the fault itself
	}{
		{"lost reply", simcar.Fault{Kind: simcar.LostReply}, time.Second},
		{"late reply", simcar.Fault{Kind: simcar.LateReply, For: 150 * time.Millisecond}, time.Second},
		{"damaged reply", simcar.Fault{Kind: simcar.DamagedReply}, time.Second},
		{"data error", simcar.Fault{Kind: simcar.DataError}, time.Second},
		{"zero bytes", simcar.Fault{Kind: simcar.NulBytes}, time.Second},
		{"adapter reset", simcar.Fault{Kind: simcar.AdapterReset}, 8 * time.Second},
		{"low voltage", simcar.Fault{Kind: simcar.LowVoltage}, 8 * time.Second},
		{"fatal bus error", simcar.Fault{Kind: simcar.ERR94}, 20 * time.Second},
		{"silence", simcar.Fault{Kind: simcar.Silence, For: 5 * time.Second}, 8 * time.Second},
		{"stopped", simcar.Fault{Kind: simcar.StoppedByItself}, time.Second},
		{"buffer full", simcar.Fault{Kind: simcar.BufferFull}, time.Second},
		{"CAN error", simcar.Fault{Kind: simcar.CANError}, 2 * time.Second},
		{"bus busy", simcar.Fault{Kind: simcar.BusBusy}, time.Second},
		{"noise", simcar.Fault{Kind: simcar.Noise}, 3 * time.Second},
		{"endless line", simcar.Fault{Kind: simcar.EndlessLine}, 5 * time.Second},
		{"line drop", simcar.Fault{Kind: simcar.LineDrop}, 10 * time.Second},
		{"ignition off", simcar.Fault{Kind: simcar.IgnitionOff, For: 10 * time.Second}, 12 * time.Second},
	} {
		t.Run(f.name, func(t *testing.T) {
			const at = 8 * time.Second
			lasts := 60 * time.Second
			if testing.Short() {
				lasts = at + f.fault.For + f.back + 10*time.Second
			}
			f.fault.At = at
			j, sim := ride(t, lasts, simcar.WithFaults(f.fault))
			compare(t, j, sim, f.fault.Kind == simcar.AdapterReset || f.fault.Kind == simcar.LowVoltage, hurtBy[f.fault.Kind])
			back := obdtest.LongestGap(j.Samples, at-time.Second, lasts) - f.fault.For
			t.Logf("readings gone for %.2f s beyond the %.0f s of the fault itself; %q", back.Seconds(), f.fault.For.Seconds(), j.Causes(at))
			if back > time.Second && len(j.Causes(at)) < 3 {
				t.Errorf("gone for %v without a word", back)
			}
			if back > f.back {
				t.Errorf("gone for %v, want %v", back, f.back)
			}
			if r := j.Rate(pids.RPM, "", lasts-10*time.Second, lasts-time.Second); r < 20 {
				t.Errorf("at the end %.1f engine-speed readings a second", r)
			}
			for _, l := range j.Links {
				if strings.ContainsFunc(l.Text, func(r rune) bool { return r < ' ' || r >= 0x7F && r < 0xA0 }) {
					t.Errorf("control character in %q", l.Text)
				}
			}
		})
	}
}
