package drive

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/obdtest"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/pids"
)

// onBad gives the test a drive on an adapter, under simulated time.
func onBad(t *testing.T, b *obdtest.BadAdapter, test func(t *testing.T, p *Drive)) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		start := time.Now()
		var served sync.WaitGroup
		defer served.Wait()
		test(t, New(adapter.Config{
			Open: b.Open(&served), Bauds: []int{0}, Name: "test",
			Since: func() time.Duration { return time.Since(start).Truncate(time.Microsecond) },
		}))
	})
}

// rideBad is a drive of length d on an adapter.
func rideBad(t *testing.T, d time.Duration, b *obdtest.BadAdapter) *obdtest.Journal {
	t.Helper()
	j := &obdtest.Journal{}
	onBad(t, b, func(t *testing.T, p *Drive) {
		ctx, cancel := context.WithTimeout(t.Context(), d)
		defer cancel()
		if err := p.Run(ctx, j); err != nil {
			t.Error(err)
		}
	})
	return j
}

// An adapter that answers for itself and hangs on every request to the car is set up again.
func TestDrive_RequestsHang(t *testing.T) {
	b := &obdtest.BadAdapter{}
	b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
		if b.Asked > 200 && b.Resets < 2 {
			return nil, false
		}
		return []string{b.Engine("7E8", request)}, true
	}
	j := rideBad(t, 40*time.Second, b)
	if r := j.Rate(pids.RPM, "", 30*time.Second, 39*time.Second); r < 30 || !j.Reported(obd.CauseHangs) {
		t.Errorf("%.1f readings a second after it hung; %q", r, j.Causes(0))
	}
}

// One "wait" slows the adapter down for some replies, not for the rest of the drive.
func TestDrive_WaitIsForgotten(t *testing.T) {
	b := &obdtest.BadAdapter{}
	b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
		if b.Asked == 200 {
			return []string{"7E8037F0178"}, true
		}
		return []string{b.Engine("7E8", request)}, true
	}
	j := rideBad(t, 30*time.Second, b)
	if r := j.Rate(pids.RPM, "", 20*time.Second, 29*time.Second); r < 30 || b.Asked < 200 {
		t.Errorf("%.1f readings a second after one wait", r)
	}
}

// An adapter that cannot ask the car at all is set up again about once a second, and the
// user sees what it says.
func TestDrive_ErrorForEver(t *testing.T) {
	b := &obdtest.BadAdapter{Car: func(*obdtest.BadAdapter, string) ([]string, bool) { return []string{"ERR71"}, true }}
	j := rideBad(t, 30*time.Second, b)
	if b.Resets > 30 || !j.Reported(obd.CauseCannotAsk) {
		t.Errorf("%d resets in half a minute; %q", b.Resets, j.Causes(0))
	}
}

// A first reply whose sum is also its CRC is of either older bus; the adapter's protocol
// number says which (SAE J1850: one reply in 256).
func TestDrive_CheckByteOfBoth(t *testing.T) {
	same := func() (data []byte) { // a support map whose two check bytes agree
		for low := range 1 << 16 {
			data = []byte{0x48, 0x6B, 0x10, 0x41, 0x00, 0x00, 0x18, byte(0x80 | low>>8), byte(low)}
			if reply.KLineSum(data) == reply.J1850CRC(data) {
				return data
			}
		}
		return nil
	}()
	b := &obdtest.BadAdapter{Number: "A2"}
	b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
		frame := append([]byte(nil), same...)
		if request != "0100" {
			text := b.Engine("", request)
			if text == "NO DATA" || len(request) > 4 {
				return []string{"NO DATA"}, true
			}
			frame = append(frame[:3:3], obdtest.UnhexAll(t, text[2:])...)
		}
		return []string{fmt.Sprintf("%X", append(frame, reply.J1850CRC(frame)))}, true
	}
	if same == nil {
		t.Fatal("no such map")
	}
	j := rideBad(t, 20*time.Second, b)
	if r := j.Rate(pids.RPM, "10", 10*time.Second, 19*time.Second); r < 10 {
		t.Errorf("%.1f readings a second; %q", r, j.Causes(0))
	}
}

// Two ECUs behind an adapter without headers: the engine's is asked alone where that can be
// proved, so that readings of two are not mixed; where it cannot, nothing is read.
func TestDrive_TwoWithoutNames(t *testing.T) {
	for _, obeys := range []bool{true, false} {
		b := &obdtest.BadAdapter{Bare: true}
		b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
			lines := []string{b.Engine("", request)}
			if b.Header != "7E0" || !obeys {
				switch request {
				case "0100":
					lines = append(lines, "41000010000000"[:12])
				case "010C", "010C0D", "010C11":
					lines = append(lines, "410CFFFF") // of the other one: 16384 rpm
				}
			}
			return lines, true
		}
		j := &obdtest.Journal{}
		onBad(t, b, func(t *testing.T, d *Drive) {
			ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
			defer cancel()
			if err := d.Run(ctx, j); obeys && err != nil || !obeys && !errors.Is(err, ErrMixed) {
				t.Errorf("obeys %v: %v", obeys, err)
			}
		})
		if !obeys {
			if n := len(j.Samples); n > 0 || j.Links[len(j.Links)-1].Cause != obd.CauseMixed {
				t.Errorf("%d readings of nobody knows whom; %q", n, j.Causes(0))
			}
			continue
		}
		foreign := 0
		for _, s := range j.Samples {
			if s.Signal == pids.RPM && s.At > 5*time.Second && s.Value > 10000 {
				foreign++
			}
		}
		if r := j.Rate(pids.TP, "", 10*time.Second, 19*time.Second); r < 3 {
			t.Errorf("obeys %v: throttle %.1f times a second, though one of the two has it", obeys, r)
		}
		if foreign > 0 {
			t.Errorf("%d readings of the other ECU", foreign)
		}
	}
}

// A parameter that a car claims and never answers is left out after some tries; in an outage
// nothing is.
func TestDrive_ClaimedNotAnswered(t *testing.T) {
	b := &obdtest.BadAdapter{}
	b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
		if strings.Contains(request, "11") {
			time.Sleep(200 * time.Millisecond)
			return []string{"NO DATA"}, true
		}
		return []string{b.Engine("7E8", request)}, true
	}
	j := rideBad(t, 30*time.Second, b)
	if r := j.Rate(pids.RPM, "", 10*time.Second, 29*time.Second); r < 50 {
		t.Errorf("%.1f readings a second beside a parameter that is never answered", r)
	}
	b = &obdtest.BadAdapter{}
	b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
		if b.Asked > 300 && b.Asked < 340 {
			time.Sleep(200 * time.Millisecond)
			return []string{"NO DATA"}, true
		}
		return []string{b.Engine("7E8", request)}, true
	}
	j = rideBad(t, 40*time.Second, b)
	if r := j.Rate(pids.TP, "", 30*time.Second, 39*time.Second); r < 5 {
		t.Errorf("throttle %.1f times a second after an outage", r)
	}
}

// An adapter that forgets whom to ask is found out by who answers.
func TestDrive_ForgetsWhomToAsk(t *testing.T) {
	b := &obdtest.BadAdapter{}
	b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
		if b.Asked == 300 {
			b.Header, b.Filter = "7DF", ""
			return []string{"CAN ERROR"}, true
		}
		if b.Header == "7DF" && request != "0100" && b.Asked > 300 && b.Asked < 400 {
			return []string{b.Engine("7E9", request)}, true // faster, and the count is one
		}
		return []string{b.Engine("7E8", request)}, true
	}
	j := rideBad(t, 30*time.Second, b)
	if gap := longestGapOf(j, "7E8", 3*time.Second, 29*time.Second); gap > 3*time.Second || !j.Reported(obd.CauseForgot) {
		t.Errorf("%v without the engine's ECU; %q", gap, j.Causes(0))
	}
}

func longestGapOf(j *obdtest.Journal, ecu string, from, to time.Duration) time.Duration {
	var own []pids.Sample
	for _, s := range j.Samples {
		if s.ECU == ecu {
			own = append(own, s)
		}
	}
	return obdtest.LongestGap(own, from, to)
}

// An adapter that may still be busy takes the first character of what comes for "stop": the
// rest of 010C0D1 would be 10 C0 D1, a request for another session (ISO 14229-1). So what is
// sent first is for the adapter itself.
func TestDrive_NothingLeftOfARequest(t *testing.T) {
	for _, lines := range [][]string{nil, {"7E8037F0178"}, {"7E806410C1AF80D32"}} {
		b := &obdtest.BadAdapter{}
		b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
			if b.Asked%50 == 0 {
				return lines, false
			}
			return []string{b.Engine("7E8", request)}, true
		}
		j := rideBad(t, 30*time.Second, b)
		hung := 0
		for i := range len(j.Exchanges) - 1 {
			x := &j.Exchanges[i]
			if x.Ending != obd.EndSilence || strings.HasPrefix(x.Request, "AT") {
				continue
			}
			hung++
			if next := j.Exchanges[i+1].Request; !strings.HasPrefix(next, "AT") {
				t.Errorf("%q: %s was sent to an adapter that may be busy", lines, next)
			}
		}
		if hung < 5 {
			t.Errorf("%q: no prompt %d times", lines, hung)
		}
	}
}

// A supply that dips is reported as that, also where the same reply holds a reading without its
// header.
func TestDrive_ResetIsNamed(t *testing.T) {
	b := &obdtest.BadAdapter{}
	b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
		if b.Asked == 200 {
			b.Bare = true
			return []string{"LV RESET", b.Engine("", request)}, true
		}
		if b.Resets > 1 {
			b.Bare = false
		}
		return []string{b.Engine("7E8", request)}, true
	}
	j := rideBad(t, 30*time.Second, b)
	if !j.Reported(obd.CauseRestarted) || j.Reported(obd.CauseForgot) || j.Rate(pids.RPM, "7E8", 20*time.Second, 29*time.Second) < 30 {
		t.Errorf("%q", j.Causes(5*time.Second))
	}
}

// An address in the network that is silent is not looked for among the serial ports.
func TestSilentError_Address(t *testing.T) {
	for _, heard := range []bool{false, true} {
		text := (&adapter.SilentError{Port: "tcp://10.0.0.1:35000", Bauds: []int{0}, Heard: heard}).Error()
		if strings.Contains(text, "judder ports") || strings.Contains(text, "--baud") || !strings.Contains(text, "tcp://10.0.0.1:35000") || !strings.Contains(text, "check") {
			t.Errorf("heard %v: %s", heard, text)
		}
	}
	serial := &adapter.SilentError{Port: "/dev/ttyUSB0", Bauds: []int{38400}}
	if !strings.Contains(serial.Error(), "judder ports") || !strings.Contains(serial.Error(), "38400") {
		t.Errorf("a serial port: %s", serial)
	}
}

// An adapter that is slow to say that it was stopped, and slower to say "?" to the rest of what
// stopped it, is asked nothing of the car until it has said OK.
func TestDrive_NothingLeftOfARequestWhereStoppingIsSlow(t *testing.T) {
	waiting := false // for the car
	executed := []string{}
	b := &obdtest.BadAdapter{}
	b.Strike = func(command string) []string {
		if !waiting {
			return nil
		}
		waiting = false
		executed = append(executed, command[1:])
		b.Later(120*time.Millisecond, "?\r>")
		return []string{"STOPPED"}
	}
	b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
		if b.Asked%50 == 0 {
			waiting = true
			return nil, false
		}
		return []string{b.Engine("7E8", request)}, true
	}
	j := rideBad(t, 30*time.Second, b)
	for _, rest := range executed {
		if rest[0] != 'T' {
			t.Errorf("the adapter was left with %s", rest)
		}
	}
	if len(executed) < 5 || j.Rate(pids.RPM, "", 10*time.Second, 29*time.Second) < 15 {
		t.Errorf("%d requests hung; %.1f readings a second", len(executed), j.Rate(pids.RPM, "", 10*time.Second, 29*time.Second))
	}
}
