package drive

import (
	"context"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/obdtest"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/simcar"
)

// An ECU that answers later than the others, or whose first reply is damaged, is read as
// soon as it answers: nothing can be judged without engine speed.
func TestWatch_EngineComputerLater(t *testing.T) {
	for name, c := range map[string]struct {
		late    time.Duration
		damaged int // the so manieth reply to the first request
	}{"late": {late: 5 * time.Second}, "damaged at set-up": {damaged: 2}} {
		start, walks := time.Now(), 0
		b := &obdtest.BadAdapter{}
		b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
			if b.Asked == 1 {
				start = time.Now() // simulated
			}
			other := "7E903410D32"
			if request == "0100" {
				walks++
				other = "7E906410000080000"
			}
			engine := b.Engine("7E8", request)
			switch {
			case time.Since(start) < c.late:
				if request == "010C" {
					return []string{"NO DATA"}, true
				}
				return []string{other}, true
			case request == "0100" && walks == c.damaged:
				engine += "<DATA ERROR"
			}
			if b.Header == "7E0" || request == "010C" {
				return []string{engine}, true
			}
			return []string{engine, other}, true
		}
		j := rideBad(t, 20*time.Second, b)
		if r := j.Rate(pids.RPM, "7E8", 10*time.Second, 20*time.Second); r < 20 {
			t.Errorf("%s: %.1f engine-speed readings a second", name, r)
			show(t, j)
		}
	}
}

// A wait made shorter than the adapter's own must suit the slowest ECU that the drive asks,
// not only the engine's.
func TestTune_SlowerComputer(t *testing.T) {
	copyOf, ok := simcar.ProfileNamed("ignores-digit")
	if !ok {
		t.Fatal("no such adapter")
	}
	for _, bus := range []simcar.Protocol{simcar.CAN11at500, simcar.J1850VPW} {
		engine, gearbox := simcar.EngineECU(), simcar.TransmissionECU()
		engine.PIDs = slices.DeleteFunc(engine.PIDs, func(pid byte) bool { return pid == 0x0D })
		engine.Delay, engine.Jitter = 4*time.Millisecond, 0
		gearbox.PIDs, gearbox.Delay, gearbox.Jitter = []byte{0x0D}, 58*time.Millisecond, 0
		j, _ := ride(t, 30*time.Second, simcar.OnBus(bus), simcar.WithProfile(copyOf), simcar.WithECUs(engine, gearbox))
		if r := j.Rate(pids.VSS, "", 15*time.Second, 30*time.Second); r < 0.7 {
			t.Errorf("%v: %.1f road-speed readings a second", bus, r)
		}
		if r := j.Rate(pids.RPM, "", 15*time.Second, 30*time.Second); r < 4.5 {
			t.Errorf("%v: %.1f engine-speed readings a second: no more than with the adapter's own wait", bus, r)
		}
	}
}

// Two replies lost in a row give the adapter its own wait back; the readings a second are lost
// for a while, not for the drive.
func TestTune_Again(t *testing.T) {
	copyOf, ok := simcar.ProfileNamed("ignores-digit")
	if !ok {
		t.Fatal("no such adapter")
	}
	lost := simcar.Fault{Kind: simcar.LostReply, At: 10 * time.Second}
	j, _ := ride(t, 60*time.Second, simcar.WithProfile(copyOf), simcar.WithFaults(lost, lost))
	before, after := j.Rate(pids.RPM, "", 6*time.Second, 10*time.Second), j.Rate(pids.RPM, "", 40*time.Second, 60*time.Second)
	if after < 0.9*before || before < 15 {
		t.Errorf("%.1f readings a second before, %.1f after", before, after)
	}
}

// An adapter that starts again and says "?" to everything for a while has its settings sent
// again until it takes them.
func TestDrive_RefusesForAWhile(t *testing.T) {
	var until time.Time
	b := &obdtest.BadAdapter{}
	b.Strike = func(command string) []string {
		switch {
		case until.IsZero() && b.Asked == 100:
			until, b.Bare = time.Now().Add(1500*time.Millisecond), true // simulated
			return []string{"LV RESET"}
		case time.Now().Before(until):
			return []string{"?"}
		case command == "ATH1":
			b.Bare = false
		}
		return nil
	}
	b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
		return []string{b.Engine("7E8", request)}, true
	}
	j := rideBad(t, 20*time.Second, b)
	if r := j.Rate(pids.RPM, "7E8", 10*time.Second, 20*time.Second); until.IsZero() || r < 20 {
		t.Errorf("%.1f engine-speed readings a second with their name", r)
		show(t, j)
	}
}

// Where headers cannot be shown and one ECU is asked alone, an adapter that forgets whom to
// ask brings the others' values under no name: none of them is read.
func TestDrive_NamelessAdapterForgetsAddress(t *testing.T) {
	forgot := 0
	b := &obdtest.BadAdapter{}
	b.Strike = func(command string) []string {
		if command == "ATH1" {
			b.Bare = true
			return []string{"?"}
		}
		return nil
	}
	b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
		b.Bare = true
		if b.Asked%150 == 0 {
			forgot++
			b.Header = "7DF"
		}
		engine := b.Engine("7E8", request)
		if b.Header == "7E0" {
			return []string{engine}, true
		}
		other := map[bool]string{true: engine, false: strings.NewReplacer("0C0", "0C7", "0C1", "0C8").Replace(engine)}[request == "0100"]
		return []string{other, engine}, true
	}
	j := rideBad(t, 20*time.Second, b)
	foreign := 0
	for _, s := range j.Samples {
		if s.Signal == pids.RPM && s.Value > 5000 {
			foreign++
		}
	}
	if r := j.Rate(pids.RPM, "", 5*time.Second, 20*time.Second); foreign > 0 || r < 20 || forgot < 3 {
		t.Errorf("%d readings of another ECU; %.1f engine-speed readings a second, forgot %d times", foreign, r, forgot)
		show(t, j)
	}
}

// The count digit takes "wait" (7F xx 78, ISO 14229-1) for the reply; without it the answer that
// follows is read.
func TestDrive_WaitCounted(t *testing.T) {
	engine := simcar.EngineECU()
	engine.Refusals = []simcar.Refusal{{Service: 0x01, Param: obd.EngineSpeed, Code: reply.ResponsePending, Times: 400, Then: 40 * time.Millisecond}}
	j, _ := ride(t, 30*time.Second, simcar.WithECUs(engine))
	counted := 0
	for _, x := range j.Exchanges {
		if strings.HasPrefix(x.Request, "010C") && len(x.Request)%2 == 1 {
			counted++
		}
	}
	if r := j.Rate(pids.RPM, "", 2*time.Second, 10*time.Second); r < 3 || counted == 0 {
		t.Errorf("%.1f engine-speed readings a second while it says wait; the digit was used %d times", r, counted)
		show(t, j)
	}
}

// An adapter that takes leading spaces before its own commands and not before requests is asked
// without them.
func TestDrive_LeadNotUnderstood(t *testing.T) {
	b := &obdtest.BadAdapter{}
	b.RawStrike = func(line string) []string {
		if strings.HasPrefix(line, " ") && !strings.HasPrefix(strings.TrimSpace(line), "AT") {
			return []string{"?"}
		}
		return nil
	}
	b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
		return []string{b.Engine("7E8", request)}, true
	}
	if j := rideBad(t, 15*time.Second, b); j.Rate(pids.RPM, "7E8", 10*time.Second, 15*time.Second) < 20 {
		show(t, j)
		t.Error("not read")
	}
}

// Set-ups that do not help come to an end: two ECUs without names, one silent to the
// first question, and one that answers only now and then and reports nothing that is missing.
func TestDrive_SetUpsEnd(t *testing.T) {
	for name, c := range map[string]struct {
		bare bool
		car  func(b *obdtest.BadAdapter, request string) []string
		rpm  float64
	}{
		"no names": {true, func(b *obdtest.BadAdapter, request string) []string {
			if request == "0100" {
				return []string{b.Engine("7E8", request)}
			}
			return []string{b.Engine("7E8", request), b.Engine("7E9", request)}
		}, 0},
		"now and then": {false, func(b *obdtest.BadAdapter, request string) []string {
			if request == "0100" {
				lines := []string{"7E806410000180000"} // no throttle
				if b.Asked%5 == 0 {
					lines = append(lines, "7E906410008100000")
				}
				return lines
			}
			return []string{b.Engine("7E8", request)}
		}, 20},
	} {
		b := &obdtest.BadAdapter{}
		b.Strike = func(command string) []string {
			if c.bare && command == "ATH1" {
				b.Bare = true
				return []string{"?"}
			}
			return nil
		}
		b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
			b.Bare = c.bare
			return c.car(b, request), true
		}
		j := &obdtest.Journal{}
		onBad(t, b, func(t *testing.T, d *Drive) {
			ctx, cancel := context.WithTimeout(t.Context(), 3*time.Minute)
			defer cancel()
			if err := d.Run(ctx, j); err != nil && (!c.bare || !errors.Is(err, ErrMixed)) {
				t.Error(err)
			}
		})
		if r := j.Rate(pids.RPM, "", time.Minute, 3*time.Minute); b.Resets > 8 || c.rpm > 0 && r < c.rpm || c.rpm == 0 && r > 0 {
			t.Errorf("%s: set up %d times, %.1f engine-speed readings a second", name, b.Resets, r)
		}
	}
}

// A car whose ignition was off is read soon after it is on again, on every bus.
func TestDrive_IgnitionOffAndOn(t *testing.T) {
	for _, bus := range []simcar.Protocol{simcar.CAN11at500, simcar.CAN29at500, simcar.CAN11at250, simcar.ISO9141, simcar.KWPFast, simcar.J1850VPW} {
		j, _ := ride(t, 2*time.Minute, simcar.OnBus(bus), simcar.WithFaults(simcar.Fault{Kind: simcar.IgnitionOff, At: 30 * time.Second, For: 25 * time.Second}))
		back := time.Duration(0)
		for _, s := range j.Samples {
			if s.Signal == pids.RPM && s.At > 55*time.Second {
				back = s.At - 55*time.Second
				break
			}
		}
		if t.Logf("%v: back after %v", bus, back); back == 0 || back > 15*time.Second {
			t.Errorf("%v: back after %v", bus, back)
		}
	}
}
