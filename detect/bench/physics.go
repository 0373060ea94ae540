package bench

import (
	"time"

	"judder/detect"
	"judder/pids"
	"judder/simcar/drivetrain"
)

// stopKinds translates the simulated car's words.
var stopKinds = map[drivetrain.StopKind]detect.StopKind{
	drivetrain.StopAutomatic: detect.StopAutomatic,
	drivetrain.StopRolling:   detect.StopRolling,
	drivetrain.StopStall:     detect.StopStall,
	drivetrain.StopOff:       detect.StopOff,
}

// Physics reads a drive of the simulated car through a usual computer and adapter.
func Physics(seed uint64, script drivetrain.Script, length time.Duration, rate float64, uneven float64, faults ...drivetrain.Fault) *Drive {
	d := drivetrain.New(drivetrain.Spec{Seed: seed, Length: length, Script: script, Faults: faults})
	s := drivetrain.Real(rate, seed+1)
	s.UnevenPct = uneven
	out := &Drive{Name: string(script), Length: length.Seconds()}
	for _, r := range d.Readings(s) {
		out.Samples = append(out.Samples, pids.Sample{At: r.At, ECU: "7E8", Signal: pids.Signal(r.Signal), Value: r.Value})
	}
	t := d.Truth()
	add := func(list []drivetrain.Span, shudder bool) {
		for _, x := range list {
			out.Spans = append(out.Spans, Span{Start: x.Start.Seconds(), End: x.End.Seconds(), SwingRPM: x.SwingRPM, Hz: x.Hz,
				Shudder: shudder, Counts: x.SteadyFoot && x.Hz <= 6.2 && x.SpeedKMH >= 30 && x.End-x.Start >= time.Second, Name: string(x.Kind)})
		}
	}
	add(t.LookAlikes, false)
	add(t.SlowSwings, false)
	add(t.Shudder, true)
	for _, x := range t.Stops {
		out.Stops = append(out.Stops, detect.Stop{Start: x.Start, End: x.End, Kind: stopKinds[x.Kind]})
	}
	return out
}

// Innocent are the scripts without shudder.
var Innocent = []drivetrain.Script{
	drivetrain.City, drivetrain.Highway, drivetrain.Country, drivetrain.RoughRoad, drivetrain.RoughPatch,
	drivetrain.Misfire, drivetrain.LoadMisfire, drivetrain.Surge, drivetrain.TipIn, drivetrain.LockCycling,
	drivetrain.GearHunting, drivetrain.SlipControl, drivetrain.ColdStart, drivetrain.HillsCruise,
	drivetrain.PowerSplitCar, drivetrain.BeltCar, drivetrain.ParkRevving, drivetrain.Stalls,
	drivetrain.RollingStops, drivetrain.Overrun, drivetrain.Accessory, drivetrain.ManualCar, drivetrain.FrictionOnly,
}
