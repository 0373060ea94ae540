package steps

import (
	"math"
	"testing"
	"time"

	"github.com/judder-obd/judder/pids"
)

// FuzzWatch: whatever comes, nothing breaks, and every step lies in the drive with its end not before its
// start. Each three bytes are a sample: signal and time since the last one, value high, value low.
func FuzzWatch(f *testing.F) {
	f.Add([]byte{0, 1, 2}, 60.0)
	f.Add([]byte{0x00, 6, 164, 0x01, 0, 80, 0x02, 0, 22, 0x70, 7, 200}, 0.5)
	steady := []byte{}
	for i := range 400 { // a rise of engine speed at steady throttle and road speed, at 15 readings a second
		rpm := 1700
		if i > 250 {
			rpm = 1850
		}
		steady = append(steady, 0x40, byte(rpm>>8), byte(rpm), 0x01, 0, 80, 0x02, 0, 22, 0x03, 0, 6)
	}
	f.Add(steady, 66.0)
	f.Add(steady, 0.2) // thousands of readings a second
	f.Add(steady, 4000.0)
	f.Fuzz(func(t *testing.T, data []byte, scaleMS float64) {
		if math.IsNaN(scaleMS) || scaleMS < 0 || scaleMS > 1e6 || len(data) > 1<<14 {
			return
		}
		signals := []pids.Signal{pids.RPM, pids.VSS, pids.TP, pids.GearAct, pids.APPD, pids.ECT, pids.TPR, tacPct}
		w, at := New(), time.Duration(0)
		w.Arm(ClutchRelease, 0)
		for ; len(data) >= 3; data = data[3:] {
			at += time.Duration(float64(data[0]>>6) * scaleMS * 1e6)
			w.Push(pids.Sample{At: at, Signal: signals[data[0]&7], Value: float64(int(data[1])<<8|int(data[2])) - 40})
		}
		w.Finish()
		for _, s := range w.Found() {
			if s.End < s.Start || s.Start < 0 || s.End > at || s.Kind >= KindCount || s.Fault >= faultCount {
				t.Errorf("%+v in a drive of %v", s, at)
			}
		}
	})
}
