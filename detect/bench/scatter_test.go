package bench

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat"

	"github.com/judder-obd/judder/pids"
)

// Healthy cars in steady cruise at ten readings a second, measured on open data (comma2k19 and the
// Automotive OBD-II Dataset of the Karlsruhe Institute of Technology among them): about 10 rpm s.d.
// about a line over 3 s, quick scatter about 5 rpm.
func TestFormula_ScatterLikeRealCars(t *testing.T) {
	var line, quick []float64
	for seed := range uint64(12) {
		x := newFormula(Scene{World: WorldFormula, Name: string(Healthy), Seed: seed})
		var at, rpm []float64
		for _, s := range x.Read(Askings[4]).Samples {
			if s.Signal == pids.RPM {
				at, rpm = append(at, s.At.Seconds()), append(rpm, s.Value)
			}
		}
		for _, c := range x.w.cruises {
			for end := float64(c[0])*tick + 4; end < float64(c[1])*tick; end += 3 {
				i, _ := slices.BinarySearch(at, end-3)
				j, _ := slices.BinarySearch(at, end)
				if j-i < 25 {
					continue
				}
				a, b := stat.LinearRegression(at[i:j], rpm[i:j], nil, false)
				var rest, between []float64
				for k := i; k < j; k++ {
					rest = append(rest, rpm[k]-a-b*at[k])
					if k >= i+2 && k+2 < j {
						share := (at[k] - at[k-2]) / (at[k+2] - at[k-2])
						off := rpm[k] - rpm[k-2] - share*(rpm[k+2]-rpm[k-2])
						between = append(between, math.Abs(off)/math.Sqrt(1+share*share+(1-share)*(1-share)))
					}
				}
				line, quick = append(line, stat.StdDev(rest, nil)), append(quick, 1.48*Quantile(between, 0.5))
			}
		}
	}
	if got := Quantile(line, 0.5); got < 8 || got > 12 {
		t.Errorf("median scatter about a line %.1f rpm in %d windows, want about 10", got, len(line))
	}
	if got := Quantile(quick, 0.5); got < 3.8 || got > 6 {
		t.Errorf("median quick scatter %.1f rpm, want about 5", got)
	}
	t.Logf("line %.1f, quick %.1f", Quantile(line, 0.5), Quantile(quick, 0.5))
}

// The pedal of a driver who keeps it still moves by 2 to 5 % within some seconds, as measured on
// real cruise.
func TestFormula_FootIsNeverQuiteStill(t *testing.T) {
	var ranges []float64
	for seed := range uint64(12) {
		w := lay(Scene{Name: string(Healthy), Seed: seed}, formulaLength)
		for _, c := range w.cruises {
			for a := c[0]; a+int(4*stepHz) < c[1]; a += int(4 * stepHz) {
				ranges = append(ranges, span(w.pedal[a:a+int(4*stepHz)]))
			}
		}
	}
	if low, high := Quantile(ranges, 0.25), Quantile(ranges, 0.75); low < 1.5 || high > 5.5 {
		t.Errorf("half of the stretches of 4 s move by %.1f to %.1f %%, want about 2 to 5", low, high)
	}
}
