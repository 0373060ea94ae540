package cause

import (
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/steps"
)

// Facts are what a drive gave. What is not known is zero or empty.
type Facts struct {
	Verdict      detect.Verdict
	Events       []detect.Event
	Engine       []Engine // of Events, by index
	Observations []detect.Observation
	Steps        []steps.Step
	Contrasts    []steps.Contrast // by kind of step, of those that were made in a shudder
	Slip         []Slip
	Felt         []time.Duration // felt marks
	Misfire      Counts
	Trims        []Trim
	TrimsRead    bool // some trim was read, if not in a surge
	Codes        []Code
	CodesRead    bool // a code check inside the drive ended
	Gear         Gear
	Car          Car
	FeltSteady   []time.Duration // of Felt, those at which engine speed was steady and shudder would have shown
}

// Engine is what the engine did in an event.
type Engine struct {
	RPM  float64 // mean engine speed; 0 where it is not known
	Rate float64 // readings of engine speed a second
	Gear int     // reported; 0 where it is not known
}

// Slip is converter slip that swung while it should have been steady.
type Slip struct {
	Start, End time.Duration
	SwingRPM   float64 // peak to peak
	Estimated  bool    // from engine speed, road speed and gear; else read
}

// Counts are the misfire counts of service 06 over the drive.
type Counts struct {
	Read  bool   // the car has them, and they were read at least twice
	Lacks bool   // it was asked and has none
	Rises []Rise // between two readings, where a count rose
	Quiet int    // shudders before and after which counts were read, and none rose
}

// Rise is how much the count of a cylinder rose between two readings.
type Rise struct {
	From, To time.Duration
	Cylinder int // from 1; 0 for all together
	By       int
	Event    int // index in Events of the shudder between the readings; -1 where there is none
}

// Trim is short-term fuel trim before a surge or shudder and in it.
type Trim struct {
	At            time.Duration
	Signal        string  // SAE J1979 name, as "SHRTFT1"
	BeforePct     float64 // mean
	MovedPct      float64 // peak to peak inside
	BeforeMovePct float64 // peak to peak in the same time before
	Surge         bool    // the observation was a slow surge, not a shudder
}

// Code is a trouble code that a code check inside the drive read.
type Code struct {
	At   time.Duration
	Code string // as "P0304"
}

// Gear is what the car reported of its gear.
type Gear struct {
	Read    bool
	Changes []time.Duration // another gear was reported
}

// Car is what the vehicle profile has; zero where it is not known.
type Car struct {
	TyreM      float64 // how far the car rolls for one turn of a wheel, m
	FinalDrive float64
}
