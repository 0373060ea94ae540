package simcar

import (
	"math"
	"time"

	"github.com/judder-obd/judder/simcar/drivetrain"
)

// What a drive does not say, common practice without a source: where the pedal sensor
// rests and how far it goes.
const (
	pedalRestPct  = 14.9
	pedalSlope    = 0.68
	closedLoopC   = 40
	openLoop      = 0x04 // PID $03: open loop by driving conditions, also fuel cut on overrun
	closedLoop    = 0x02
	openLoopCold  = 0x01
	overrunTorque = -5.0 // N·m
	misfiring     = 3    // index of the cylinder that a misfire of a drive is counted for
)

// FromDrive is the car of a scripted drive as its engine ECU measures it: engine
// speed is the mean over one firing segment. Distance is not part of a drive, so the
// odometer does not move. A Drive serves one Car only.
func FromDrive(d *drivetrain.Drive) Car {
	car := d.Car()
	return CarFunc(func(t time.Duration) Condition {
		s := d.At(t)
		c := WarmIdle()
		c.RPM, c.SpeedKMH = segmentMean(d, t, s.RPM, car.Cylinders), s.SpeedKMH
		c.ThrottlePct, c.CommandedPct = s.ThrottlePct, s.ThrottlePct
		c.RelThrottlePct = max(s.ThrottlePct-car.ClosedPct, 0)
		c.RelPedalPct = s.PedalPct
		c.PedalPct = pedalRestPct + pedalSlope*s.PedalPct
		c.LoadPct, c.AbsLoadPct = s.LoadPct, s.LoadPct*s.MAPkPa/c.BaroKPa
		c.MAPkPa, c.MAFgs, c.SparkDeg = s.MAPkPa, s.MAFgs, s.SparkDeg
		c.CoolantC, c.IntakeC, c.OilC = s.CoolantC, s.IntakeC, s.CoolantC
		c.Volts, c.FuelLevelPct = s.Volts, s.FuelPct
		c.RefTorqueNm = math.Round(car.MaxTorqueNm)
		c.TorquePct = 100 * s.TorqueNm / car.MaxTorqueNm
		c.DemandTorquePct = c.TorquePct
		c.Gear, c.GearRatio = s.Gear, s.Ratio/car.FinalDrive
		c.Neutral = s.Gear == 0 && (car.Gearbox == drivetrain.Automatic || car.Gearbox == drivetrain.Manual)
		if car.Cylinders > 0 {
			c.Misfires = make([]uint16, car.Cylinders)
			c.Misfires[misfiring%car.Cylinders] = uint16(s.Misfires)
		}
		c.RunTime, c.FuelSystem = t, fuelSystem(&s)
		return c
	})
}

// segmentMean is engine speed over the last firing segment: two revolutions hold one
// segment of each cylinder of a four-stroke engine.
func segmentMean(d *drivetrain.Drive, t time.Duration, rpm float64, cylinders int) float64 {
	if rpm < 100 || cylinders == 0 {
		return rpm
	}
	return d.MeanRPM(t, time.Duration(120/(rpm*float64(cylinders))*float64(time.Second)))
}

// fuelSystem is the value of PID $03.
func fuelSystem(s *drivetrain.State) byte {
	switch {
	case !s.Running:
		return 0
	case s.TorqueNm < overrunTorque:
		return openLoop
	case s.CoolantC < closedLoopC:
		return openLoopCold
	default:
		return closedLoop
	}
}

// Realistic are the options of an ordinary car and a good adapter: engine and
// transmission ECU, and a serial line at 115200 baud.
func Realistic() []Option {
	return []Option{WithECUs(EngineECU(), TransmissionECU()), PacedAt(115200)}
}
