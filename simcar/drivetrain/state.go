package drivetrain

import (
	"time"
)

// State is the true state of the car at one time.
type State struct {
	At          time.Duration
	RPM         float64 // engine speed
	SpeedKMH    float64
	PedalPct    float64 // accelerator pedal, 0 at rest
	ThrottlePct float64 // absolute throttle position; never 0, even closed
	LoadPct     float64 // calculated load
	MAPkPa      float64 // intake manifold, absolute
	MAFgs       float64 // air mass flow, g/s
	CoolantC    float64
	IntakeC     float64
	Volts       float64 // at the control module
	SparkDeg    float64 // before top dead centre; 0 on a diesel
	FuelPct     float64 // tank level
	TorqueNm    float64 // brake torque of the engine
	GradePct    float64 // slope of the road
	Gear        int     // 0: none engaged, or a gearbox without gears
	Ratio       float64 // overall ratio, turbine turns for one wheel turn; 0 when not tied
	LockShare   float64 // 0: converter open, 1: clutch fully applied
	LockedUp    bool    // LockShare above 0.95, or a clutch or belt that holds
	TurbineRPM  float64 // gearbox input speed
	SlipRPM     float64 // RPM less TurbineRPM
	Misfires    int     // combustions that failed since the start of the drive, all in one cylinder
	BrakeOn     bool
	CruiseOn    bool // speed is held by cruise control: the pedal is at rest
	Running     bool // the engine runs by itself (not off, not being cranked)
	Shifting    bool
}

// frame is what the slow motion leaves behind every slowStep.
type frame struct {
	rpm, speed, pedal, throttle, load, torque, turbine float64 // speed in m/s, pedal, throttle and load 0..1
	coolant, intake, volts, fuel, grade, ratio, lock   float32
	misfires                                           uint16
	brake, cruise, running                             bool
	engaged
}

// engaged is the gear, and how far it is in.
type engaged struct {
	gear            int8
	shifting, holds bool
}

func mix(a, b, share float64) float64 { return a + share*(b-a) }

// between blends two neighbouring frames; switches are those of the earlier one.
func (f *frame) between(g *frame, share float64, car *Car) State {
	mix32 := func(a, b float32) float64 { return mix(float64(a), float64(b), share) }
	s := State{
		RPM:         mix(f.rpm, g.rpm, share),
		SpeedKMH:    3.6 * mix(f.speed, g.speed, share),
		PedalPct:    100 * mix(f.pedal, g.pedal, share),
		ThrottlePct: 100 * mix(f.throttle, g.throttle, share),
		TorqueNm:    mix(f.torque, g.torque, share),
		TurbineRPM:  mix(f.turbine, g.turbine, share),
		CoolantC:    mix32(f.coolant, g.coolant),
		IntakeC:     mix32(f.intake, g.intake),
		Volts:       mix32(f.volts, g.volts),
		FuelPct:     mix32(f.fuel, g.fuel),
		GradePct:    100 * mix32(f.grade, g.grade),
		Ratio:       mix32(f.ratio, g.ratio),
		LockShare:   mix32(f.lock, g.lock),
		Gear:        int(f.gear),
		Misfires:    int(f.misfires),
		BrakeOn:     f.brake,
		CruiseOn:    f.cruise,
		Running:     f.running,
		Shifting:    f.shifting,
	}
	s.LockedUp = f.holds || s.LockShare > 0.95
	car.air(&s, mix(f.load, g.load, share))
	return s
}

// air fills in what follows from load and engine speed. The maps are plain straight lines
// of common practice (no source): enough for plausible companions of the engine speed.
func (c *Car) air(s *State, load float64) {
	const gasGJKgK, cubic = 0.287, 1e-3
	if s.RPM < 50 {
		s.MAPkPa, s.LoadPct = 100, 0
		return
	}
	s.LoadPct = clamp(100*load, 0, 100)
	s.MAPkPa = 24 + 76*load
	s.SparkDeg = clamp(38-30*load+s.RPM/400, 2, 45)
	if c.Diesel {
		s.MAPkPa, s.SparkDeg = 100+90*load*min(s.RPM/1800, 1), 0
	}
	density := s.MAPkPa / (gasGJKgK * (s.IntakeC + 273.15)) // kg/m³ = g/l
	s.MAFgs = 0.85 * density * c.displacementL() * s.RPM / 120 * cubic * 1000
}
