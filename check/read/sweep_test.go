package read_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/check/read"
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/inquiry"
	"github.com/judder-obd/judder/simcar"
)

// A sweep asks "tester present" alone, finds who answers, and asks at most five times a second.
func TestSweep(t *testing.T) {
	for _, c := range []struct {
		bus  simcar.Protocol
		want string
	}{{simcar.CAN11at500, "[760]"}, {simcar.CAN29at500, "[18DA28F1 18DA40F1]"}} {
		var found []obd.Module
		var took time.Duration
		sink, sim, err := inquire(t, func(q *inquiry.Inquiry) (err error) {
			begun := time.Now()
			found, err = read.Sweep(q, q.ECUs(), time.Sleep, nil)
			took = time.Since(begun)
			return err
		}, simcar.OnBus(c.bus), simcar.WithECUs(simcar.EngineECU(), simcar.BrakesModule(), simcar.BodyModule()))
		if err != nil {
			t.Fatal(err)
		}
		var names []string
		for _, m := range found {
			names = append(names, m.Request)
		}
		if fmt.Sprint(names) != c.want { // body's replies on 11 bits do not come 8 higher: not found without a profile
			t.Errorf("%v: found %v, want %s", c.bus, names, c.want)
		}
		asked := 0
		for _, r := range sink.asked {
			if r == "3E00" {
				asked++
			}
		}
		if asked < 230 || took < time.Duration(asked)*200*time.Millisecond {
			t.Errorf("%v: %d asked in %v", c.bus, asked, took)
		}
		if n := sim.WriteAttempts(); n != 0 {
			t.Errorf("%d requests would have changed the car", n)
		}
		t.Logf("%v: %d asked in %v", c.bus, asked, took)
	}
}

// No sweep with a running engine.
func TestSweep_EngineRuns(t *testing.T) {
	sink, _, err := inquireAt(t, simcar.WarmIdle(), func(q *inquiry.Inquiry) error {
		_, err := read.Sweep(q, nil, time.Sleep, nil)
		return err
	})
	if err == nil || !strings.Contains(err.Error(), "engine runs") {
		t.Errorf("%v", err)
	}
	for _, r := range sink.asked {
		if r == "3E00" {
			t.Fatal("asked all the same")
		}
	}
}

// It stops at the first sign that the bus suffers.
func TestSweep_StopsAtTrouble(t *testing.T) {
	_, _, err := inquire(t, func(q *inquiry.Inquiry) error {
		_, err := read.Sweep(q, nil, time.Sleep, nil)
		return err
	}, simcar.WithFaults(simcar.Fault{Kind: simcar.CANError, At: 20 * time.Second}))
	if err == nil || !strings.Contains(err.Error(), "sweep stopped at") || !strings.Contains(err.Error(), "CAN ERROR") {
		t.Errorf("%v", err)
	}
}

// An ECU that answers behind the adapter's prompt is found all the same.
func TestSweep_LateAnswer(t *testing.T) {
	var found []obd.Module
	_, _, err := inquire(t, func(q *inquiry.Inquiry) (err error) {
		found, err = read.Sweep(q, q.ECUs(), time.Sleep, nil)
		return err
	}, simcar.WithECUs(simcar.EngineECU(), simcar.BrakesModule()),
		simcar.WithFaults(simcar.Fault{Kind: simcar.LateReply, At: 5 * time.Second, Until: 100 * time.Second, Chance: 1, For: 500 * time.Millisecond})) // the adapter waits 400
	if err != nil || len(found) != 1 || found[0].Request != "760" {
		t.Errorf("%v, %v", found, err)
	}
}
