package triage

import (
	"fmt"

	"github.com/judder-obd/judder/check"
)

// Supply voltage at the diagnostic socket: beyond these, control units report faults that they
// do not have. At rest the ignition is on (all common practice, no source).
const (
	voltsLow     = 12.3
	voltsRunning = 13.0 // a regulated alternator may rest below this for a while
	voltsHigh    = 15.2
)

func supply(r *check.Report, all []code) []check.Advice {
	codes := pick(all, func(c code) bool { return c.in(supplyFamily) })
	running := r.EngineRPM != nil && *r.EngineRPM > 0
	volts := fmt.Sprintf("%.1f", r.Volts)
	switch {
	case running && r.Volts > 0 && r.Volts < voltsRunning:
		return one(advise(RuleCharging, nil, nil, "{volts}", volts))
	case r.Volts > 0 && r.Volts < voltsLow:
		return one(advise(RuleBattery, nil, nil, "{volts}", volts))
	case r.Volts > voltsHigh:
		return one(advise(RuleOvervoltage, nil, nil, "{volts}", volts))
	case len(codes) > 0:
		return one(advise(RuleSupplyCodes, names(codes), owners(codes)))
	}
	return nil
}
