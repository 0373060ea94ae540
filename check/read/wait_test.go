package read_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/check/read"
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/inquiry"
	"github.com/judder-obd/judder/simcar"
)

// furtherModules are all that the simulated car has, with the addresses at which they are asked;
// the body's replies do not come 8 higher.
func furtherModules(t *testing.T) (ecus []*simcar.ECU, asked []obd.Module) {
	t.Helper()
	ecus = []*simcar.ECU{simcar.BrakesModule(), simcar.BodyModule(), simcar.ClusterModule(), simcar.SteeringModule()}
	for _, e := range ecus {
		m := module(t, fmt.Sprintf("%03X", e.RequestID))[0]
		m.Reply = fmt.Sprintf("%03X", e.ReplyID)
		asked = append(asked, m)
	}
	return ecus, asked
}

// A car whose ECU says "wait" once (7F xx 78, ISO 14229-1) is read about as fast as one that
// never does, and every list is read all the same.
func TestRun_WaitOnce(t *testing.T) {
	ecus, asked := furtherModules(t)
	for _, c := range []struct {
		name  string
		wait  bool
		ecus  []*simcar.ECU
		asked []obd.Module
		most  time.Duration
	}{
		{"never", false, nil, nil, 8 * time.Second}, {"once", true, nil, nil, 8 * time.Second},
		{"never, four modules", false, ecus, asked, 15 * time.Second}, {"once, four modules", true, ecus, asked, 15 * time.Second},
	} {
		t.Run(c.name, func(t *testing.T) {
			engine := simcar.EngineECU()
			if c.wait {
				engine.Refusals = []simcar.Refusal{{Service: 0x03, Param: -1, Code: 0x78, Times: 1, Then: 900 * time.Millisecond}}
			}
			var r *check.Report
			var took time.Duration
			sink, _, err := inquire(t, func(q *inquiry.Inquiry) (err error) {
				begun := time.Now()
				r, err = read.Run(q, read.Options{Modules: c.asked})
				took = time.Since(begun)
				return err
			}, simcar.WithECUs(slices.Concat([]*simcar.ECU{engine, simcar.TransmissionECU()}, c.ecus)...))
			if err != nil || len(r.ECUs) != 2+len(c.ecus) {
				t.Fatalf("%v, %d ECUs", err, len(r.ECUs))
			}
			for i := range r.ECUs {
				if open := r.ECUs[i].Lists.Unread(); open != nil {
					t.Errorf("%s: not read %v", r.ECUs[i].ID, r.ECUs[i].Lists)
				}
			}
			if t.Logf("%v, %d requests", took, len(sink.asked)); took > c.most {
				t.Errorf("%v, want %v", took, c.most)
			}
		})
	}
}

// A module that answers soon is waited for no longer than that needs; when it becomes slow it is
// asked again once, and waited for as any other from then on, so that nothing of it is lost.
func TestRun_ModuleBecomesSlow(t *testing.T) {
	o := read.Options{Modules: module(t, "760")}
	ecus := simcar.WithECUs(simcar.EngineECU(), simcar.BrakesModule())
	want, _ := run(t, o, ecus)
	r, sim := run(t, o, ecus, simcar.WithFaults(simcar.Fault{Kind: simcar.LateReply, At: 3500 * time.Millisecond, Until: 20 * time.Second, Chance: 1, For: 250 * time.Millisecond}))
	if n := len(sim.Strikes()); n < 4 {
		t.Fatalf("%d replies were late", n)
	}
	last := 0
	for _, q := range sim.Requests() {
		if q.Text == "22F187" {
			last++
		}
	}
	if last != 1 {
		t.Errorf("the last question was put %d times: the wait is still too short", last)
	}
	a, b := find(want, "768"), find(r, "768")
	if states(a) != states(b) || len(b.Unread) > 0 || a.PartNumber != b.PartNumber || b.Codes[1].Extended != a.Codes[1].Extended {
		t.Errorf("%s %q, want %s %q; not read %s", states(b), b.PartNumber, states(a), a.PartNumber, notesText(b.Unread))
	}
}
