package drive

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/pids"
)

func control(r rune) bool { return r < ' ' || r >= 0x7F && r < 0xA0 }

// every is the step of a sweep: in short runs each eighth place is tried.
func every(step time.Duration) time.Duration {
	if testing.Short() {
		return 8 * step
	}
	return step
}

// checkSamples holds readings against what any reading must be.
func checkSamples(t *testing.T, samples []pids.Sample) {
	t.Helper()
	for _, s := range samples {
		if strings.ContainsFunc(s.ECU, control) || len(s.ECU) > 8 {
			t.Fatalf("ECU %q", s.ECU)
		}
		if _, _, known := pids.About(s.Signal); !known || math.IsNaN(s.Value) || math.IsInf(s.Value, 0) {
			t.Fatalf("%+v", s)
		}
	}
}
