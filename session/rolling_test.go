package session

import (
	"testing"
	"time"

	"judder/detect"
	"judder/pids"
	"judder/session/recording"
)

// An engine that was not seen to run stands still in a parked car or in one that rolls: road speed
// says which. VSS is told in whole km/h (SAE J1979, PID 0D); up to 3 km/h is a standstill, as for
// every other stop.
func TestStops_RollingSinceTheBeginning(t *testing.T) {
	for name, c := range map[string]struct {
		speed func(second float64) float64
		runs  float64 // second from which the engine runs
		want  detect.StopKind
	}{
		"rolls out":       {func(s float64) float64 { return max(38-3*s, 0) }, 99, detect.StopRolling},
		"rolls, starts":   {func(s float64) float64 { return 40 }, 12, detect.StopRolling},
		"parked":          {func(float64) float64 { return 0 }, 99, detect.StopOff},
		"driven off then": {func(s float64) float64 { return max(5*(s-14), 0) }, 10, detect.StopOff},
	} {
		a, b := NewAnalysis(nil), board{}
		for i := range 300 {
			second := float64(i) / 10
			rpm := 0.0
			if second >= c.runs {
				rpm = 1500
			}
			for _, x := range []pids.Sample{{Signal: pids.VSS, Value: c.speed(second)}, {Signal: pids.RPM, Value: rpm}} {
				x.At = time.Duration(i) * 100 * time.Millisecond
				e := recording.OfReading(x)
				b.take(a, &e)
			}
		}
		var s Snapshot
		s.Now = a.end
		fill(&s, a, &b)
		a.Finish()
		for when, stops := range map[string][]detect.Stop{"live": s.Stops, "at the end": a.Result().Stops} {
			if len(stops) != 1 || stops[0].Kind != c.want || !stops[0].FromStart {
				t.Errorf("%s, %s: %+v, want %v", name, when, stops, c.want)
			}
		}
		want := "engine off since the beginning"
		if c.want == detect.StopRolling {
			want += ", car rolling"
		}
		if got := StopWords(a.Result().Stops[0]); got != want {
			t.Errorf("%s: %q", name, got)
		}
	}
	if got := StopWords(detect.Stop{Kind: detect.StopRolling}); got != "engine stop (rolling)" {
		t.Errorf("%q", got)
	}
}
