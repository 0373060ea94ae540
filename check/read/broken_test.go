package read_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/check/compare"
	"github.com/judder-obd/judder/check/page"
	"github.com/judder-obd/judder/check/read"
	"github.com/judder-obd/judder/check/triage"
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/inquiry"
	"github.com/judder-obd/judder/obd/link"
	"github.com/judder-obd/judder/simcar"
)

// A check that is interrupted, or whose link is lost for good, at any step: what was not
// reached is named, no list passes for empty, and a comparison calls nothing gone.
func TestRun_BrokenOff(t *testing.T) {
	whole, _ := run(t, read.Options{}, simcar.WithECUs(faulty()))
	for _, how := range []string{"interrupted", "lost"} {
		for _, at := range []check.ItemKind{check.StepSupply, check.StepIdentity, check.StepCodes, check.StepReadiness, check.StepFreeze, check.StepTests} {
			t.Run(how+" at "+item(at).String(), func(t *testing.T) {
				r, err := breakOff(t, at, how == "lost")
				if err == nil || r == nil || r.BrokeOff == nil || (r.BrokeOff.Outcome.Kind == check.Interrupted) != (how == "interrupted") {
					t.Fatalf("%v, %+v", err, r)
				}
				step := r.BrokeOff.Item // of a lost link it may be the next: a reply was under way
				tests := item(check.StepTests)
				if !lacks(r.Unread, step, check.BrokenOffHere) || step != tests && !lacks(r.Unread, tests, check.BrokenOffEarlier) {
					t.Errorf("not read: %s", notesText(r.Unread))
				}
				if len(r.Triage) == 0 || r.Triage[0].Rule != triage.RuleCheckAgain {
					t.Errorf("%+v", r.Triage)
				}
				var text strings.Builder
				if err := page.WriteCheck(&text, r); err != nil {
					t.Fatal(err)
				}
				before := step.Kind == check.StepSupply || step.Kind == check.StepIdentity || step.Kind == check.StepCodes
				if before && len(r.ECUs[0].Lists.Unread()) == 0 || strings.Contains(text.String(), "no codes (") == before && len(r.ECUs[0].Codes) == 0 {
					t.Error(text.String())
				}
				for _, c := range compare.Checks(whole, r).Changes {
					if c.What == compare.Gone || c.What == compare.New || before && len(r.ECUs[0].Codes) == 0 && c.What != compare.NotRead || !before && c.What != compare.Unchanged {
						t.Errorf("%+v", c)
					}
				}
			})
		}
	}
}

// breakOff runs a check that ends when it comes to a step.
func breakOff(t *testing.T, at check.ItemKind, lost bool) (r *check.Report, err error) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		sim := simcar.New(simcar.Steady(parked(0)), simcar.WithECUs(faulty()))
		ctx, stop := context.WithCancel(t.Context())
		wire, cut := context.WithCancel(t.Context())
		defer stop()
		defer cut()
		start := time.Now()
		cfg := adapter.Config{
			Open: func(ctx context.Context, _ int) (elm.Link, error) {
				if wire.Err() != nil {
					return nil, errors.New("no such port")
				}
				return link.Over(sim.Pipe(wire), "test"), nil
			},
			Bauds: []int{0}, Name: "test", Since: func() time.Duration { return time.Since(start) },
		}
		o := read.Options{Progress: func(doing check.Item, done, _ int) {
			if doing.Kind != at || done > 0 {
				return
			}
			if lost {
				cut()
			} else {
				stop()
			}
		}}
		err = inquiry.Run(ctx, cfg, &keep{}, time.Minute, func(q *inquiry.Inquiry) (wrong error) {
			r, wrong = read.Run(q, o)
			return wrong
		})
		stop()
		cut()
		synctest.Wait()
	})
	return r, err
}

// Whatever befalls adapter and link under way, the check goes on and finds the same.
func TestRun_Survives(t *testing.T) {
	whole, _ := run(t, read.Options{}, simcar.WithECUs(faulty(), simcar.BrakesModule()))
	want := states(find(whole, "7E8"))
	brakes, _ := obd.ParseModule("760")
	for _, c := range []struct {
		name  string
		fault simcar.Fault
	}{
		{"reset", simcar.Fault{Kind: simcar.AdapterReset}},
		{"low voltage", simcar.Fault{Kind: simcar.LowVoltage}},
		{"ERR94", simcar.Fault{Kind: simcar.ERR94}},
		{"silence", simcar.Fault{Kind: simcar.Silence, For: 5 * time.Second}},
		{"connection dropped", simcar.Fault{Kind: simcar.LineDrop, For: 2 * time.Second}},
	} {
		for _, at := range []time.Duration{3500 * time.Millisecond, 4 * time.Second, 5 * time.Second, 6 * time.Second} {
			t.Run(c.name+" at "+at.String(), func(t *testing.T) {
				fault := c.fault
				fault.At = at
				r, sim := run(t, read.Options{Modules: []obd.Module{brakes}}, simcar.WithECUs(faulty(), simcar.BrakesModule()), simcar.WithFaults(fault))
				if len(sim.Strikes()) == 0 {
					t.Fatal("the fault did not strike")
				}
				got, module := find(r, "7E8"), find(r, "768")
				if states(got) != want || frame(got) == nil || len(module.Codes) != 2 || r.BrokeOff != nil {
					t.Errorf("%s, want %s; brakes %s; broke off %v; not read %s", states(got), want, states(module), r.BrokeOff, notesText(got.Unread, r.Unread))
				}
				for _, e := range r.ECUs {
					if e.ID == "" {
						t.Errorf("an ECU without a name: %+v", e)
					}
				}
			})
		}
	}
}
