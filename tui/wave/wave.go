// Package wave draws the picture that shudder is seen in: engine speed about its own slow trend,
// against time, with the alarm level through it. It is pure: readings in, text out, as dots for a
// terminal or as SVG. Every reading is drawn at its true time; nothing is interpolated but the line
// between two readings, and that only where a cycle has readings enough to show its form.
package wave

import (
	"math"
	"slices"
	"time"
)

// Reading is one value at one time of the drive.
type Reading struct {
	At    time.Duration
	Value float64 // not a number where the link was lost
}

// Cut is the piece of a drive that a picture shows.
type Cut struct {
	From, To time.Duration
	RPM      []Reading // engine speed in order of time; what lies around the piece makes its trend truer
	Throttle []Reading // %
	Speed    []Reading // road speed, km/h
	AlarmRPM float64   // peak to peak; none is drawn unless it is above zero
	Hz       float64   // of the swing; 0 where it is not known

	// The event that the value axis has to fit; zero where it fits all that is drawn.
	Start, End time.Duration
}

// Point is one reading of engine speed about its trend.
type Point struct {
	At    time.Duration
	RPM   float64
	First bool // nothing joins it to the point before
}

// Step is a sudden change of engine speed: a clutch released, a gear changed.
type Step struct {
	At  time.Duration
	RPM float64
}

// Trace is what is drawn of a cut. Its memory is reused from one cut to the next.
type Trace struct {
	Points   []Point
	Steps    []Step
	PerCycle float64 // readings in a cycle of the swing; 0 where there are no readings
	Reach    float64 // rpm, the farthest from the trend that the axis has to hold

	sums  sums
	times []time.Duration
}

// perCycleLeast is how many readings a cycle must have for a line: with fewer, straight lines
// between readings make a form that is not there. usualHz is the frequency that is taken where none
// is known: the middle of the slow swings that this socket shows. Common practice, no source.
const (
	perCycleLeast = 8
	usualHz       = 2
)

// TooFew is what a picture says where it has single points and no line.
const TooFew = "too few readings to draw the wave"

// Line reports whether the readings are enough for a line.
func (t *Trace) Line() bool { return t.PerCycle >= perCycleLeast }

// Follow makes the trace of a cut.
func (t *Trace) Follow(c *Cut) {
	t.Points, t.Steps, t.PerCycle, t.Reach = t.Points[:0], t.Steps[:0], 0, 0
	usual := t.usualInterval(c)
	if usual <= 0 {
		return
	}
	hz := c.Hz
	if !(hz > 0) {
		hz = usualHz
	}
	t.PerCycle = 1 / (usual.Seconds() * hz)
	gap := max(3*usual, 600*time.Millisecond)
	for from := 0; from < len(c.RPM); {
		to := from + 1
		for to < len(c.RPM) && usable(c.RPM[to].Value) && c.RPM[to].At-c.RPM[to-1].At <= gap {
			to++
		}
		if usable(c.RPM[from].Value) {
			t.segment(c, c.RPM[from:to])
		}
		from = to
	}
	t.Reach = t.reach(c)
}

func usable(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// usualInterval is the median time between readings in view that bring something new: a car that
// repeats its value is read more often than it is measured.
func (t *Trace) usualInterval(c *Cut) time.Duration {
	t.times = t.times[:0]
	var last, fresh *Reading
	news := 0
	for i := range c.RPM {
		r := &c.RPM[i]
		if r.At < c.From || r.At > c.To || !usable(r.Value) {
			continue
		}
		if last != nil {
			t.times = append(t.times, r.At-last.At)
		}
		if fresh == nil || fresh.Value != r.Value {
			fresh = r
			news++
		}
		last = r
	}
	if len(t.times) < 2 {
		return 0
	}
	slices.Sort(t.times)
	usual := t.times[len(t.times)/2]
	const clearly = 0.6
	if share := float64(news) / float64(len(t.times)+1); share < clearly && news > 1 {
		usual = time.Duration(float64(usual) / share)
	}
	return usual
}

// reach is the farthest from the trend that the axis has to hold: within the event, and away from
// steps, which are marked and not measured.
func (t *Trace) reach(c *Cut) (far float64) {
	from, to := c.From, c.To
	if c.End > c.Start {
		const around = 300 * time.Millisecond
		from, to = max(from, c.Start-around), min(to, c.End+around)
	}
	for _, p := range t.Points {
		if p.At >= from && p.At <= to && !t.besideStep(p.At) {
			far = max(far, math.Abs(p.RPM))
		}
	}
	return far
}

func (t *Trace) besideStep(at time.Duration) bool {
	const beside = 600 * time.Millisecond
	for _, s := range t.Steps {
		if d := at - s.At; d > -beside && d < beside {
			return true
		}
	}
	return false
}
