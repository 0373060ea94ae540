package detect

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/judder-obd/judder/pids"
)

// limits is the standard table with the limits that tests at them are written for: they try what a limit
// does, whatever it is tuned to.
var limits = func() Tuning {
	th := standard
	th.Near, th.Gap, th.Settle, th.SpeedMove, th.SpeedOver, th.Closed, th.DemandMove, th.DemandOver, th.RatioMove, th.Cut = 0.07, 1, 5, 3, 2, 2.3, 3.5, 1.5, 0.14, 0.5
	th.FloorLooks, th.FloorLoad, th.Join, th.NoneSeconds, th.NonePasses, th.NoneRPM, th.Places = 10, 6, 2.5, 30, 3, 100, 15
	return th
}()

// cruise makes a drive of formula: idle, then 60 km/h at a steady pedal with independent
// scatter of 4 rpm (real cars: 2 to 6), and add's rpm on top.
func cruise(seconds, rate float64, add func(t float64) float64) []pids.Sample {
	r := rand.New(rand.NewPCG(1, 2))
	var out []pids.Sample
	put := func(t float64, s pids.Signal, v float64) {
		out = append(out, pids.Sample{At: time.Duration(t * 1e9), ECU: "7E8", Signal: s, Value: v})
	}
	for i := 0; float64(i)/rate < seconds; i++ {
		t := float64(i) / rate
		speed, tp, rpm := 0.0, 14.0, 800.0
		if t > 10 {
			speed, tp, rpm = 60, 20, 1700
		}
		put(t, pids.RPM, math.Round(4*(rpm+4*r.NormFloat64()+add(t)))/4)
		if i%3 == 0 {
			put(t+0.001, pids.VSS, speed)
			put(t+0.002, pids.TP, tp)
		}
	}
	return out
}

func burst(from, to, hz, peakToPeak float64) func(float64) float64 {
	return func(t float64) float64 {
		if t < from || t > to {
			return 0
		}
		return peakToPeak / 2 * math.Sin(2*math.Pi*hz*(t-from))
	}
}

func TestBurstIsFound(t *testing.T) {
	for _, rate := range []float64{5, 10, 20} {
		d := run(cruise(60, rate, burst(40, 45, 1.9, 100)))
		ev := d.Events()
		if len(ev) != 1 {
			t.Fatalf("rate %v: events %+v", rate, ev)
		}
		t.Logf("rate %v: %+v", rate, ev[0])
		if s := ev[0].Start.Seconds(); math.Abs(s-40) > 0.5 {
			t.Errorf("rate %v: starts at %v, true start 40", rate, s)
		}
	}
}

func TestQuietCruiseRaisesNoAlarm(t *testing.T) {
	d := run(cruise(120, 10, func(float64) float64 { return 0 }))
	if len(d.Events()) != 0 {
		t.Errorf("events %+v", d.Events())
	}
	t.Logf("%+v", d.Verdict())
}

func TestSpansAddUp(t *testing.T) {
	d := run(cruise(60, 10, burst(40, 45, 1.9, 100)))
	end := time.Duration(0)
	for _, s := range d.Spans() {
		if s.Start != end {
			t.Errorf("span starts at %v, the one before ended at %v", s.Start, end)
		}
		end = s.End
	}
	if end != d.at {
		t.Errorf("spans end at %v, the drive at %v", end, d.at)
	}
	if sum := d.books.slowSeconds + d.books.otherSeconds; math.Abs(sum-end.Seconds()) > 2*lookEvery {
		t.Errorf("looks cover %v s of %v", sum, end)
	}
}

// BenchmarkDetectPush is one sample of an endless drive through one detector.
func BenchmarkDetectPush(b *testing.B) {
	const lap = 600 * time.Second
	drive := cruise(lap.Seconds(), 25, burst(40, 45, 1.9, 100))
	d, i, laps := New(), 0, time.Duration(0)
	b.ReportAllocs()
	for b.Loop() {
		if i == len(drive) {
			i, laps = 0, laps+lap
		}
		s := drive[i]
		s.At += laps
		d.Push(s)
		i++
	}
}
