package tui

import (
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/session"
)

// coverage is how long a live drive was usable in each band of road speed, added up from frame to
// frame.
type coverage struct {
	last   time.Duration // of the frame before
	usable [len(speedBands)]time.Duration
}

// speedBands are the bands of road speed of the table of coverage, km/h.
var speedBands = [...]struct{ from, to float64 }{{0, 50}, {50, 70}, {70, 90}, {90, 1000}}

// bandOf returns the band of a road speed, -1 when it is not known.
func bandOf(kmh float64) int {
	for i, b := range speedBands {
		if kmh >= b.from && kmh < b.to {
			return i
		}
	}
	return -1
}

func (c *coverage) follow(s *session.Snapshot) {
	const longest = 2 * time.Second // a longer step is a jump, not a frame
	step := s.Now - c.last
	c.last = s.Now
	band := bandOf(s.Detector.SpeedKMH)
	if s.Detector.Reason == detect.Judged && band >= 0 && step > 0 && step < longest {
		c.usable[band] += step
	}
}
