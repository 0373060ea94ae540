package bench

import (
	"math"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/simcar/drivetrain"
)

// stopKinds translates the simulated car's words.
var stopKinds = map[drivetrain.StopKind]detect.StopKind{
	drivetrain.StopAutomatic: detect.StopAutomatic,
	drivetrain.StopRolling:   detect.StopRolling,
	drivetrain.StopStall:     detect.StopStall,
	drivetrain.StopOff:       detect.StopOff,
}

// carLength is how long a drive of the simulated car is.
const carLength = 10 * time.Minute

// car is a drive of the simulated car.
type car struct {
	scene Scene
	drive *drivetrain.Drive
}

func newCar(s Scene) *car {
	spec := drivetrain.Spec{Seed: s.Seed, Length: carLength, Script: drivetrain.Script(s.Name)}
	if s.Role == Always { // mixed driving, and a swing of known size whenever conditions hold
		spec.Script = drivetrain.Country
		spec.Faults = []drivetrain.Fault{{Kind: drivetrain.FaultGrabRelease, SwingRPM: s.Swing, Always: true}}
	}
	return &car{s, drivetrain.New(spec)}
}

// sampling is a usual ECU and adapter. One car in three reports its gear.
func (c *car) sampling(a Asking) drivetrain.Sampling {
	s := drivetrain.Real(a.Rate, c.scene.Seed+1)
	s.UnevenPct = a.UnevenPct
	if a.Renewed > 0 {
		s.Refresh = time.Duration(a.Renewed * 1e9)
	}
	if c.scene.Seed%3 == 0 {
		demand := drivetrain.TP
		if c.drive.Car().Diesel {
			demand = drivetrain.APPD
		}
		s.Companions = []string{drivetrain.VSS, demand, drivetrain.LoadPct, drivetrain.VSS, demand, drivetrain.GearAct}
	}
	return s
}

// Read reads the drive.
func (c *car) Read(a Asking) *Drive {
	out := &Drive{Scene: c.scene, Asking: a, Length: c.drive.Length().Seconds()}
	for _, r := range c.drive.Readings(c.sampling(a)) {
		out.Samples = append(out.Samples, pids.Sample{At: r.At, ECU: "7E8", Signal: pids.Signal(r.Signal), Value: r.Value})
	}
	t := c.drive.Truth()
	for _, x := range append(append(t.LookAlikes, t.SlowSwings...), t.Shudder...) {
		s := spanOf(x)
		s.Counts = s.Counts && c.pulls(x)
		out.Spans = append(out.Spans, s)
	}
	for _, x := range t.Stops {
		out.Stops = append(out.Stops, detect.Stop{Start: x.Start, End: x.End, Kind: stopKinds[x.Kind]})
	}
	c.passes(out)
	return out
}

// spanOf translates a span. A burst counts when it can be seen at all (not the friction shudder of
// 8 to 25 Hz) and the foot was still, of a long one for 3 s; it must pull, too (pulls).
func spanOf(x drivetrain.Span) Span {
	s := Span{Start: x.Start.Seconds(), End: x.End.Seconds(), SwingRPM: x.SwingRPM, Hz: x.Hz, Name: string(x.Kind)}
	switch x.Kind {
	case drivetrain.GrabRelease, drivetrain.SlipHunting, drivetrain.ApplyShudder:
		s.Shudder = x.Hz >= 0.8
	}
	length := s.End - s.Start
	still := x.SteadyFoot || x.CalmShare*length >= 3 && x.CalmShare >= 0.7
	s.Counts = s.Shudder && still && x.Hz <= 6.2 && x.SpeedKMH >= 30 && length >= 0.4
	return s
}

// pulls reports whether the engine pulls all through a span: the pedal at 5 % and more, or cruise
// control with the throttle as far open.
func (c *car) pulls(x drivetrain.Span) bool {
	for k := range time.Duration(5) {
		s := c.drive.At(x.Start + (x.End-x.Start)*k/4)
		if s.CruiseOn && s.ThrottlePct < c.drive.Car().ClosedPct+3 || !s.CruiseOn && s.PedalPct < 5 {
			return false
		}
	}
	return true
}

// passes measures the steady cruise of the truth: engine running, 30 to 115 km/h, pulling, no
// shift, road speed within 3 km/h over 2 s and demand within 5 % over 1.5 s.
func (c *car) passes(out *Drive) {
	const step = 0.2
	var speeds, demands [10]float64
	last := drivetrain.State{}
	run := 0.0
	var clutch wavering
	for i := 0; float64(i)*step < out.Length; i++ {
		s := c.drive.At(time.Duration(float64(i) * step * 1e9))
		demand := s.PedalPct
		if s.CruiseOn {
			demand = s.ThrottlePct
		}
		speeds[i%len(speeds)], demands[i%len(demands)] = s.SpeedKMH, demand
		steady := s.Running && s.SpeedKMH >= 30 && s.SpeedKMH <= 115 && !s.BrakeOn && !s.Shifting && s.Gear == last.Gear &&
			demand > 2 && span(speeds[:]) <= 3 && span(demands[2:]) <= 5
		clutch.see(float64(i)*step, s.LockShare)
		last = s
		if run += step; !steady {
			out.pass(run)
			run = 0
		}
	}
	out.pass(run)
	out.Spans = append(clutch.spans, out.Spans...) // first: what a script does names itself
}

// wavering notes where the lock-up clutch of a healthy car is let go and applied again within a
// few seconds, as it is at the edge of its map: no script puts that there, but it looks like
// lock-up cycling.
type wavering struct {
	share, turned float64 // as seen last, and when it last turned
	rises         bool
	spans         []Span
}

func (c *wavering) see(at, share float64) {
	const soon = 3 // s
	if rises := share > c.share; share != c.share && rises != c.rises {
		if n := len(c.spans); at-c.turned < soon && c.turned > 0 {
			if n > 0 && c.turned <= c.spans[n-1].End {
				c.spans[n-1].End = at
			} else {
				c.spans = append(c.spans, Span{Start: c.turned, End: at, Name: "clutch wavers"})
			}
		}
		c.rises, c.turned = rises, at
	}
	c.share = share
}

func span(x []float64) float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for _, v := range x {
		low, high = min(low, v), max(high, v)
	}
	return high - low
}
