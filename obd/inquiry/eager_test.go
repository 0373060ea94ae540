package inquiry

import (
	"errors"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/obdtest"
)

// What a code check asks: of 0904 would be left 04, which clears codes (SAE J1979).
var checked = []string{"0900", "0902", "0904", "0906", "090A", "03", "07", "0A", "0101", "020200", "020400", "0600", "0604", "19020D", "22F190"}

// Whatever an adapter swallows that is not free at its prompt, nothing that a check asks becomes a
// request that the gate refuses. Where more is swallowed than the spaces that lead in, that happens
// once, and never to what would clear.
func TestInquiry_EagerAdapter(t *testing.T) {
	const lead = 12
	for _, e := range obdtest.Eagers(lead + 4) {
		synctest.Test(t, func(t *testing.T) {
			start := time.Now()
			var served sync.WaitGroup
			asked := 0
			err := Run(t.Context(), adapter.Config{
				Open: e.Open(&served), Bauds: []int{38400}, Name: "test",
				Since: func() time.Duration { return time.Since(start).Truncate(time.Microsecond) },
			}, &obdtest.Journal{}, time.Minute, func(q *Inquiry) error {
				for _, request := range checked {
					if _, err := q.AskAll(request); err != nil {
						return err
					}
					asked++
				}
				return nil
			})
			served.Wait()
			bad, most := e.Forbidden(), 0
			if e.Spaces && e.Loses > lead {
				most = 1
			}
			if len(bad) > most {
				t.Errorf("%s: asked of the car: %q", e, bad)
			}
			if e.Stopped == 0 && (err != nil || asked < len(checked)) {
				t.Errorf("%s: %v, %d asked", e, err, asked)
			}
			if deaf := e.Mute && !e.Spaces && e.Loses <= 3; deaf && (!errors.Is(err, adapter.ErrLoses) || e.Stopped > 4) {
				t.Errorf("%s: %v after it lost characters %d times", e, err, e.Stopped)
			}
		})
	}
}
