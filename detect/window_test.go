package detect

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/judder-obd/judder/detect/series"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// stepwise returns what a parabola and one and two steps leave, the second where it helps most beside the
// first (forward selection, as text books have it), with two readings on either side at least. A step that
// the columns before explain to 98 % does not count.
func stepwise(t *testing.T, w []series.Reading, n noise) (left [mostSteps]float64) {
	t.Helper()
	columns := append(columnsOf(w, 1, plain)[:3:3], values(w))
	for at := range len(w) {
		columns = append(columns, make([]float64, len(w)))
		for i := at + 1; i < len(w); i++ {
			columns[4+at][i] = 1
		}
	}
	white := whitened(t, covariance(w, n), columns)
	chosen, v, steps := white[:3:3], white[3], white[4:]
	for k := range left {
		best := math.Inf(1)
		var column []float64
		for _, step := range steps[1 : len(w)-2] {
			if _, own := leastSquares(t, chosen, step); dot(own, own) <= 0.02*dot(step, step) {
				continue
			}
			_, rest := leastSquares(t, append(chosen[:len(chosen):len(chosen)], step), v)
			if q := dot(rest, rest); q < best*(1-1e-12) {
				best, column = q, step
			}
		}
		chosen, left[k] = append(chosen, column), best
	}
	return left
}

// One and two steps leave what they leave by gonum, wherever they are.
func TestStepsAgainstGonum(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	wander := newNoise(0.5, 0.7, 0.08)
	for _, c := range []struct {
		noise *noise
		n     int
		ups   []int // a reading from which all are higher, or lower
	}{
		{&wander, 30, []int{9, -17, 25}}, {&wander, 30, []int{9, 17, 25}}, {&wander, 30, []int{-9, -17, -25}}, {&wander, 30, []int{1}}, {&wander, 30, []int{2}},
		{&wander, 30, []int{28}}, {&wander, 30, []int{29}}, {&wander, 30, []int{5, 10, -12, 20, -26}}, {&wander, 30, nil}, {&white, 61, []int{10, -11}},
	} {
		w := uneven(r, c.n, func(float64) float64 { return 5 * r.NormFloat64() })
		for _, at := range c.ups {
			for i := range w {
				if at > 0 && i >= at {
					w[i].V += 80
				} else if at < 0 && i >= -at {
					w[i].V -= 80
				}
			}
		}
		var f window
		f.load(w, c.noise)
		want := stepwise(t, w, *c.noise)
		for k := range mostSteps {
			if part := f.steps(k + 1); !(math.Abs(f.total-part-want[k]) <= 1e-6*f.total) {
				t.Errorf("steps at %v, %d tried: %v is left of %v, by gonum %v", c.ups, k+1, f.total-part, f.total, want[k])
			}
		}
	}
}

// Four readings have one place for a step, and it explains all that a parabola leaves. Three readings have no
// place, and readings that are all the same have no step.
func TestSteps_Few(t *testing.T) {
	var f window
	if f.load(at(0, 0, 1, 9, 2, 0, 3, 9), &white); !(math.Abs(f.steps(1)/f.total-1) <= 1e-9) || f.steps(mostSteps) != f.steps(1) {
		t.Errorf("four readings: %v and %v of %v", f.steps(1), f.steps(mostSteps), f.total)
	}
	for _, w := range [][]series.Reading{at(0, 0, 1, 9, 2, 0), at(0, 7, 1, 7, 2, 7, 3, 7, 4, 7, 5, 7)} {
		if f.load(w, &white); f.steps(1) != 0 || f.steps(mostSteps) != 0 {
			t.Errorf("%d readings: %v and %v", len(w), f.steps(1), f.steps(mostSteps))
		}
	}
}

// How likely a colour is, is the restricted likelihood of the text books, its scatter at its likeliest size:
// −m/2·ln Q − (ln det C + ln det XᵀC⁻¹X)/2, by gonum. Rounding to a quarter adds q²/12 to each reading, so that
// readings without scatter have a likelihood, too. Three readings are on one parabola and have no say.
func TestLikelihoodAgainstGonum(t *testing.T) {
	r := rand.New(rand.NewPCG(61, 62))
	n := newNoise(0.3, 0.6, 0.07)
	for _, size := range []float64{5, 0.05, 0} {
		w := uneven(r, 16, func(x float64) float64 { return 1700 + size*r.NormFloat64() })
		cov := covariance(w, n)
		var chol mat.Cholesky
		if !chol.Factorize(cov) {
			t.Fatal("covariance is not positive")
		}
		columns := columnsOf(w, 1, plain)[:3]
		var x, xx mat.Dense
		x.Stack(mat.NewDense(2, 16, slices.Concat(whitened(t, cov, columns)[:2]...)), mat.NewDense(1, 16, whitened(t, cov, columns)[2]))
		xx.Mul(&x, x.T())
		m := 16. - 3
		logDet, _ := mat.LogDet(&xx)
		want := -m/2*math.Log(generalised(t, cov, columns, values(w))+m*0.25*0.25/12) - (chol.LogDet()+logDet)/2
		var f window
		if f.load(w, &n); !(math.Abs(f.likelihood()-want) <= 1e-6*math.Abs(want)) {
			t.Errorf("scatter of %v rpm: ln %v, by gonum %v", size, f.likelihood(), want)
		}
		if f.load(w[:3], &n); f.likelihood() != 0 {
			t.Errorf("three readings: ln %v", f.likelihood())
		}
	}
	var f window
	if f.load(at(3, 0, 3, 2, 3, 1, 3, 5, 3, 2), &white); math.IsNaN(f.likelihood()) || math.IsInf(f.likelihood(), 0) {
		t.Errorf("readings of one time: ln %v", f.likelihood())
	}
}

// A plain wave of any frequency of the band is found with all but 2 % of its sum of squares; both ends of the
// band are tried, and nothing beyond.
func TestBest(t *testing.T) {
	made := func(n int, rate, hz float64) (f window) {
		w := make([]series.Reading, n)
		for i := range w {
			x := float64(i) / rate
			w[i] = series.Reading{T: 60 + x, V: 1700 + 50*math.Sin(2*math.Pi*hz*x+1)}
		}
		f.load(w, &white)
		return f
	}
	for hz := 1.0; hz < 6.5; hz += 0.03 {
		f := made(61, 20, hz)
		if got := f.best(1, 6.5, plain); !(got.part >= 0.98*f.total) || !(math.Abs(got.hz-hz) <= 0.1) {
			t.Errorf("%v Hz: found at %v with %v of its squares", hz, got.hz, got.part/f.total)
		}
	}
	for _, c := range []struct{ low, high, want float64 }{{1, 1.375, 1.375}, {1, 1.25, 1.25}, {1.75, 3, 1.75}} { // windows of 2 s: steps of 1/4 Hz, and halves of them
		f := made(33, 16, 1.5)
		f.load(f.read[:33], &white)
		if c.want == 1.375 {
			f = made(33, 16, 1.375)
		}
		if got := f.best(c.low, c.high, drifting); got.hz != c.want {
			t.Errorf("from %v to %v Hz: found at %v, want %v", c.low, c.high, got.hz, c.want)
		}
	}
	// Beside a parabola four readings leave one number free, and any wave explains it; three leave none.
	f := made(4, 8, 2)
	if got := f.best(1, 3, plain); !(math.Abs(got.part-f.total) <= 1e-9*f.total) || f.total == 0 {
		t.Errorf("four readings: %v explained of %v", got.part, f.total)
	}
	f = made(3, 8, 2)
	if got := f.best(1, 3, plain); got.part != 0 || got.hz != 1 {
		t.Errorf("three readings: %+v", got)
	}
}

// The height of a wave is that of the sine with its population s.d. over the window, by gonum, wherever the
// window cuts it.
func TestHeightAgainstGonum(t *testing.T) {
	for _, turns := range []float64{1.25, 1.5, 1.8, 3} {
		var w []series.Reading
		for i := range 33 {
			x := float64(i) / 16
			w = append(w, series.Reading{T: 9 + x, V: 1700 + 50*math.Sin(math.Pi*turns*x+0.5)})
		}
		var f window
		f.load(w, &usualNoise)
		if got, want := f.swing(turns/2, plain), 2*math.Sqrt2*stat.PopStdDev(values(w), nil); !(math.Abs(got-want) <= 1e-6*want) {
			t.Errorf("%v turns: %v rpm, gonum %v", turns, got, want)
		}
	}
}

// A fit finds the same at whatever hour and from whatever engine speed on.
func TestFitAtAnyHour(t *testing.T) {
	r := rand.New(rand.NewPCG(63, 64))
	var early, late []series.Reading
	for i := range 33 {
		x := series.Reading{T: float64(i) / 16, V: math.Round(4*(50*math.Sin(12*float64(i)/16)+20*r.NormFloat64())) / 4}
		early = append(early, x)
		late = append(late, series.Reading{T: 1<<16 + x.T, V: 4096 + x.V})
	}
	of := func(w []series.Reading) []float64 {
		var f window
		f.load(w, &usualNoise)
		f.aim(2, 0)
		return []float64{f.total, f.explained(harmonic), parabolaRMS(w), localHeight(w, 9, 0.25, 2)}
	}
	a, b := of(early), of(late)
	for i := range a {
		if !(math.Abs(a[i]/b[i]-1) <= 1e-9) {
			t.Errorf("number %d: %v, and %v after 18 h", i, a[i], b[i])
		}
	}
}

// A window holds so many readings, and every second or third where there are more.
func TestLoad_Thins(t *testing.T) {
	for n, want := range map[int]int{mostReadings: mostReadings, mostReadings + 1: mostReadings/2 + 1, 2 * mostReadings: mostReadings, 2*mostReadings + 1: (2*mostReadings + 3) / 3} {
		w := make([]series.Reading, n)
		for i := range w {
			w[i].T = float64(i)
		}
		var f window
		if f.load(w, &white); f.n != want || f.read[1].T != math.Ceil(float64(n)/mostReadings) {
			t.Errorf("of %d readings %d are taken, the second of %v", n, f.n, f.read[1].T)
		}
	}
}
