package session

import (
	"slices"

	"github.com/judder-obd/judder/pids"
)

// Course is what the wave is drawn from, of a whole recording: true times, oldest first. It is made
// once and never changed, so that a screen may look at any part of it without a copy.
type Course struct {
	RPM      []Point
	Throttle []Point // throttle or, where it is not read, accelerator pedal
	Speed    []Point
}

// DriverDemand are the signals that can be drawn as throttle, the best first.
var DriverDemand = []pids.Signal{pids.TP, pids.TPR, pids.APPD, pids.APPR}

// courses gathers the points of a course by who sends them.
type courses struct {
	of []source
}

type source struct {
	signal pids.Signal
	ecu    string
	points []Point
}

// take takes readings of the signals that a course has.
func (c *courses) take(samples []pids.Sample) {
	for i := range samples {
		s := &samples[i]
		if s.Signal == pids.RPM || s.Signal == pids.VSS || slices.Contains(DriverDemand, s.Signal) {
			from := c.source(s.Signal, s.ECU)
			from.points = append(from.points, Point{s.At, s.Value})
		}
	}
}

func (c *courses) source(signal pids.Signal, ecu string) *source {
	for i := range c.of {
		if c.of[i].signal == signal && c.of[i].ecu == ecu {
			return &c.of[i]
		}
	}
	c.of = append(c.of, source{signal: signal, ecu: ecu})
	return &c.of[len(c.of)-1]
}

// most are the points of the first of the signals that was read, from whoever sent it most often.
func (c *courses) most(signals ...pids.Signal) (best []Point) {
	for _, signal := range signals {
		for i := range c.of {
			if c.of[i].signal == signal && len(c.of[i].points) > len(best) {
				best = c.of[i].points
			}
		}
		if best != nil {
			break
		}
	}
	return best
}

func (c *courses) course() Course {
	return Course{RPM: c.most(pids.RPM), Throttle: c.most(DriverDemand...), Speed: c.most(pids.VSS)}
}

// CourseOf is the course of a recording's readings.
func CourseOf(samples []pids.Sample) Course {
	var c courses
	c.take(samples)
	return c.course()
}
