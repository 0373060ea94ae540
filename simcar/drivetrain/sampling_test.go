package drivetrain

import (
	"math"
	"slices"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat"
)

// tone is a drive whose engine speed is a sine about 1700 rpm and nothing else.
func tone(hz float64) *Drive {
	d := New(Spec{Length: 20 * time.Second})
	d.frames, d.rpm, d.sum = d.frames[:0], nil, nil
	for i := range 1500 {
		var fast []float32
		for k := range fastPerSlow {
			at := float64(i*fastPerSlow+k) * fastDT
			fast = append(fast, float32(1700+100*math.Sin(2*math.Pi*hz*at)))
		}
		d.push(frame{rpm: 1700, running: true}, fast)
	}
	return d
}

// Averaging over one revolution at 1700 rpm keeps 0.95 at 5 Hz, 0.81 at 10, 0.60 at 15,
// 0.36 at 20 Hz; over two 0.81, 0.36, 0.06, 0.22 (arithmetic: |sin πfT / πfT|). ±0.02
// and the bend of a wave drawn in steps of 5 ms.
func TestDrive_MeanRPM(t *testing.T) {
	const tolerance = 0.03
	for _, c := range []struct{ hz, revs, keeps float64 }{
		{5, 1, 0.95}, {10, 1, 0.81}, {15, 1, 0.60}, {20, 1, 0.36},
		{5, 2, 0.81}, {10, 2, 0.36}, {15, 2, 0.06}, {20, 2, 0.22},
	} {
		d := tone(c.hz)
		over := time.Duration(c.revs * 60 / 1700 * float64(time.Second))
		var seen []float64
		for at := time.Second; at < 9*time.Second; at += 1700 * time.Microsecond {
			seen = append(seen, d.MeanRPM(at, over))
		}
		if got := stat.StdDev(seen, nil) * math.Sqrt2 / 100; math.Abs(got-c.keeps) > tolerance {
			t.Errorf("%v Hz over %v turns: keeps %.3f, want %.2f", c.hz, c.revs, got, c.keeps)
		}
	}
}

// A wave sampled too slowly is seen at |f − round(f/fs)·fs|: 10 Hz at 4.2 readings a second
// is seen at 1.6 Hz, 16 Hz at 5 at 1 Hz (arithmetic).
func TestReadings_Alias(t *testing.T) {
	for _, c := range []struct{ hz, rate, seen float64 }{{10, 4.2, 1.6}, {16, 5, 1}} {
		d := tone(c.hz)
		at, rpm := series(d.Readings(Sampling{RPMHz: c.rate}), RPM)
		best, bestHz := 0.0, 0.0
		for hz := 0.2; hz < c.rate/2; hz += 0.05 {
			var re, im float64
			for i, x := range rpm {
				re += (x - 1700) * math.Cos(2*math.Pi*hz*at[i])
				im += (x - 1700) * math.Sin(2*math.Pi*hz*at[i])
			}
			if p := math.Hypot(re, im); p > best {
				best, bestHz = p, hz
			}
		}
		if math.Abs(bestHz-c.seen) > 0.06 {
			t.Errorf("%v Hz at %v readings a second: seen at %.2f Hz, want %v", c.hz, c.rate, bestHz, c.seen)
		}
	}
}

func TestReadings_Refresh(t *testing.T) {
	d := New(Spec{Seed: 1, Script: Highway, Length: 2 * time.Minute})
	_, rpm := series(d.Readings(Sampling{RPMHz: 20, Refresh: 100 * time.Millisecond}), RPM)
	repeats := 0
	for i := 1; i < len(rpm); i++ {
		if rpm[i] == rpm[i-1] {
			repeats++
		}
	}
	if share := float64(repeats) / float64(len(rpm)); share < 0.45 || share > 0.65 {
		t.Errorf("%.2f of the readings repeat the one before, want about half", share)
	}
}

func TestReadings_UnevenOnPurpose(t *testing.T) {
	d := New(Spec{Seed: 1, Script: Highway, Length: 10 * time.Minute})
	at, _ := series(d.Readings(Sampling{RPMHz: 5, UnevenPct: 40}), RPM)
	var steps []float64
	for i := 1; i < len(at); i++ {
		steps = append(steps, at[i]-at[i-1])
	}
	slices.Sort(steps)
	if steps[0] < 0.119 || steps[0] > 0.125 || steps[len(steps)-1] > 0.281 || steps[len(steps)-1] < 0.275 {
		t.Errorf("intervals from %.3f to %.3f s, want 0.12 to 0.28", steps[0], steps[len(steps)-1])
	}
	if mean := stat.Mean(steps, nil); math.Abs(mean-0.2) > 0.005 {
		t.Errorf("mean interval %.3f s", mean)
	}
}

func TestReadings_LossesAndFalseZeros(t *testing.T) {
	d := New(Spec{Seed: 6, Script: Highway, Length: time.Hour})
	at, rpm := series(d.Readings(Sampling{DropShare: 0.02, GapsPerHour: 12, ZerosPerH: 30}), RPM)
	gaps, zeros := 0, 0
	for i := 1; i < len(at); i++ {
		if step := at[i] - at[i-1]; step > 0.95 {
			gaps++
			if step > 3.4 {
				t.Errorf("gap of %.1f s, want 1 to 3", step)
			}
		}
		if rpm[i] == 0 {
			zeros++
			if s := d.At(time.Duration(at[i] * float64(time.Second))); s.RPM < 500 {
				t.Errorf("zero at %.1f s is a true one", at[i])
			}
		}
	}
	if gaps < 4 || gaps > 24 {
		t.Errorf("%d gaps in an hour, want about 12", gaps)
	}
	if zeros < 15 || zeros > 50 {
		t.Errorf("%d false zeros in an hour, want about 30", zeros)
	}
	if lost := 1 - float64(len(at))/36000; lost < 0.015 || lost > 0.04 {
		t.Errorf("%.3f of the readings lost", lost)
	}
}

// An engine ECU asleep answers 0xFFFF: 16383.75 rpm in steps of 0.25 (SAE J1979).
func TestReadings_Asleep(t *testing.T) {
	d := New(Spec{Seed: 1, Script: ColdStart, Length: time.Minute})
	_, rpm := series(d.Readings(Sampling{Asleep: true}), RPM)
	if rpm[0] != 0xFFFF*0.25 {
		t.Errorf("first reading %v", rpm[0])
	}
	if last := rpm[len(rpm)-1]; last == rpm[0] || last < 500 {
		t.Errorf("last reading %v", last)
	}
}

func TestDrive_ReportUnknownSignal(t *testing.T) {
	d := New(Spec{})
	if v, ok := d.Report(time.Second, "WARP", Sampling{}); ok || v != 0 {
		t.Errorf("got %v, %v", v, ok)
	}
	for signal := range reported {
		if _, ok := d.Report(time.Second, signal, Sampling{}); !ok {
			t.Errorf("%s is not reported", signal)
		}
	}
}
