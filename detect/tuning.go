package detect

import (
	"fmt"
	"maps"
	"reflect"
	"slices"
)

// Tuning is every number by which shudder is decided; what tells one engine stop or look-alike from
// another stands beside its code (stops.go, observe.go). Each has its unit, its source and, where it
// was measured, what it is worth.
//
// Sources: "trade" is a published service procedure or a figure customary in the trade, "J1979"
// follows from the standard's data, "bench" was measured with detect/bench (tuning seeds), "real" on
// public drives without known shudder, "chosen" is a choice without measurement.
//
// "Without" is what comes of leaving the number out: false alarms and bursts found, 34 h of both worlds
// at 10 readings a second, tuning seeds from 20000; with all, 5 and 394 of 440. It was measured while Near
// was 0.07, LeastRPM 44 and OverUsual 1.3, a wave was learnt from 2 nats of its own, and quick waves counted
// less. What does not move them there (SpeedMove, Closed, RatioMove, SlowHz) is kept for what the trade says,
// and for other cars. RatioMove and the sixth window are for slower links.
type Tuning struct {
	Conditions
	Evidence
	Rule
}

// Conditions are the numbers of reading and of what may be judged.
type Conditions struct {
	Near       float64 // s; readings nearer are averaged (trade: an ECU averages up to 0.1 s; bench: at 10 a second 0.07 loses readings that come early; each by itself, what is not quite a wave weighs too much at 20 a second and more); without: 6, 395
	Gap        float64 // s; longer between readings is a gap of the link (bench)
	Settle     float64 // s after a start or a stop; so long a slow signal holds, too (trade: converter tests wait 5 to 8 s)
	SpeedMove  float64 // km/h, range of road speed allowed (J1979 gives whole km/h; bench); without: 5, 394
	SpeedOver  float64 // s, over which (bench)
	Closed     float64 // % above the lowest throttle seen: at or below, it is closed (bench); without: 4, 397
	DemandMove float64 // %, range of driver demand allowed (bench); without: 23, 401
	DemandOver float64 // s, over which (bench)
	RatioMove  float64 // change of ln(engine ÷ road speed) in 1 s that is a step of gear or lock-up (bench); without: 6, 393
	Cut        float64 // s before demand was last seen moving or the ratio stepping (over DemandOver and 1 s): no window begins earlier (bench); without: 11, 401
}

// Evidence are the numbers of floor and evidence.
type Evidence struct {
	FloorSpan     float64 // s of a look at the floor (bench)
	FloorReadings float64 // usual intervals that it holds at least (chosen)
	FloorLoad     float64 // % of load that count as the same (bench); without: one floor for all loads: 7, 393
	FloorQuantile float64 // share of the looks at a load that the floor is above (bench); without: the median: 7, 398
	FloorLooks    float64 // looks before there is a floor (chosen)
	Shortest      float64 // s, the shortest window: a burst of about one second (trade: bursts of 1 to 3 s)
	Longer        float64 // factor from a window to the next (bench); without: one window alone: 0, 237
	Least         float64 // readings in a window (up to 9 parameters and some to spare; bench)
	LowHz         float64 // Hz, the slowest shudder (trade: grab and release from 1 Hz)
	HighHz        float64 // Hz, the fastest that ten readings a second still show (bench)
	SlowHz        float64 // Hz, the fastest slow wave (trade: surge and slip control 0.3 to 0.8); without: 5, 394
	Wander        float64 // s, how long the wander of engine speed is remembered (bench: the likeliest of .25 to 2 s, on 1200 stretches of cruise in both worlds)
	Smooth        float64 // s, over which the wander is smooth (trade: an ECU averages up to 0.1 s; bench: the likeliest of 1 to 500 ms)
	FloorWorth    float64 // readings that the floor counts for (bench); without: 3, 359
	Before        float64 // s before a window that tell its scatter, too (bench); without: 4, 381
}

// Rule are the numbers of the alarm and of the verdict.
type Rule struct {
	Wanted      float64 // nats with the floor known, less below 7 readings a second (bench); without: 8 nats: 11, 407
	Beside      float64 // nats that stay without the blow that gives most of them (bench); without: 64, 405
	BlowCycles  float64 // cycles that a blow has most of its height: a mode of the drive line damped by a tenth to a fifth of the critical loses a half to three quarters in a cycle (trade; bench), and
	BlowSeconds float64 // s that it has at least: a step of the pedal rings so long (trade: 0.5 to 1.5 s with its decay; bench: on drives with steps of 2 % and more 8 false alarms instead of 19, 1509 bursts instead of 1513)
	LeastRPM    float64 // rpm peak to peak that a wave has at least (bench); without: 20 rpm: 22, 401
	OverUsual   float64 // times the floor (bench); without: 9, 396
	Looks       float64 // looks that must have together what is wanted (bench); without: one alone: 16, 409
	LookLeast   float64 // nats beyond what is wanted that a look counts for at least (bench); without: 5, 387
	Lasts       float64 // s that a swing lasts at least (trade: the ring after a tip-in lasts 0.5 to 1.5 with its decay; bench); without: 5, 402
	Join        float64 // s, events closer than this are one (bench)
	NoneSeconds float64 // s judged before "no shudder" may be said (chosen)
	NonePasses  float64 // steady passes before that (bench)
	NoneRPM     float64 // rpm; a larger smallest swing hides shudder that is felt (trade: grab and release 100 to 190)
	Places      float64 // places of the ratio, above which a car has no fixed gears (bench)
}

// gapOf returns how long, s, may lie between readings that usually come at an interval; longer
// is a gap of the link.
func (th *Tuning) gapOf(interval float64) float64 { return max(th.Gap, 2.2*interval) }

// standard is the table that New uses.
var standard = Tuning{
	Conditions: Conditions{Near: 0.045, Gap: 1, Settle: 5, SpeedMove: 3, SpeedOver: 2, Closed: 2.3, DemandMove: 3.5, DemandOver: 1.5, RatioMove: 0.14, Cut: 0.5},
	Evidence: Evidence{
		FloorSpan: 1.6, FloorReadings: 8, FloorLoad: 6, FloorQuantile: 0.65, FloorLooks: 10, Shortest: 1.1, Longer: 1.4, Least: 11,
		LowHz: 1, HighHz: 6.5, SlowHz: 0.75, Wander: 0.7, Smooth: 0.08, FloorWorth: 12, Before: 3,
	},
	Rule: Rule{
		Wanted: 14, Beside: 5, BlowCycles: 1.2, BlowSeconds: 0.45, LeastRPM: 47, OverUsual: 1.5, Looks: 3, LookLeast: -6,
		Lasts: 0.6, Join: 2.5, NoneSeconds: 30, NonePasses: 3, NoneRPM: 100, Places: 15,
	},
}

// numbers returns the numbers of a table by name.
func (th *Tuning) numbers() map[string]reflect.Value {
	out := map[string]reflect.Value{}
	all := reflect.ValueOf(th).Elem()
	for i := range all.NumField() {
		part := all.Field(i)
		for j := range part.NumField() {
			out[part.Type().Field(j).Name] = part.Field(j)
		}
	}
	return out
}

// NewVariant returns a detector with some numbers of its table changed by name, for a bench
// that measures what each part is worth. A name that is not in the table is an error.
func NewVariant(change map[string]float64) (*Detector, error) {
	th := standard
	numbers := th.numbers()
	for _, name := range slices.Sorted(maps.Keys(change)) {
		f, ok := numbers[name]
		if !ok {
			return nil, fmt.Errorf("detect: no number %q in the table", name)
		}
		f.SetFloat(change[name])
	}
	return newWith(&th), nil
}

// EnoughForNone and EnoughAtAll are the readings of engine speed a second from which "no shudder"
// may be said, and below which nothing is judged.
const (
	EnoughForNone = 9
	EnoughAtAll   = 8. / 3
)

// WarmFromC is the coolant temperature, °C, from which a converter may be locked.
const WarmFromC = 49

// CruiseFromKMH and CruiseToKMH are the band of road speed that is judged (trade).
const (
	CruiseFromKMH = 30
	CruiseToKMH   = 115
)
