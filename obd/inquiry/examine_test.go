package inquiry

import (
	"context"
	"errors"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/link"
	"github.com/judder-obd/judder/obd/obdtest"
	"github.com/judder-obd/judder/simcar"
)

// inquireCar runs ask against a simulated car under simulated time.
func inquireCar(t *testing.T, car simcar.CarFunc, ask func(*Inquiry) error, opts ...simcar.Option) (sim *simcar.Sim, err error) {
	t.Helper()
	_, sim, err = inquireFor(t, car, time.Minute, ask, opts...)
	return sim, err
}

// inquireSim is inquireCar with a car whose values move.
func inquireSim(t *testing.T, wait time.Duration, ask func(*Inquiry) error, opts ...simcar.Option) (j *obdtest.Journal, err error) {
	t.Helper()
	j, _, err = inquireFor(t, obdtest.Moving, wait, ask, opts...)
	return j, err
}

func inquireFor(t *testing.T, car simcar.CarFunc, wait time.Duration, ask func(*Inquiry) error, opts ...simcar.Option) (j *obdtest.Journal, sim *simcar.Sim, err error) {
	t.Helper()
	j = &obdtest.Journal{}
	synctest.Test(t, func(t *testing.T) {
		sim = simcar.New(car, opts...)
		start := time.Now()
		cfg := adapter.Config{
			Open:  func(ctx context.Context, _ int) (elm.Link, error) { return link.Over(sim.Pipe(ctx), "test"), nil },
			Bauds: []int{0}, Name: "test",
			Since: func() time.Duration { return time.Since(start).Truncate(time.Microsecond) },
		}
		err = Run(t.Context(), cfg, j, wait, ask)
		synctest.Wait()
	})
	return j, sim, err
}

// Each adapter of the simulated car's table is found out: what it says OK to and does not do
// is not believed, and after all the trying the car is still read.
func TestInquiry_Examine(t *testing.T) {
	type want map[string]Proven
	for name, w := range map[string]want{
		"genuine": {"headers": Works, "adaptive timing": Works, "reply count digit": Works, "several parameters a request": Works,
			"request of seven bytes": Works, "asking one control unit": Works, "receive filter": Works, "long replies": Works, "flow control settings": Works},
		"older":         {"receive filter": Refuses, "reply count digit": Works},
		"v1.5":          {"adaptive timing": Pretends, "reply count digit": Works, "receive filter": Works},
		"v2.1":          {"reply count digit": Fails, "receive filter": Pretends, "flow control settings": Pretends, "request of seven bytes": Fails},
		"ignores-digit": {"reply count digit": Pretends, "adaptive timing": Pretends, "headers": Works},
		"no-headers":    {"headers": Refuses, "asking one control unit": Untried, "receive filter": Untried},
		"talkative":     {"spaces off": Pretends, "headers": Works, "reply count digit": Works},
		"bare-prompt":   {"headers": Works, "long replies": Works},
		"small-buffer":  {"several parameters a request": Fails, "request of seven bytes": Untried, "long replies": Fails},
	} {
		adapter, ok := simcar.ProfileNamed(name)
		if !ok {
			t.Fatal(name)
		}
		var x Examination
		_, err := inquireSim(t, 30*time.Second, func(q *Inquiry) (err error) {
			x, err = q.Examine()
			return err
		}, simcar.WithProfile(adapter))
		if err != nil {
			t.Errorf("%s: %v", name, err)
		}
		got := want{}
		for _, a := range x.Abilities {
			got[string(a.Name)] = a.Proven
		}
		for ability, proven := range w {
			if got[ability] != proven {
				t.Errorf("%s, %s: %v, want %v", name, ability, got[ability], proven)
			}
		}
		if len(x.Abilities) != len(abilities) || x.PerSecond < 3 || x.Exchange <= 0 {
			t.Errorf("%s: %d abilities, %.1f readings a second, %v an exchange", name, len(x.Abilities), x.PerSecond, x.Exchange)
		}
		t.Logf("%s: %.1f readings a second, %v", name, x.PerSecond, x.Exchange)
	}
}

// A car that stays silent ends an inquiry in the time allowed, with what to do.
func TestInquire_SilentCar(t *testing.T) {
	asked := false
	_, err := inquireSim(t, 10*time.Second, func(*Inquiry) error { asked = true; return nil },
		simcar.WithFaults(simcar.Fault{Kind: simcar.IgnitionOff, For: time.Hour}))
	if !errors.Is(err, ErrNoCar) || asked {
		t.Errorf("%v, asked %v", err, asked)
	}
}

// A car that renews engine speed less often than it is asked is found out; one whose engine
// stands shows nothing of it.
func TestExamine_Renewal(t *testing.T) {
	for _, c := range []struct {
		name     string
		every    time.Duration // between two values
		stands   bool
		from, to float64
	}{{"at every request", time.Millisecond, false, 60, 120}, {"ten times a second", 100 * time.Millisecond, false, 9, 11}, {"engine stands", time.Millisecond, true, 0, 0}} {
		car := simcar.CarFunc(func(at time.Duration) simcar.Condition {
			w := simcar.WarmIdle()
			if w.RPM = 800 + float64(at/c.every%97); c.stands {
				w.RPM = 0
			}
			return w
		})
		var x Examination
		if _, _, err := inquireFor(t, car, 30*time.Second, func(q *Inquiry) (err error) {
			x, err = q.Examine()
			return err
		}); err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
		if x.Renewed < c.from || x.Renewed > c.to || x.PerSecond < 60 {
			t.Errorf("%s: %.1f new of %.1f readings a second, want %v to %v", c.name, x.Renewed, x.PerSecond, c.from, c.to)
		}
	}
}

// With one ECU, only silence at another's address proves that one can
// be asked alone.
func TestExamine_AddressWithoutEffect(t *testing.T) {
	for _, obeys := range []bool{true, false} {
		b := &obdtest.BadAdapter{}
		b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
			if obeys && b.Header != "7DF" && b.Header != "7E0" {
				return []string{"NO DATA"}, true
			}
			return []string{b.Engine("7E8", request)}, true
		}
		inquireBad(t, b, func(q *Inquiry) error {
			x, err := q.Examine()
			for _, a := range x.Abilities {
				if want := map[bool]Proven{true: Works, false: Pretends}[obeys]; a.Name == "asking one control unit" && a.Proven != want {
					t.Errorf("obeys %v: %v", obeys, a)
				}
			}
			return err
		})
	}
}
