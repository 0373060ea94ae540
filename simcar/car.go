package simcar

import "time"

// Car is whatever the ECUs measure. At is called with drive time by one goroutine at a
// time, and must be cheap: a few calls come with each exchange. Times may step back a
// little, by as much as an ECU's Refresh or a StaleValues fault holds its values.
type Car interface {
	At(t time.Duration) Condition
}

// CarFunc makes a Car of a function.
type CarFunc func(t time.Duration) Condition

// At calls the function.
func (f CarFunc) At(t time.Duration) Condition { return f(t) }

// Steady is a car that never changes.
func Steady(c Condition) Car {
	return CarFunc(func(time.Duration) Condition { return c })
}

// Condition is all that the ECUs can measure at one instant. Values outside what a PID
// can carry are sent as the nearest value that it can.
type Condition struct {
	Ignition bool // key on; without it no ECU answers

	RPM      float64 // engine speed, rpm
	SpeedKMH float64 // road speed, km/h

	ThrottlePct    float64 // absolute throttle position, %; closed is usually 10–20
	RelThrottlePct float64 // relative throttle position, %; closed is 0
	PedalPct       float64 // accelerator pedal D, %; at rest usually 15–20
	RelPedalPct    float64 // relative pedal position, %; at rest 0
	CommandedPct   float64 // commanded throttle actuator, %

	LoadPct      float64 // calculated load, %
	AbsLoadPct   float64 // absolute load, %; may pass 100
	MAPkPa       float64 // intake manifold absolute pressure, kPa
	MAFgs        float64 // mass air flow, g/s
	SparkDeg     float64 // ignition advance, degrees before top dead centre
	ShortTrimPct float64 // short-term fuel trim, %
	LongTrimPct  float64 // long-term fuel trim, %
	Lambda       float64 // commanded equivalence ratio
	FuelRateLPH  float64 // engine fuel rate, L/h
	PurgePct     float64 // commanded evaporative purge, %

	DemandTorquePct float64 // driver's demand engine torque, % of RefTorqueNm
	TorquePct       float64 // actual engine torque, % of RefTorqueNm
	RefTorqueNm     float64 // engine reference torque, N·m

	CoolantC float64 // °C
	IntakeC  float64 // °C
	AmbientC float64 // °C
	OilC     float64 // engine oil, °C
	BaroKPa  float64 // barometric pressure, kPa
	Volts    float64 // control module voltage, V

	FuelLevelPct float64 // %
	FuelSystem   byte    // PID $03 value: 2 closed loop, 4 open loop by driving condition, …
	RunTime      time.Duration
	OdometerKM   float64
	ClearedKM    float64 // distance since codes were cleared, km
	MILOnKM      float64 // distance with the lamp on, km
	WarmUps      float64 // warm-ups since codes were cleared
	Gear         int     // gear engaged; 0 not known
	Neutral      bool    // gear 0 is reported as such
	GearRatio    float64 // ratio of that gear; 0 not known

	Misfires []uint16 // count of each cylinder in this drive cycle; nil: use the ECU's
}

// WarmIdle is a warm engine idling in a standing car: a condition to start from.
func WarmIdle() Condition {
	return Condition{
		Ignition: true, RPM: 700, ThrottlePct: 14.5, PedalPct: 15.7, CommandedPct: 2,
		LoadPct: 22, AbsLoadPct: 20, MAPkPa: 33, MAFgs: 3, SparkDeg: 12, LongTrimPct: 1.6,
		Lambda: 1, FuelRateLPH: 0.8, RefTorqueNm: 400, TorquePct: 12, DemandTorquePct: 0,
		CoolantC: 90, IntakeC: 28, AmbientC: 18, OilC: 92, BaroKPa: 100, Volts: 14.2,
		FuelLevelPct: 60, FuelSystem: 2, OdometerKM: 12345.6, ClearedKM: 812, WarmUps: 41,
	}
}
