// Package pids says what the bytes of a parameter mean: one row of a table for each
// parameter of SAE J1979, and the decoding that follows from the row.
package pids

import "time"

// Signal is the short name of a measured quantity: the SAE J1979 display acronym where
// the standard has one ("RPM"), or the name a vehicle profile gives.
type Signal string

// The signals that judder itself reasons about.
const (
	RPM     Signal = "RPM"      // engine speed, rpm
	VSS     Signal = "VSS"      // vehicle speed, km/h
	TP      Signal = "TP"       // absolute throttle position A, %
	TPR     Signal = "TP_R"     // relative throttle position, %
	APPD    Signal = "APP_D"    // accelerator pedal position D, %
	APPR    Signal = "APP_R"    // relative accelerator pedal position, %
	LoadPct Signal = "LOAD_PCT" // calculated load, %
	LoadAbs Signal = "LOAD_ABS" // absolute load, %
	MAP     Signal = "MAP"      // intake manifold absolute pressure, kPa
	ECT     Signal = "ECT"      // engine coolant temperature, °C
	VPWR    Signal = "VPWR"     // control module voltage, V
	GearAct Signal = "GEAR_ACT" // gear engaged (PID $A4; judder's own short name)
	GearRat Signal = "GEAR_RAT" // ratio of the gear engaged (PID $A4; judder's own short name)
)

// Sample is one reading of one signal.
type Sample struct {
	At     time.Duration // since the start of the session, on the monotonic clock
	ECU    string        // source as the adapter's header shows it ("7E8", "18DAF110", "10"); "" when unknown
	Signal Signal
	Value  float64 // in the standard's unit for the signal
}
