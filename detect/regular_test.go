package detect

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// gonum's QR least squares is the outside judge of the share that a wave explains.
func TestShareAgainstGonum(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 10))
	for _, kind := range []shape{plain, drifting, harmonic} {
		for range 20 {
			n := 14 + r.IntN(50)
			w := make([]reading, n)
			at := 0.0
			for i := range w {
				at += 0.05 + 0.1*r.Float64()
				w[i] = reading{at, 30*math.Sin(15*at) + 20*r.NormFloat64()}
			}
			hz := 1 + 5*r.Float64()
			var f waveFit
			f.load(detrend(make([]reading, n), w, fitLine(w)))
			f.allow(kind)
			for i := range f.n {
				f.s[i], f.c[i] = math.Sincos(2 * math.Pi * hz * f.half * f.t[i])
			}
			if got, want := f.share(), shareByQR(&f, f.cols); math.Abs(got-want) > 1e-6 {
				t.Fatalf("shape %v: share %v, gonum %v", kind, got, want)
			}
		}
	}
}

func shareByQR(f *waveFit, cols int) float64 {
	a, v := mat.NewDense(f.n, cols, nil), mat.NewVecDense(f.n, nil)
	for i := range f.n {
		t := f.t[i]
		row := []float64{1, t, t * t, f.c[i], f.s[i], t * f.c[i], t * f.s[i]}
		if f.shape == harmonic {
			turn := 2 * math.Atan2(f.s[i], f.c[i])
			row[5], row[6] = math.Cos(turn), math.Sin(turn)
		}
		a.SetRow(i, row[:cols])
		v.SetVec(i, f.v[i])
	}
	var x, fit mat.VecDense
	if err := x.SolveVec(a, v); err != nil {
		return math.NaN()
	}
	fit.MulVec(a, &x)
	fit.SubVec(v, &fit)
	return 1 - mat.Dot(&fit, &fit)/f.total
}

// The parabola taken out on loading is the least-squares one: nothing of 1, t, t² is left.
func TestLoadTakesTheParabolaOut(t *testing.T) {
	w := make([]reading, 30)
	for i := range w {
		x := float64(i) / 10
		w[i] = reading{100 + x, 5 + 3*x - 20*x*x + 7*math.Sin(9*x)}
	}
	var f waveFit
	f.load(w)
	f.allow(drifting)
	for p := range 3 {
		sum := 0.0
		for i := range f.n {
			sum += f.v[i] * math.Pow(f.t[i], float64(p))
		}
		if math.Abs(sum) > 1e-6 {
			t.Errorf("t^%d: %v left", p, sum)
		}
	}
}

func TestBestFindsTheFrequency(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	for _, hz := range []float64{1.2, 2.1, 3.3, 4.7, 5.9} {
		w := make([]reading, 30)
		for i := range w {
			at := float64(i)/10 + 0.02*r.Float64()
			w[i] = reading{at, 50*math.Sin(2*math.Pi*hz*at) + 4*r.NormFloat64()}
		}
		var f waveFit
		f.load(w)
		f.allow(drifting)
		best := f.best(0.9, 6.5)
		if math.Abs(best.hz-hz) > 0.2 || best.share < 0.9 {
			t.Errorf("%v Hz: found %+v", hz, best)
		}
	}
}

// weighed returns the evidence for a wave in a window made by a formula with 4 rpm scatter.
func weighed(r *rand.Rand, of func(t float64) float64) weighing {
	w := make([]reading, 30)
	for i := range w {
		at := float64(i)/10 + 0.02*r.Float64()
		w[i] = reading{at, of(at) + 4*r.NormFloat64()}
	}
	var f waveFit
	f.load(detrend(make([]reading, 30), w, fitLine(w)))
	f.allow(drifting)
	return f.weigh(&standard, 4)
}

func TestEvidencePartsWaveFromWhatItIsNot(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 14))
	// Scatter passes in one window of some twelve; an alarm wants two running and a swing.
	const least = 34
	for name, c := range map[string]struct {
		of  func(t float64) float64
		yes bool
	}{
		"wave":        {func(t float64) float64 { return 40 * math.Sin(2*math.Pi*2.5*t) }, true},
		"fast wave":   {func(t float64) float64 { return 40 * math.Sin(2*math.Pi*4.7*t) }, true},
		"scatter":     {func(float64) float64 { return 30 * r.NormFloat64() }, false},
		"slow swing":  {func(t float64) float64 { return 40 * math.Sin(2*math.Pi*0.5*t) }, false},
		"one step":    {func(t float64) float64 { return 150 * math.Round(t/3) }, false},
		"two steps":   {func(t float64) float64 { return 150 * math.Mod(math.Round(t/1.2), 2) }, false},
		"nothing":     {func(float64) float64 { return 0 }, false},
		"growing one": {func(t float64) float64 { return 25 * t * math.Sin(2*math.Pi*3*t) }, true},
	} {
		r = rand.New(rand.NewPCG(13, 14))
		right := 0
		for range 40 {
			if (weighed(r, c.of).evidence > standard.evidence) == c.yes {
				right++
			}
		}
		if right < least {
			t.Errorf("%s: %d of 40 right", name, right)
		}
	}
}

func TestStepsExplainSteps(t *testing.T) {
	w := make([]reading, 30)
	for i := range w {
		w[i] = reading{float64(i) / 10, 0}
		if i > 9 && i < 20 {
			w[i].v = 100
		}
	}
	var f waveFit
	f.load(detrend(make([]reading, 30), w, fitLine(w)))
	if s := f.steps(); s[1] < 0.6 || s[2] < s[1] || s[1] < s[0] {
		t.Errorf("shares %v", s)
	}
}

func TestWeighOfNothing(t *testing.T) {
	var f waveFit
	f.load([]reading{{1, 5}, {2, 5}, {3, 5}})
	if w := f.weigh(&standard, 4); w.evidence != 0 {
		t.Errorf("%+v", w)
	}
}

// sin(x)/x at half a turn is 2/π.
func TestAveraged(t *testing.T) {
	if got := averaged(5, 0.1); math.Abs(got-2/math.Pi) > 1e-12 {
		t.Errorf("5 Hz over 0.1 s: %v, want 2/π", got)
	}
	if averaged(0, 0.1) != 1 {
		t.Error("0 Hz is not left whole")
	}
}
