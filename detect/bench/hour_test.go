package bench

import (
	"testing"
	"time"

	"github.com/judder-obd/judder/detect"
)

// BenchmarkHour is the detector's share of a review: an hour of the simulated car, read 60 times a
// second, of which a quarter each is healthy, shaking, city and rough.
func BenchmarkHour(b *testing.B) {
	var drives []*Drive
	for _, name := range []string{"highway", "shudders", "city", "misfire"} {
		for _, s := range Scenes(WorldCar, 3000, 1, []string{name}) {
			drives = append(drives, s.lay().Read(Asking{Name: "60", Rate: 60}))
			break
		}
	}
	hours := 0.0
	for _, d := range drives {
		hours += d.Length / 3600
	}
	b.ReportAllocs()
	for b.Loop() {
		for _, d := range drives {
			det := detect.New()
			for _, s := range d.Samples {
				det.Push(s)
			}
			det.Finish(time.Duration(d.Length * 1e9))
		}
	}
	b.ReportMetric(b.Elapsed().Seconds()/float64(b.N)/hours, "s/hour")
}
