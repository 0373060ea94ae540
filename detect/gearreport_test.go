package detect

import (
	"math"
	"slices"
	"testing"
	"time"

	"github.com/judder-obd/judder/pids"
)

// Engine speed that steps by 20 % in cruise is gear hunting where the car reports other gears, or none;
// where it reports one gear throughout it is the converter clutch.
func TestGearHunting_OnlyWhereTheGearChanged(t *testing.T) {
	high := func(t float64) bool { return t >= 40 && math.Mod(t, 6) >= 3 }
	base := cruise(120, 10, func(t float64) float64 {
		if high(t) {
			return 350
		}
		return 0
	})
	for name, c := range map[string]struct {
		gear func(t float64) float64
		want ObservationKind
	}{
		"not reported": {nil, GearHunting},
		"shifts":       {func(t float64) float64 { return map[bool]float64{true: 5, false: 6}[high(t)] }, GearHunting},
		"one gear":     {func(float64) float64 { return 4 }, LockUpCycling},
		"no gears (0)": {func(float64) float64 { return 0 }, GearHunting},
		"not a number": {func(float64) float64 { return math.NaN() }, GearHunting},
	} {
		samples := slices.Clone(base)
		if c.gear != nil {
			for s := range 120 {
				samples = append(samples, pids.Sample{At: time.Duration(s)*time.Second + 50*time.Millisecond, ECU: samples[0].ECU, Signal: pids.GearAct, Value: c.gear(float64(s) + 0.05)})
			}
			slices.SortStableFunc(samples, func(a, b pids.Sample) int { return int(a.At - b.At) })
		}
		ob := run(samples).Observations()
		if len(ob) == 0 || slices.ContainsFunc(ob, func(o Observation) bool { return o.Kind != c.want }) {
			t.Errorf("%s: %+v, want %s", name, ob, c.want)
		}
	}
}

func TestGearReport(t *testing.T) {
	var g gearReport
	if g.held(0, 1) {
		t.Error("nothing was reported")
	}
	for s := range 20 {
		g.take(float64(s), 4)
	}
	for _, c := range []struct {
		from, to float64
		want     bool
	}{{5, 19, true}, {0, 22, true}, {-0.125, 19, false}, {5, 22.125, false}} {
		if got := g.held(c.from, c.to); got != c.want {
			t.Errorf("from %v to %v: %v", c.from, c.to, got)
		}
	}
	g.take(20, 5)
	if g.held(15, 20) || !g.held(20, 21) {
		t.Error("it changed at 20 s")
	}
	g.take(23, 5)
	if !g.held(20, 23) {
		t.Error("it was reported again after three seconds")
	}
	g.take(26.125, 5)
	if g.held(23, 26.125) || !g.held(26.125, 27) {
		t.Error("it was not reported for more than three seconds")
	}
	for _, c := range []struct{ reported, want float64 }{{1, 1}, {0.4, 1}, {-3, 1}, {5.6, 6}} { // neutral and reverse are no gear
		if g.take(30, c.reported); g.gear != c.want {
			t.Errorf("%v reported: gear %v, want %v", c.reported, g.gear, c.want)
		}
	}
}
