package cause

import "time"

// Frequency is how fast a shudder swung, beside what else turns or fires at that speed. What is not
// known is zero.
type Frequency struct {
	At         time.Duration // start of the shudder
	Hz         float64       // its own
	TyreLowHz  float64       // once a turn of the tyre; low and high are one where the tyre is known
	TyreHighHz float64
	ShaftHz    float64 // once a turn of the propshaft of a rear-driven car
	HalfHz     float64 // half engine order: one cylinder of a four-stroke misfires
}

// leastRate is from how many readings of engine speed a second a frequency is compared: below it,
// what turns at 10 Hz and more looks slower than it is (half the rate is the most that can be seen).
const leastRate = 20

// A maker's rule for the turns of a tyre a second at each 5 mph, where the tyre is not known (service
// information, 2000).
const (
	ruleLowHz  = 1.14
	ruleHighHz = 1.17
	ruleKMH    = 5 * 1.609344
)

// TyreHz is once a turn of a tyre that rolls so far in one: v/3.6 m/s over its circumference.
func TyreHz(speedKMH, circumferenceM float64) float64 { return speedKMH / 3.6 / circumferenceM }

// OrderHz is an engine order at an engine speed: order · rpm/60.
func OrderHz(order, rpm float64) float64 { return order * rpm / 60 }

// frequencies compares those events that were read often enough.
func frequencies(f *Facts) (all []Frequency) {
	for i := range f.Events {
		ev := &f.Events[i]
		if i >= len(f.Engine) || f.Engine[i].Rate < leastRate || len(ev.Hz) == 0 || !(ev.SpeedKMH > 0) {
			continue
		}
		x := Frequency{At: ev.Start, Hz: ev.Hz[0], HalfHz: OrderHz(0.5, f.Engine[i].RPM)}
		x.TyreLowHz, x.TyreHighHz = ruleLowHz*ev.SpeedKMH/ruleKMH, ruleHighHz*ev.SpeedKMH/ruleKMH
		if m := f.Car.TyreM; m > 0 {
			x.TyreLowHz = TyreHz(ev.SpeedKMH, m)
			x.TyreHighHz = x.TyreLowHz
			x.ShaftHz = x.TyreLowHz * f.Car.FinalDrive
		}
		all = append(all, x)
	}
	return all
}
