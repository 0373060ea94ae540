package detect

import (
	"fmt"
	"maps"
	"reflect"
	"slices"
)

// Tuning is every number that the detector decides by.
type Tuning struct {
	Conditions
	Evidence
	Rule
	LookAlikes
	StopNumbers
}

// Conditions are the numbers of reading and of what may be judged.
type Conditions struct {
	Near       float64 // s; readings nearer are averaged
	Gap        float64 // s; longer between readings is a gap of the link
	Settle     float64 // s after a start, a stop or a gap; so long a slow signal holds, too
	Runs       float64 // rpm, from here the engine runs
	SpeedLow   float64 // km/h
	SpeedHigh  float64 // km/h
	SpeedMove  float64 // km/h
	SpeedOver  float64 // s
	Closed     float64 // %
	DemandMove float64 // %
	DemandOver float64 // s
	RatioMove  float64 // ln
	Cut        float64 // s
	CruiseLoad float64 // %
}

// Evidence are the numbers of floor and evidence.
type Evidence struct {
	FloorSpan     float64 // s
	FloorLoad     float64 // %
	FloorQuantile float64
	FloorLooks    float64
	Shortest      float64 // s
	Longer        float64
	Least         float64 // readings
	LowHz         float64
	HighHz        float64
	SlowHz        float64
	FloorWorth    float64 // readings
	FloorLeast    float64
	Memory        float64 // s, memory of the scatter
	StepPrice     float64 // nats
}

// Rule are the numbers of the alarm and of the verdict.
type Rule struct {
	Wanted        float64 // nats
	WantedFree    float64 // nats
	SpareFull     float64
	LeastRPM      float64 // rpm
	OverUsual     float64
	OverLeft      float64
	Cycles        float64
	CyclePrice    float64 // nats
	RedHz         float64
	RedPrice      float64
	SlowLinkPrice float64
	Within        float64 // s
	AtOnce        float64 // nats
	RoughPrice    float64 // nats
	Lasts         float64 // s
	LastsCycles   float64
	Join          float64 // s
	NoneSeconds   float64 // s
	NonePasses    float64
	NoneRPM       float64 // rpm
}

// LookAlikes are the numbers of what is not shudder.
type LookAlikes struct {
	SlowShare float64
	StepSize  float64
	StepTurns float64
	StepLeast float64
	StepGap   float64
	GearSize  float64
	Untied    float64
	Places    float64
}

// StopNumbers are the numbers of engine stops.
type StopNumbers struct {
	FaultZero     float64
	CrankInterval float64
	RestartKey    float64
	Rolling       float64
	KeyGap        float64
}

// gapOf returns how long, s, may lie between readings that usually come at an interval; longer
// is a gap of the link.
func (th *Tuning) gapOf(interval float64) float64 { return max(th.Gap, 2.2*interval) }

// Standard is the table that New uses.
var standard = Tuning{
	Conditions: Conditions{Near: 0.07, Gap: 1, Settle: 5, Runs: 400, SpeedLow: CruiseFromKMH, SpeedHigh: CruiseToKMH, SpeedMove: 3, SpeedOver: 2,
		Closed: 2.3, DemandMove: 4, DemandOver: 1.5, RatioMove: 0.10, Cut: 0.5, CruiseLoad: 12},
	Evidence: Evidence{FloorSpan: 1.6, FloorLoad: 6, FloorQuantile: 0.65, FloorLooks: 10,
		Shortest: 1.1, Longer: 1.4, Least: 11, LowHz: 1, HighHz: 6.5, SlowHz: 0.75,
		FloorWorth: 12, FloorLeast: 8, Memory: 0.08, StepPrice: 2},
	Rule: Rule{Wanted: 5.5, WantedFree: 4, SpareFull: 7, LeastRPM: 33, OverUsual: 2, OverLeft: 1, Cycles: 3.5, CyclePrice: 15, RedHz: 2, RedPrice: 15, SlowLinkPrice: 4, Within: 0.75, AtOnce: 10, RoughPrice: 0.4, Lasts: 0.5, LastsCycles: 1.5,
		Join: 2.5, NoneSeconds: 30, NonePasses: 3, NoneRPM: 100},
	LookAlikes:  LookAlikes{SlowShare: 0.87, StepSize: 0.055, StepTurns: 5, StepLeast: 1.8, StepGap: 20, GearSize: 0.13, Untied: 0.25, Places: 26},
	StopNumbers: StopNumbers{FaultZero: 0.7, CrankInterval: 0.27, RestartKey: 0.55, Rolling: 3, KeyGap: 20},
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

// CruiseFromKMH and CruiseToKMH are the band of road speed that is judged: speedLow and speedHigh.
const (
	CruiseFromKMH = 30
	CruiseToKMH   = 115
)
