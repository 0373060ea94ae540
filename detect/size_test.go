package detect

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"

	"github.com/judder-obd/judder/detect/series"
)

// The height of a wave about a reading is that of line and wave fitted by gonum's QR to the readings within
// half a period of it, both ends with them, and to three on either side at least.
func TestLocalHeightAgainstGonum(t *testing.T) {
	r := rand.New(rand.NewPCG(51, 52))
	for _, c := range []struct {
		rate, hz float64
		beside   int
	}{{16, 2, 4}, {8, 2, 3}, {4, 1, 3}, {32, 2, 8}, {16, 1, 8}} { // exact in binary: half a period of 2 Hz is 0.25 s
		w := make([]series.Reading, 40)
		for i := range w {
			x := float64(i) / c.rate
			w[i] = series.Reading{T: x, V: 1700 + 9*x + 40*math.Sin(2*math.Pi*c.hz*x+1) + 5*r.NormFloat64()}
		}
		for i := range w {
			from, to := max(0, i-c.beside), min(len(w)-1, i+c.beside)
			n := to - from + 1
			a, v := mat.NewDense(n, 4, nil), mat.NewDense(n, 1, nil)
			for k, x := range w[from : to+1] {
				s, co := math.Sincos(2 * math.Pi * c.hz * (x.T - w[i].T))
				a.SetRow(k, []float64{1, x.T - w[i].T, co, s})
				v.Set(k, 0, x.V)
			}
			var x mat.Dense
			if err := x.Solve(a, v); err != nil || n < 5 {
				continue // as many columns as readings
			}
			low, high := series.Range(w[from : to+1])
			want := min(math.Hypot(x.At(2, 0), x.At(3, 0)), mostHidden/2*(high-low))
			if got := localHeight(w, i, 0.5/c.hz, c.hz); !(math.Abs(got-want) <= 1e-3*want) {
				t.Errorf("%v a second, %v Hz, reading %d: %v rpm, gonum %v", c.rate, c.hz, i, got, want)
			}
		}
	}
}

// A burst of formula is traced from its beginning to its end, within a quarter of a period, with its size;
// readings long before or behind a pause of the wave are not of it.
func TestTrace(t *testing.T) {
	const hz, size = 2.0, 100.0
	for _, c := range []struct {
		name        string
		bursts      [][2]float64
		first, last float64
	}{
		{"one", [][2]float64{{7, 9}}, 7, 9},
		{"until now", [][2]float64{{7.5, 11}}, 7.5, 10},
		{"after a pause", [][2]float64{{5, 6.5}, {8.5, 9.75}}, 8.5, 9.75},
		{"longer ago than is looked", [][2]float64{{1, 10}}, 10 - traceSpan, 10},
	} {
		d := New()
		d.in.interval = 1. / 16
		for i := range 161 {
			x := series.Reading{T: float64(i) / 16, V: 1700}
			for _, b := range c.bursts {
				if x.T >= b[0] && x.T <= b[1] {
					x.V += size / 2 * math.Sin(2*math.Pi*hz*x.T)
				}
			}
			d.in.rpm.Add(x)
		}
		e := look{t: 10, fit: fitted{hz: hz, span: 2}}
		d.trace(&e)
		if !(math.Abs(e.first-c.first) <= 0.25/hz) || !(math.Abs(e.last-c.last) <= 0.25/hz) {
			t.Errorf("%s: from %v to %v s, want %v to %v", c.name, e.first, e.last, c.first, c.last)
		}
		if c.name == "longer ago than is looked" && e.first != 10-traceSpan || c.bursts[0][1] >= 10 && e.last != 10 {
			t.Errorf("%s: from %v to %v s", c.name, e.first, e.last)
		}
		want := size / averaged(hz, averagedOver) / meanOf(hz, 1./16, standard.Near) // as it was before an ECU averaged it
		if e.size < 0.85*want || e.size > 1.02*want {
			t.Errorf("%s: %v rpm, want a little less than %v at most", c.name, e.size, want)
		}
		mean, n, seen := 0.0, 0.0, d.back(10, traceSpan)
		for i, x := range seen {
			if x.T >= e.first && x.T <= e.last {
				mean, n = mean+localHeight(seen, i, 0.5/hz, hz), n+1
			}
		}
		if mean *= 2 / n * want / size; !(math.Abs(e.size-mean) <= 1e-9*mean) {
			t.Errorf("%s: %v rpm, %v is the mean from end to end", c.name, e.size, mean)
		}
	}
}

// A swing goes on through a hole of one period in the readings, and not through a longer one, on both sides of
// where it is largest in the window, whose first reading counts.
func TestTrace_Hole(t *testing.T) {
	const hz = 2.0
	for _, c := range []struct {
		hole          float64
		before, after float64 // rpm
		first, last   float64
		span          float64 // s, of the window that shows it
	}{
		{1 / hz, 80, 100, 6, 10, 4}, {1/hz + 1./16, 80, 100, 8 + 1/hz + 1./16, 10, 4}, {1 / hz, 100, 80, 6, 10, 4}, {1/hz + 1./16, 100, 80, 6, 8, 4},
		{1/hz + 1./16, 100, 40, 6, 8, 2}, {1/hz + 1./16, 100, 40, 8 + 1/hz + 1./16, 10, 1.99}, // from 8 s on, and from later
	} {
		d := newWith(&limits)
		d.in.interval = 1. / 16
		for i := 6 * 16; i <= 10*16; i++ {
			x := float64(i) / 16
			size := c.before
			if x > 8 {
				size = c.after
			}
			if x <= 8 || x >= 8+c.hole {
				d.in.rpm.Add(series.Reading{T: x, V: 1700 + size/2*math.Sin(2*math.Pi*hz*x)})
			}
		}
		e := look{t: 10, fit: fitted{hz: hz, span: c.span}}
		if d.trace(&e); e.first != c.first || e.last != c.last {
			t.Errorf("%+v: from %v to %v s", c, e.first, e.last)
		}
	}
}

// A column that is the double of another explains nothing more, and gets nothing.
func TestSolve_SameColumn(t *testing.T) {
	g := [waveColumns][waveColumns]float64{{4}, {2, 5}, {8, 4, 16}} // the third is twice the first
	b := [waveColumns]float64{4, 3, 8}
	x, sum := solve(&g, &b, 3)
	// By hand: 4x + 2y = 4 and 2x + 5y = 3 give x = 7/8 and y = 1/4; 4x + 3y = 17/4 is explained.
	if !(math.Abs(x[0]-7./8) <= 1e-12) || !(math.Abs(x[1]-1./4) <= 1e-12) || x[2] != 0 || !(math.Abs(sum-17./4) <= 1e-12) {
		t.Errorf("%v, explains %v", x[:3], sum)
	}
	// So does one that differs by a few millionths of its square, however large all are.
	g = [waveColumns][waveColumns]float64{{4e6}, {2e6, 5e6}, {8e6, 4e6, 16e6 + 80}}
	b = [waveColumns]float64{4e6, 3e6, 8e6 + 1}
	if x, _ := solve(&g, &b, 3); x[2] != 0 || !(math.Abs(x[0]-7./8) <= 1e-9) {
		t.Errorf("almost the same column: %v", x[:3])
	}
	g = [waveColumns][waveColumns]float64{{4}, {8, 16}, {2, 4, 5}} // the second is twice the first
	b = [waveColumns]float64{4, 8, 3}
	if x, sum := solve(&g, &b, 3); !(math.Abs(x[0]-7./8) <= 1e-12) || x[1] != 0 || !(math.Abs(x[2]-1./4) <= 1e-12) || !(math.Abs(sum-17./4) <= 1e-12) {
		t.Errorf("the same column between: %v, explains %v", x[:3], sum)
	}
}
