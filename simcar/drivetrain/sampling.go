package drivetrain

import (
	"math"
	"math/rand/v2"
	"time"
)

// Signals that can be reported, under their SAE J1979 display acronyms.
const (
	RPM     = "RPM"
	VSS     = "VSS"
	TP      = "TP"
	APPD    = "APP_D"
	LoadPct = "LOAD_PCT"
	MAP     = "MAP"
	MAF     = "MAF"
	ECT     = "ECT"
	IAT     = "IAT"
	Spark   = "SPARKADV"
	FuelLvl = "FLI"
	VPWR    = "VPWR"
	GearAct = "GEAR_ACT" // gear engaged (PID $A4): a short name of our own
)

// reported is one signal: how it is taken from the state and its step and range on the
// wire (SAE J1979, service $01).
var reported = map[string]struct {
	of              func(s *State) float64
	step, low, high float64
}{
	VSS:     {func(s *State) float64 { return s.SpeedKMH }, 1, 0, 255},
	TP:      {func(s *State) float64 { return s.ThrottlePct }, 100.0 / 255, 0, 100},
	APPD:    {func(s *State) float64 { return 14.9 + 0.68*s.PedalPct }, 100.0 / 255, 0, 100},
	LoadPct: {func(s *State) float64 { return s.LoadPct }, 100.0 / 255, 0, 100},
	MAP:     {func(s *State) float64 { return s.MAPkPa }, 1, 0, 255},
	MAF:     {func(s *State) float64 { return s.MAFgs }, 0.01, 0, 655.35},
	ECT:     {func(s *State) float64 { return s.CoolantC }, 1, -40, 215},
	IAT:     {func(s *State) float64 { return s.IntakeC }, 1, -40, 215},
	Spark:   {func(s *State) float64 { return s.SparkDeg }, 0.5, -64, 63.5},
	FuelLvl: {func(s *State) float64 { return s.FuelPct }, 100.0 / 255, 0, 100},
	VPWR:    {func(s *State) float64 { return s.Volts }, 0.001, 0, 65.535},
	GearAct: {func(s *State) float64 { return float64(s.Gear) }, 1, 0, 15},
}

const (
	rpmStep   = 0.25
	asleepRPM = 16383.75 // 0xFFFF: what a sleeping engine ECU answers
)

// Sampling is how engine ECU, adapter and tester look at the car. The zero value is
// ten true readings of engine speed a second.
type Sampling struct {
	RPMHz       float64       // readings of engine speed a second; 0 means 10
	Companions  []string      // asked in rotation, one after each RPM; nil means VSS, throttle or pedal, LOAD_PCT
	UnevenPct   float64       // intervals spread by up to ± this share on purpose
	Jitter      time.Duration // the value belongs to a time up to this much before or after its stamp
	AverageRevs float64       // mean over so many revolutions (a firing segment: 2/cylinders)
	AverageOver time.Duration // mean over this time, if longer
	Refresh     time.Duration // the engine ECU's value changes only so often
	Raw         bool          // no steps of the wire
	DropShare   float64       // share of replies lost singly
	GapsPerHour float64       // gaps of 1 to 3 s
	ZerosPerH   float64       // single false zeros of engine speed an hour
	Asleep      bool          // answers 16383.75 rpm while the key is off
}

// Real returns the sampling of a usual car and adapter at a rate, drawn from the seed:
// averages from a firing segment to 100 ms, refresh to 100 ms, time errors of 10 to
// 50 ms, lost replies, gaps.
func Real(rpmHz float64, seed uint64) Sampling {
	r := rand.New(rand.NewPCG(seed, streamSampling))
	s := Sampling{
		RPMHz:       rpmHz,
		Jitter:      time.Duration(within(r, 10, 50) * float64(time.Millisecond)),
		AverageRevs: []float64{0.5, 1, 1, 2}[r.IntN(4)],
		Refresh:     []time.Duration{0, 10, 20, 50, 100}[r.IntN(5)] * time.Millisecond,
		DropShare:   within(r, 0, 0.02),
		GapsPerHour: within(r, 0, 12),
		Asleep:      true,
	}
	if r.Float64() < 0.25 {
		s.AverageOver = 100 * time.Millisecond
	}
	if r.Float64() < 0.1 {
		s.ZerosPerH = within(r, 1, 6)
	}
	return s
}

const streamSampling = 1 << 20

// Report returns what the engine ECU answers at t for a signal: averaged, refreshed
// and in the steps of the wire. It reports false for a signal that the car does not know.
func (d *Drive) Report(t time.Duration, signal string, s Sampling) (value float64, ok bool) {
	if s.Refresh > 0 {
		t = t / s.Refresh * s.Refresh
	}
	t = max(t, 0)
	if signal == RPM {
		return d.reportRPM(t, s), true
	}
	row, ok := reported[signal]
	if !ok || signal == GearAct && d.world.car.Gearbox != Automatic {
		return 0, false
	}
	state := d.At(t)
	value = row.of(&state)
	if !s.Raw {
		value = math.Round(value/row.step) * row.step
	}
	return clamp(value, row.low, row.high), true
}

func (d *Drive) reportRPM(t time.Duration, s Sampling) float64 {
	if s.Asleep && d.keyOff(t) {
		return asleepRPM
	}
	d.extend(t)
	over := s.AverageOver
	if s.AverageRevs > 0 {
		if n := d.rpmAt(t); n > 60 {
			over = max(over, time.Duration(s.AverageRevs*60/n*float64(time.Second)))
		}
	}
	n := d.MeanRPM(t, over)
	if s.Raw {
		return n
	}
	return math.Round(n/rpmStep) * rpmStep
}

// keyOff reports whether the engine stands at t because the key is off.
func (d *Drive) keyOff(t time.Duration) bool {
	d.extend(t)
	for _, s := range d.world.stops {
		if s.Kind == StopOff && t >= s.Start && (t < s.End || s.End == 0) {
			return true
		}
	}
	return false
}
