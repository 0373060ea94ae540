package session

import (
	"math"
	"slices"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/session/complaint"
)

// A pass is a steady stretch of so long in which shudder would have shown. A hole in it of up to
// passHole, where throttle or speed moved a little, does not end it (chosen).
const (
	PassLeast = 8 * time.Second
	passHole  = 2 * time.Second
)

// Pass is one steady stretch, wholly inside the operating conditions of the complaint or wholly
// outside. Means are over its judged time, and NaN where the signal was not read.
type Pass struct {
	Start, End  time.Duration
	Judged      time.Duration // without the holes in it
	SpeedKMH    float64
	LoadPct     float64
	ThrottlePct float64
	CoolantC    float64
	EngineRPM   float64 // as it mostly was; see engineSpeeds. 0 until the drive is over
	Gear        int     // that was reported longest; 0 where none was
	InComplaint bool    // false where there is no complaint
	Shudder     bool    // shudder was seen in it
}

// Point is how the car was driven in a pass, on average.
func (p *Pass) Point() complaint.Point {
	return complaint.Point{SpeedKMH: p.SpeedKMH, LoadPct: p.LoadPct, ThrottlePct: p.ThrottlePct, CoolantC: p.CoolantC, Gear: p.Gear}
}

// Has reports whether a shudder is in the pass, whole or in part.
func (p *Pass) Has(e *detect.Event) bool { return e.Start <= p.End && e.End >= p.Start }

// passBook makes passes of judged time. The moments are kept, so that another complaint can be put to
// the same drive.
type passBook struct {
	now     complaint.Point
	engine  readings // engine speed since the latest moment
	demand  int      // index in DriverDemand of the signal in use
	seen    time.Duration
	span    int // index of the span that was open
	moments []kept

	box    complaint.Box
	inBox  time.Duration // judged in the box; all that was judged where there is none
	passes []Pass        // long enough, and over
	run    stretch       // may become a pass, or is one that is not over
	other  stretch       // on the other side of the box, too short yet to end run
	cover  Coverage
}

func newPassBook() passBook {
	nan := math.NaN()
	return passBook{now: complaint.Point{SpeedKMH: nan, LoadPct: nan, ThrottlePct: nan, CoolantC: nan}, demand: len(DriverDemand), cover: newCoverage()}
}

// push takes a reading.
func (b *passBook) push(s *pids.Sample) {
	switch s.Signal {
	case pids.RPM:
		b.engine.add(s.Value)
	case pids.VSS:
		b.now.SpeedKMH = s.Value
	case pids.LoadPct:
		b.now.LoadPct = s.Value
	case pids.ECT:
		b.now.CoolantC = s.Value
	case pids.GearAct:
		b.now.Gear = int(s.Value)
	default:
		if i := slices.Index(DriverDemand, s.Signal); i >= 0 && i <= b.demand {
			b.now.ThrottlePct, b.demand = s.Value, i
		}
	}
}

// follow takes the judged time that was added to the spans of the drive; swing is the latest.
func (b *passBook) follow(spans []detect.Span, swing func() float64) {
	for ; b.span < len(spans); b.span++ {
		s := &spans[b.span]
		if s.End > b.seen {
			if s.Reason == detect.Judged {
				b.take(moment{max(s.Start, b.seen), s.End, b.now, swing(), b.engine.value()})
			}
			b.seen, b.engine = s.End, readings{}
		}
		if b.span == len(spans)-1 {
			return // it may still grow
		}
	}
}

// setBox puts another complaint to the drive.
func (b *passBook) setBox(box complaint.Box) {
	b.box, b.inBox, b.passes, b.cover = box, 0, nil, newCoverage()
	b.run, b.other = stretch{}, stretch{}
	for i := range b.moments {
		b.add(b.moments[i].moment())
	}
}

// take keeps a moment and adds it, as it was kept: another complaint finds the same.
func (b *passBook) take(m moment) {
	for end := m.end; m.start < end; m.start = m.end {
		m.end = min(m.start+longestKept, end)
		k := m.keep()
		b.moments = append(b.moments, k)
		b.add(k.moment())
	}
}

func (b *passBook) add(m moment) {
	in := !b.box.IsZero() && b.box.Contains(m.Point)
	if in || b.box.IsZero() {
		b.inBox += m.end - m.start
	}
	b.cover.add(&m)
	if m.start-max(b.run.end, b.other.end) > passHole {
		b.close()
	}
	switch {
	case b.run.judged == 0:
		b.run = stretch{start: m.start, in: in}
		b.run.add(&m)
	case in == b.run.in:
		b.run.add(&m)
		b.other = stretch{}
	default:
		if b.other.judged == 0 {
			b.other = stretch{start: m.start, in: in}
		}
		b.other.add(&m)
		if b.other.end-b.run.end > passHole {
			next := b.other
			b.other = stretch{}
			b.close()
			b.run = next
		}
	}
}

// close ends what is open.
func (b *passBook) close() {
	if b.run.judged >= PassLeast {
		b.passes = append(b.passes, b.run.pass())
	}
	b.run, b.other = stretch{}, stretch{}
}

// all copies the passes to dst, the one that is not over last.
func (b *passBook) all(dst []Pass, events []detect.Event) []Pass {
	dst = append(dst[:0], b.passes...)
	if b.run.judged >= PassLeast {
		dst = append(dst, b.run.pass())
	}
	for i := range dst {
		p := &dst[i]
		p.Shudder = slices.ContainsFunc(events, func(e detect.Event) bool { return p.Has(&e) })
	}
	return dst
}

// whole lists the passes of a drive that is over, with their engine speed.
func (b *passBook) whole(events []detect.Event) []Pass {
	passes := b.all(nil, events)
	engineSpeeds(passes, b.moments, events)
	return passes
}

// readings adds up readings.
type readings struct {
	sum float64
	n   int
}

func (m *readings) add(v float64) {
	if !math.IsNaN(v) && !math.IsInf(v, 0) {
		m.sum, m.n = m.sum+v, m.n+1
	}
}

// value is NaN where there was no reading.
func (m *readings) value() float64 { return m.sum / float64(m.n) }

// stretch is a pass that grows.
type stretch struct {
	start, end time.Duration
	judged     time.Duration
	in         bool
	sums       [4]float64 // speed, load, throttle, coolant, each over time
	known      [4]float64 // s
	gears      [16]time.Duration
}

func (s *stretch) add(m *moment) {
	d := m.end - m.start
	s.end = m.end
	s.judged += d
	for i, v := range [...]float64{m.SpeedKMH, m.LoadPct, m.ThrottlePct, m.CoolantC} {
		if !math.IsNaN(v) {
			s.sums[i] += v * d.Seconds()
			s.known[i] += d.Seconds()
		}
	}
	if m.Gear > 0 && m.Gear < len(s.gears) {
		s.gears[m.Gear] += d
	}
}

func (s *stretch) pass() Pass {
	const fine = 1e6                                                                    // a steady 70 km/h is 70, not a hair below
	mean := func(i int) float64 { return math.Round(s.sums[i]/s.known[i]*fine) / fine } // NaN where it was not read
	p := Pass{Start: s.start, End: s.end, Judged: s.judged, SpeedKMH: mean(0), LoadPct: mean(1), ThrottlePct: mean(2), CoolantC: mean(3), InComplaint: s.in}
	for gear, d := range s.gears {
		if d > s.gears[p.Gear] {
			p.Gear = gear
		}
	}
	return p
}
