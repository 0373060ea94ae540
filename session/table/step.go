package table

import (
	"math"
	"sync"

	"github.com/judder-obd/judder/pids"
)

// steps are the steps of the signals in the table of parameters: the smallest where several
// parameters hold one.
var steps = sync.OnceValue(func() map[pids.Signal]float64 {
	found := map[pids.Signal]float64{}
	for id := range 256 {
		for _, f := range pids.Lookup(byte(id)).Fields {
			step := f.Step()
			if old, known := found[f.Signal]; step > 0 && (!known || step < old) {
				found[f.Signal] = step
			}
		}
	}
	return found
})

// Step is the step of a signal in SAE J1979, in the signal's unit; 0 when it is not in the table of
// parameters.
func Step(s pids.Signal) float64 { return steps()[s] }

// Tidy rounds a value that was decoded to a tenth of its step or finer: further digits come from the
// computation, not from the car. Two codes never become one. step is 0 where it is not known; then
// the value stays.
func Tidy(v, step float64) float64 {
	if !(step > 0) || math.IsInf(step, 0) {
		return v
	}
	digits := math.Ceil(1 - math.Log10(step) - 1e-9)
	if digits < 0 || digits > 9 {
		return v
	}
	ten := math.Pow(10, digits)
	if r := math.Round(v*ten) / ten; math.Abs(r-v) < step/10 { // false for what is not finite
		return r
	}
	return v
}
