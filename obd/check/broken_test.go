package check_test

import (
	"context"
	"errors"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"judder/obd"
	"judder/obd/check"
	"judder/obd/link"
	"judder/obd/simcar"
)

// A check that is interrupted, or whose link is lost, at any step: what was not reached is
// named, no list passes for empty, and a comparison calls nothing gone.
func TestRun_BrokenOff(t *testing.T) {
	whole, _ := run(t, check.Options{}, simcar.WithECUs(faulty()))
	for _, how := range []string{"interrupted", "link lost"} {
		for _, at := range []string{"supply voltage", "identification", "stored, pending and permanent codes", "readiness and distance since cleared", "freeze frames", "test results and misfire counters"} {
			t.Run(how+" at "+at, func(t *testing.T) {
				r, err := breakOff(t, at, how == "link lost")
				if err == nil || r == nil || !strings.HasPrefix(r.BrokeOff, at) {
					t.Fatalf("%v, %+v", err, r)
				}
				if how == "interrupted" && !strings.HasSuffix(r.BrokeOff, "interrupted") {
					t.Errorf("broke off at %q", r.BrokeOff)
				}
				if !slices.ContainsFunc(r.Unread, func(u string) bool { return strings.HasPrefix(u, at) }) || !slices.ContainsFunc(r.Unread, func(u string) bool { return strings.HasPrefix(u, "further computers") }) {
					t.Errorf("not read: %q", r.Unread)
				}
				if len(r.Triage) == 0 || !strings.Contains(r.Triage[0].Do, "Make this check again") {
					t.Errorf("%+v", r.Triage)
				}
				var text strings.Builder
				if err := r.WriteText(&text); err != nil {
					t.Fatal(err)
				}
				before := at == "supply voltage" || at == "identification" || strings.HasPrefix(at, "stored")
				if before && (strings.Contains(text.String(), "no codes") || !strings.Contains(text.String(), "CODES NOT READ")) || !strings.Contains(text.String(), "NOT WHOLE") {
					t.Error(text.String())
				}
				for _, c := range check.Compare(whole, r).Changes {
					if before && c.What != "not read" || !before && c.What != "unchanged" {
						t.Errorf("%+v", c)
					}
				}
			})
		}
	}
}

// breakOff runs a check that ends when it comes to a step.
func breakOff(t *testing.T, at string, lost bool) (r *check.Report, err error) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		sim := simcar.New(simcar.Steady(parked(0)), simcar.WithECUs(faulty()))
		ctx, stop := context.WithCancel(t.Context())
		wire, cut := context.WithCancel(t.Context())
		defer stop()
		defer cut()
		start := time.Now()
		p := obd.NewPoller(obd.Config{
			Open: func(ctx context.Context, _ int) (obd.Link, error) {
				if wire.Err() != nil {
					return nil, errors.New("no such port")
				}
				return link.Over(sim.Pipe(wire), "test"), nil
			},
			Bauds: []int{0}, Name: "test", Since: func() time.Duration { return time.Since(start) },
		})
		o := check.Options{Progress: func(doing string) {
			if doing != at {
				return
			}
			if lost {
				cut()
			} else {
				stop()
			}
		}}
		err = p.Inquire(ctx, &keep{}, time.Minute, func(q *obd.Inquiry) (wrong error) {
			r, wrong = check.Run(q, o)
			return wrong
		})
		stop()
		cut()
		synctest.Wait()
	})
	return r, err
}
