package recording

import (
	"math"
	"sync"

	"judder/pids"
)

// resolutions are the steps in which the table of parameters tells its signals: the
// smallest where several parameters tell one.
var resolutions = sync.OnceValue(func() map[pids.Signal]float64 {
	steps := map[pids.Signal]float64{}
	for id := range 256 {
		for _, f := range pids.Lookup(byte(id)).Fields {
			step := f.Step()
			if old, known := steps[f.Signal]; step > 0 && (!known || step < old) {
				steps[f.Signal] = step
			}
		}
	}
	return steps
})

// Resolution is the step in which SAE J1979 tells a signal, in the signal's unit; 0 when it
// is not in the table of parameters.
func Resolution(s pids.Signal) float64 { return resolutions()[s] }

// tidy rounds a value to a tenth of its step or finer: what lies behind comes of the computation,
// not of the car. Two codes never become one.
func tidy(v, step float64) float64 {
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
