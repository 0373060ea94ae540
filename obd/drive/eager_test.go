package drive

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/obdtest"
)

// rideEager is a drive on an adapter, at a serial speed or on a network (0).
func rideEager(t *testing.T, length time.Duration, baud int, e *obdtest.Eager) (*obdtest.Journal, error) {
	t.Helper()
	j := &obdtest.Journal{}
	var err error
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithTimeout(t.Context(), length)
		defer cancel()
		start := time.Now()
		var served sync.WaitGroup
		err = New(adapter.Config{
			Open: e.Open(&served), Bauds: []int{baud}, Name: "test",
			Since: func() time.Duration { return time.Since(start).Truncate(time.Microsecond) },
		}).Run(ctx, j)
		served.Wait()
	})
	return j, err
}

// A prompt that was heard does not show that the adapter is free. Whatever such an adapter swallows,
// what is left of a request is none that the gate refuses. Where more is swallowed than the spaces
// that lead in, that happens once: the fault is known then.
func TestDrive_EagerAdapter(t *testing.T) {
	const lead, short = 12, 3
	for _, e := range obdtest.Eagers(lead + 2) {
		for baud, guarded := range map[int]int{0: lead, 38400: short} {
			t.Run(fmt.Sprintf("%s, %d baud", e, baud), func(t *testing.T) {
				e := *e
				j, err := rideEager(t, 5*time.Second, baud, &e)
				most := 0
				if e.Spaces && e.Loses > guarded {
					most = 1
				}
				bad := e.Forbidden()
				if len(bad) > most || slices.ContainsFunc(bad, func(r string) bool { return strings.HasPrefix(r, "04") }) {
					t.Errorf("asked of the car: %q", bad)
				}
				if err != nil && !errors.Is(err, adapter.ErrLoses) {
					t.Error(err)
				}
				if e.Stopped == 0 && (len(j.Samples) < 300 || err != nil) {
					t.Errorf("%d readings without a fault, %v", len(j.Samples), err)
				}
				if e.Spaces && e.Loses <= guarded && len(j.Samples) < 50 {
					t.Errorf("%d readings", len(j.Samples))
				}
			})
		}
	}
}

// A fault that was found costs one exchange a request for a while, not the drive.
func TestDrive_EagerOnce(t *testing.T) {
	for _, spaces := range []bool{true, false} {
		e := &obdtest.Eager{Loses: 1, Spaces: spaces, Slips: func(nth int) obdtest.Slip {
			return map[bool]obdtest.Slip{true: obdtest.Early}[nth == 40]
		}}
		j, err := rideEager(t, 10*time.Second, 0, e)
		shown := 0
		for i := range len(j.Exchanges) - 1 {
			if j.Exchanges[i].Request == "ATL0" && !strings.HasPrefix(j.Exchanges[i+1].Request, "AT") {
				shown++
			}
		}
		if err != nil || e.Stopped != 1 || len(e.Forbidden()) > 0 || len(j.Samples) < 600 || spaces && (shown < 25 || shown > 35) {
			t.Errorf("ignores spaces %v: stopped %d times, shown free %d times, %d readings, %v", spaces, e.Stopped, shown, len(j.Samples), err)
		}
	}
}

// An adapter that always loses the first character has no way to be asked.
func TestDrive_AlwaysLoses(t *testing.T) {
	b := &obdtest.BadAdapter{Car: func(*obdtest.BadAdapter, string) ([]string, bool) { return []string{"NO DATA"}, true }}
	b.RawStrike = func(line string) []string {
		if line = line[min(1, len(line)):]; strings.Trim(line, "0123456789ABCDEF") == "" && len(line) > 1 {
			t.Errorf("asked of the car: %s", line)
		}
		return []string{"?"}
	}
	onBad(t, b, func(t *testing.T, d *Drive) {
		j := &obdtest.Journal{}
		if err := d.Run(t.Context(), j); !errors.Is(err, adapter.ErrLoses) || !j.Reported(obd.CauseLoses) {
			t.Errorf("%v; %q", err, j.Causes(0))
		}
	})
}
