package bench

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"github.com/judder-obd/judder/pids"
)

// The oracle knows when a burst begins and ends, and asks only whether some window of its readings
// shows it: about a ceiling for what can be found in a world at a rate. It explains each window
// twice by least squares on true times. Healthy: a parabola, alone, with a wave of 0.2 to 0.75 Hz or with one step.
// Shaking: a parabola with a wave of 0.9 to 6.5 Hz that drifts in amplitude and phase.
const (
	oracleNats  = 4.5 // log-likelihood ratio wanted, each parameter more at the price of one (Akaike)
	oracleRPM   = 33  // peak to peak wanted
	oracleKnown = 12  // readings that the scatter before the burst counts for
)

// oracle reports whether the readings of a burst show a wave.
func oracle(d *Drive, s Span) bool {
	before, quiet := d.readings(s.Start-4, s.Start-0.8)
	usual, _ := leftBy(before, quiet, nil)
	if math.IsInf(usual, 0) {
		usual = 10 * 10 // rpm², of a usual car
	}
	const edge = 0.3
	whole := s.End - s.Start + 2*edge
	for _, span := range []float64{1.2, 1.8, 2.6, 3.6} {
		last := whole <= span
		span = min(span, whole)
		for from := s.Start - edge; from+span <= s.End+edge+1e-9; from += span / 2 {
			if at, rpm := d.readings(from, from+span); len(at) >= 8 && waves(at, rpm, usual) {
				return true
			}
		}
		if last {
			break
		}
	}
	return false
}

// waves reports whether readings show a wave, where the mean square of a usual car is known.
func waves(at, rpm []float64, usual float64) bool {
	n, known := float64(len(at)), float64(oracleKnown)
	shaking, wave := math.Inf(1), 0.0
	for hz := 0.9; hz <= 6.5; hz += 0.1 {
		rest, size := leftBy(at, rpm, func(t float64) []float64 {
			sin, cos := math.Sincos(2 * math.Pi * hz * t)
			return []float64{sin, cos, t * sin, t * cos}
		})
		if rest < shaking {
			shaking, wave = rest, size
		}
	}
	cost := func(rest float64, more int) float64 {
		return (n+known)/2*math.Log((n*rest+known*usual)/(n+known)) + float64(more)
	}
	rest, _ := leftBy(at, rpm, nil)
	healthy := cost(rest, 0)
	for hz := 0.2; hz <= 0.75; hz += 0.05 {
		rest, _ = leftBy(at, rpm, func(t float64) []float64 {
			sin, cos := math.Sincos(2 * math.Pi * hz * t)
			return []float64{sin, cos}
		})
		healthy = min(healthy, cost(rest, 3))
	}
	for i := 1; i < len(at); i++ {
		rest, _ = leftBy(at, rpm, func(t float64) []float64 {
			if t < at[i] {
				return []float64{0}
			}
			return []float64{1}
		})
		healthy = min(healthy, cost(rest, 2))
	}
	return healthy-cost(shaking, 5) >= oracleNats && wave >= oracleRPM
}

// readings are those of engine speed from one time to another, the times counted from their middle.
func (d *Drive) readings(from, to float64) (at, rpm []float64) {
	for _, x := range d.Samples {
		if t := x.At.Seconds(); x.Signal == pids.RPM && t >= from && t <= to {
			at, rpm = append(at, t-(from+to)/2), append(rpm, x.Value)
		}
	}
	return at, rpm
}

// leftBy fits a parabola and further columns and returns the mean square that is left, and the
// peak to peak of the columns' part.
func leftBy(at, rpm []float64, more func(t float64) []float64) (rest, size float64) {
	columns := func(t float64) []float64 { return []float64{1, t, t * t} }
	if more != nil {
		columns = func(t float64) []float64 { return append([]float64{1, t, t * t}, more(t)...) }
	}
	width := len(columns(0))
	if len(at) <= width {
		return math.Inf(1), 0
	}
	a := mat.NewDense(len(at), width, nil)
	for i, t := range at {
		a.SetRow(i, columns(t))
	}
	var qr mat.QR
	var x mat.VecDense
	qr.Factorize(a)
	if err := qr.SolveVecTo(&x, false, mat.NewVecDense(len(rpm), rpm)); err != nil {
		return math.Inf(1), 0
	}
	low, high := math.Inf(1), math.Inf(-1)
	for i := range at {
		base, part := 0.0, 0.0
		for k := range width {
			if y := x.AtVec(k) * a.At(i, k); k < 3 {
				base += y
			} else {
				part += y
			}
		}
		rest += (rpm[i] - base - part) * (rpm[i] - base - part)
		low, high = min(low, part), max(high, part)
	}
	return rest/float64(len(at)) + 0.02, high - low // 0.02: engine speed comes in steps of a quarter
}
