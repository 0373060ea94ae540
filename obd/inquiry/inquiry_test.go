package inquiry

import (
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/obdtest"
)

// What hangs up at once is reported as such.
func TestRun_HangsUp(t *testing.T) {
	b := &obdtest.BadAdapter{Gone: true}
	onBad(t, b, func(t *testing.T, cfg adapter.Config) {
		err := Run(t.Context(), cfg, &obdtest.Journal{}, 5*time.Second, func(*Inquiry) error { return nil })
		if err == nil || !strings.Contains(err.Error(), "hung up") {
			t.Errorf("%v", err)
		}
	})
}

// onBad gives the test an adapter, under simulated time.
func onBad(t *testing.T, b *obdtest.BadAdapter, test func(t *testing.T, cfg adapter.Config)) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		start := time.Now()
		var served sync.WaitGroup
		defer served.Wait()
		test(t, adapter.Config{
			Open: b.Open(&served), Bauds: []int{0}, Name: "test",
			Since: func() time.Duration { return time.Since(start).Truncate(time.Microsecond) },
		})
	})
}

// An adapter that starts again without a word while the car is found, so that replies come
// without their headers, is set up again: no ECU without a name, none forgotten. So is one that lost
// a single reply to a support map.
func TestSetUp_SettingsLostOrOneReply(t *testing.T) {
	for _, fault := range []string{"settings", "reply"} {
		for at := 1; at <= 12; at++ {
			asked, b := 0, &obdtest.BadAdapter{}
			b.Strike = func(command string) []string {
				if command == "ATH1" {
					b.Bare = false
				}
				if strings.HasPrefix(command, "AT") {
					return nil
				}
				if asked++; asked == at && fault == "settings" {
					b.Bare, b.Header, b.Filter = true, "7DF", ""
				}
				return nil
			}
			b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
				second := map[string]string{"0100": "7E906410080000001", "0120": "7E906412000000001", "0140": "7E906414000000000"}[request]
				first := map[string]string{"0100": "7E806410080180001", "0120": "7E806412000018001", "0140": "7E806414040000000"}[request]
				if first == "" {
					first = b.Engine("7E8", request)
				} else if b.Bare {
					first, second = first[5:], second[5:]
				}
				switch {
				case b.Header == "7E0" || second == "":
					return []string{first}, true
				case fault == "reply" && asked == at:
					return []string{second}, true
				}
				return []string{first, second}, true
			}
			inquireBad(t, b, func(q *Inquiry) error {
				if got := strings.Join(q.ECUs(), " "); got != "7E8 7E9" && got != "7E9 7E8" {
					t.Errorf("%s lost at request %d: %q answered", fault, at, got)
				}
				for _, pid := range []byte{0x01, 0x0C, 0x31, 0x42} {
					if !q.Supports("7E8", pid) {
						t.Errorf("%s lost at request %d: %02X is forgotten", fault, at, pid)
					}
				}
				return nil
			})
		}
	}
}
