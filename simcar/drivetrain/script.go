package drivetrain

import "math/rand/v2"

// Script names a way of driving and what is wrong with the car.
type Script string

// The scripts.
const (
	City           Script = "city"             // healthy, stops, some of them automatic
	Highway        Script = "highway"          // healthy
	Country        Script = "country"          // healthy, mixed roads
	RoadTest       Script = "road test"        // warm-up, town, cruise passes, shudder in some
	Shudders       Script = "shudders"         // mixed roads, bursts of shudder at cruise
	AlwaysShudders Script = "always shudders"  // in every cruise, from beginning to end
	FrictionOnly   Script = "friction shudder" // 8–25 Hz, hardly visible
	RoughRoad      Script = "rough road"       // healthy, rough all along
	RoughPatch     Script = "rough patch"      // healthy, roughness begins inside a cruise
	Misfire        Script = "misfire"          // one cylinder, always
	LoadMisfire    Script = "load misfire"     // one cylinder, only under load
	Surge          Script = "surge"            // 0.3–0.8 Hz
	TipIn          Script = "tip-in"           // pedal steps and the shuffle after them
	LockCycling    Script = "lock-up cycling"  // the clutch is switched off and on
	GearHunting    Script = "gear hunting"     //
	SlipControl    Script = "slip control"     // healthy clutch, swings of 24–44 rpm
	ColdStart      Script = "cold start"       // engine off, key start, cold clutch stays open
	HillsCruise    Script = "hills cruise"     // cruise control on grades: pedal at rest
	PowerSplitCar  Script = "power-split"      // hybrid
	BeltCar        Script = "belt"             //
	ParkRevving    Script = "park revving"     //
	Stalls         Script = "stalls"           //
	RollingStops   Script = "rolling stops"    // engine off before standstill
	Overrun        Script = "overrun"          // fuel cut, coasting
	Accessory      Script = "accessory"        // A/C clutch steps
	ManualCar      Script = "manual"           //

	SawShudders      Script = "saw shudders"      // lets go at once, grabs slowly
	ShortShudders    Script = "short shudders"    // bursts under three cycles
	BigShudders      Script = "big shudders"      // up to 600 rpm
	DriftingShudders Script = "drifting shudders" // 1 to 6 Hz in one burst, growing and fading slowly
	HillShudders     Script = "hill shudders"     // up and down grades
	ColdShudders     Script = "cold shudders"     // the clutch applies early
	ColdCruise       Script = "cold cruise"       // healthy, rough until warm
	ColdMisfire      Script = "cold misfire"      // only until warm
	PartMisfire      Script = "part-load misfire" // only in a band of load
	HillMisfire      Script = "hill misfire"      // only under load, on grades
	TrainMisfire     Script = "misfire in trains" // under load, a few in a row, then none
	RingMisfire      Script = "ringing misfire"   // under load, the drive line answers at 2 to 5 Hz
	Lash             Script = "lash"              // healthy, single blows in cruise
	TyreShake        Script = "tyre shake"        // a wheel out of round
	BeltHolds        Script = "belt holds"        // a belt that holds its ratio for minutes
	SplitHolds       Script = "split holds"       // a hybrid that does so
)

// scriptDef is one row of the table of scripts.
type scriptDef struct {
	script    Script
	about     string
	legs      func(r *rand.Rand, leg int) []act
	faults    []Fault
	fit       func(c *Car)
	marks     []mark
	hills     float64 // s.d. of the slope; 0: usual
	cold      bool
	engineOff bool

	warmSeconds float64 // time constant of the coolant; 0: usual
}

var scriptTable = []scriptDef{
	{script: City, about: "healthy car in town, with stops", legs: cityLeg},
	{script: Highway, about: "healthy car on the highway", legs: highwayLeg},
	{script: Country, about: "healthy car on mixed roads", legs: countryLeg},
	{script: RoadTest, about: "road test with shudder in some passes", legs: roadTestLeg, fit: fitRoadTest,
		faults: []Fault{{Kind: FaultGrabRelease, SwingRPM: 110, EverySeconds: 6, Passes: 0.6}}},
	{script: Shudders, about: "mixed roads with bursts of shudder", legs: mixedLeg, fit: fitStepped,
		faults: []Fault{{Kind: FaultGrabRelease}}},
	{script: AlwaysShudders, about: "shudder through every cruise", legs: cruiseLeg, fit: fitStepped,
		faults: []Fault{{Kind: FaultGrabRelease, Always: true}}},
	{script: FrictionOnly, about: "friction shudder, hardly visible", legs: cruiseLeg, fit: fitStepped,
		faults: []Fault{{Kind: FaultFriction}}},
	{script: RoughRoad, about: "healthy car on a rough road", legs: countryLeg,
		faults: []Fault{{Kind: FaultRoughRoad, Always: true}}},
	{script: RoughPatch, about: "healthy car, rough patches in cruise", legs: cruiseLeg,
		faults: []Fault{{Kind: FaultRoughRoad}}},
	{script: Misfire, about: "one cylinder misfires all the time", legs: mixedLeg,
		faults: []Fault{{Kind: FaultMisfire}}},
	{script: LoadMisfire, about: "one cylinder misfires under load", legs: mixedLeg,
		faults: []Fault{{Kind: FaultLoadMisfire}}},
	{script: Surge, about: "engine surges slowly at cruise", legs: cruiseLeg,
		faults: []Fault{{Kind: FaultSurge}}},
	{script: TipIn, about: "healthy car, busy foot", legs: tipInLeg, marks: []mark{markTipIn}},
	{script: LockCycling, about: "lock-up clutch switched off and on", legs: cruiseLeg,
		faults: []Fault{{Kind: FaultLockCycling}}},
	{script: GearHunting, about: "gearbox hunts between two gears", legs: cruiseLeg,
		faults: []Fault{{Kind: FaultGearHunting}}},
	{script: SlipControl, about: "healthy clutch held at a slip", legs: cruiseLeg, fit: fitSlip,
		faults: []Fault{{Kind: FaultSlipControl}}},
	{script: ColdStart, about: "key start and warm-up", legs: coldLeg, cold: true, engineOff: true},
	{script: HillsCruise, about: "hills under cruise control", legs: hillLeg, hills: 0.03},
	{script: PowerSplitCar, about: "power-split hybrid", legs: mixedLeg, marks: []mark{markUntied},
		fit: fitSplit},
	{script: BeltCar, about: "belt gearbox", legs: mixedLeg, marks: []mark{markUntied}, fit: fitBelt},
	{script: ParkRevving, about: "revving in park", legs: parkLeg, marks: []mark{markRevving}},
	{script: Stalls, about: "engine stalls in town", legs: stallLeg},
	{script: RollingStops, about: "engine stops before standstill", legs: rollingLeg},
	{script: Overrun, about: "fuel cut and coasting", legs: overrunLeg, marks: []mark{markOverrun}},
	{script: Accessory, about: "air conditioning switches on and off", legs: mixedLeg,
		faults: []Fault{{Kind: FaultAccessory}}},
	{script: ManualCar, about: "healthy car, manual gearbox", legs: mixedLeg, fit: fitManual},
	{script: SawShudders, about: "clutch lets go at once and grabs slowly", legs: mixedLeg, fit: fitStepped,
		faults: []Fault{{Kind: FaultSawGrab}}},
	{script: ShortShudders, about: "bursts of shudder under three cycles", legs: cruiseLeg, fit: fitStepped,
		faults: []Fault{{Kind: FaultShortGrab}}},
	{script: BigShudders, about: "swings of up to 600 rpm", legs: mixedLeg, fit: fitStepped,
		faults: []Fault{{Kind: FaultBigGrab}}},
	{script: DriftingShudders, about: "shudder whose frequency and swing run away", legs: cruiseLeg, fit: fitStepped,
		faults: []Fault{{Kind: FaultDriftGrab}}},
	{script: HillShudders, about: "shudder up and down grades", legs: gradeLeg, hills: 0.03, fit: fitStepped,
		faults: []Fault{{Kind: FaultGrabRelease}}},
	{script: ColdShudders, about: "shudder from a cold start on", legs: cruiseLeg, cold: true, warmSeconds: winterWarmSeconds, fit: fitColdShudder,
		faults: []Fault{{Kind: FaultGrabRelease, Cold: true}}},
	{script: ColdCruise, about: "healthy car, rough while cold", legs: cruiseLeg, cold: true, warmSeconds: winterWarmSeconds, fit: fitCold,
		faults: []Fault{{Kind: FaultColdRough}}},
	{script: ColdMisfire, about: "one cylinder misfires while cold", legs: cruiseLeg, cold: true, warmSeconds: winterWarmSeconds, fit: fitCold,
		faults: []Fault{{Kind: FaultColdMisfire}}},
	{script: PartMisfire, about: "one cylinder misfires in a band of load", legs: mixedLeg,
		faults: []Fault{{Kind: FaultPartMisfire}}},
	{script: HillMisfire, about: "one cylinder misfires on climbs", legs: gradeLeg, hills: 0.03,
		faults: []Fault{{Kind: FaultLoadMisfire}}},
	{script: TrainMisfire, about: "one cylinder misfires in trains under load", legs: gradeLeg, hills: 0.02,
		faults: []Fault{{Kind: FaultTrainMisfire}}},
	{script: RingMisfire, about: "a misfire under load that makes the drive line ring", legs: gradeLeg, hills: 0.025,
		faults: []Fault{{Kind: FaultRingMisfire}}},
	{script: Lash, about: "healthy car with play in its drive line", legs: cruiseLeg,
		faults: []Fault{{Kind: FaultLash}}},
	{script: TyreShake, about: "a wheel out of round", legs: cruiseLeg,
		faults: []Fault{{Kind: FaultTyre}}},
	{script: BeltHolds, about: "belt gearbox that holds its ratio in cruise", legs: cruiseLeg, marks: []mark{markUntied},
		fit: func(c *Car) { fitBelt(c); c.HoldSeconds = heldSeconds }},
	{script: SplitHolds, about: "power-split hybrid that holds its ratio in cruise", legs: cruiseLeg, marks: []mark{markUntied},
		fit: func(c *Car) { fitSplit(c); c.HoldSeconds = heldSeconds }},
}

// Scripts lists all scripts in the order of the table.
func Scripts() []Script {
	list := make([]Script, len(scriptTable))
	for i, row := range scriptTable {
		list[i] = row.script
	}
	return list
}

// About says in a few words what a script is; "" for one that does not exist.
func (s Script) About() string {
	row, _ := scriptRow(s)
	return row.about
}

func scriptRow(s Script) (scriptDef, bool) {
	for _, row := range scriptTable {
		if row.script == s {
			return row, true
		}
	}
	return scriptDef{}, false
}

// fitStepped gives a car that can shudder: clutch, fixed gears.
func fitStepped(c *Car) {
	c.Gearbox = Automatic
	if c.SlipRPM > 30 {
		c.SlipRPM = 25
	}
}

// fitRoadTest is the car of the road test: six gears, petrol, stop/start.
func fitRoadTest(c *Car) {
	fitStepped(c)
	c.Diesel, c.Cylinders, c.StopStart = false, 4, true
	c.MaxTorqueNm = 0.12 * c.MassKg
	c.fitGears(6, 0)
	c.LockGear, c.SlipRPM = 3, 20
}

func fitSlip(c *Car) {
	c.Gearbox = Automatic
	c.SlipRPM = 30
	if len(c.Ratios) < 5 {
		c.fitGears(6, 0)
	}
}

func fitManual(c *Car) {
	c.Gearbox = Manual
	c.fitGears(6, 0.5)
	c.SlipRPM = 0
}

func fitBelt(c *Car) {
	c.Gearbox, c.Diesel, c.SlipRPM = Belt, false, 0
	c.fitGears(4, 0)
	c.Ratios = []float64{2.6, 1.6, 0.9, 0.42}
}

func fitSplit(c *Car) { c.Gearbox, c.Diesel, c.Cylinders, c.StopStart = PowerSplit, false, 4, true }

// heldSeconds is about how long a ratio without steps is held in a cruise (judgement).
const heldSeconds = 120

// fitCold scatters 1.7 to 2.5 times as much when stone cold (judgement; drawn with the foot).
func fitCold(c *Car) { c.ColdShare = c.Foot }

// fitColdShudder is a later design, whose clutch applies soon after the start (fluid from
// 20 °C in a maker's fault test, service information 2005).
func fitColdShudder(c *Car) {
	fitStepped(c)
	fitCold(c)
	c.LockFromC = 15
}

func mixedLeg(r *rand.Rand, leg int) []act {
	switch x := r.Float64(); {
	case leg == 0 || x < 0.15:
		return cityLeg(r, leg)
	case x < 0.55:
		return countryLeg(r, leg)
	case x < 0.85:
		return cruiseLeg(r, leg)
	default:
		return highwayLeg(r, leg)
	}
}
