package detect

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/judder-obd/judder/detect/series"
)

// The evidence is the least of two, each by gonum: shaking is weighed against a slow wave, tried in steps of 1/100
// Hz, and against a step. Floor and readings before tell the scatter: these by what a parabola and the wave of the
// window leave of them, seven parameters. The wave is as high as it
// was before the ECU averaged it (sin x/x) and before two readings became one (the cosine of half the angle between
// them).
func TestExplainAgainstGonum(t *testing.T) {
	th := limits
	th.Wanted, th.Beside, th.FloorWorth, th.LowHz, th.HighHz, th.SlowHz = 5, 1, 10, 1, 6.5, 0.75
	const rate, hz, size, usual, n = 20.0, 3.0, 100.0, 6.0, 61
	for name, other := range map[string]func(t float64) float64{
		"nothing else": func(float64) float64 { return 0 },
		"slow wave":    func(x float64) float64 { return 100 * math.Sin(2*math.Pi*0.55*x) },
		"step": func(x float64) float64 {
			if x > 1.02 {
				return 200
			}
			return 0
		},
	} {
		r := rand.New(rand.NewPCG(71, 72))
		w := make([]series.Reading, n)
		for i := range w {
			x := float64(i) / rate
			w[i] = series.Reading{T: 60 + x, V: 1700 + size/2*math.Sin(2*math.Pi*hz*x) + other(x) + 4*r.NormFloat64()}
		}
		before := make([]series.Reading, 40)
		for i := range before {
			x := float64(i-len(before)) / rate
			before[i] = series.Reading{T: 60 + x, V: 1700 + size/4*math.Sin(2*math.Pi*hz*x) + 30*x*x + 7*r.NormFloat64()}
		}
		var f, rest window
		f.load(w, &white)
		got := f.explain(&th, usual, rate, before, &rest)
		if name == "nothing else" {
			shown := math.Sin(math.Pi*hz*averagedUpTo) / (math.Pi * hz * averagedUpTo) * math.Cos(math.Pi*hz/rate)
			if !(math.Abs(got.hz-hz) <= 0.1) || !(math.Abs(got.wave*shown/size-1) <= 0.03) || !(math.Abs(got.cycles-3*got.hz) <= 1e-9) {
				t.Errorf("found at %v Hz with %v rpm, want %v", got.hz, got.wave, size/shown)
			}
			name = got.healthy.String()
		}
		cov := covariance(w, white)
		spare, shaking := float64(n-9), generalised(t, cov, columnsOf(w, got.hz, harmonic), values(w))
		slow := math.Inf(1)
		for k := 20; k <= 75; k++ {
			slow = min(slow, generalised(t, cov, columnsOf(w, float64(k)/100, drifting), values(w)))
		}
		left := stepwise(t, w, white)
		prior := 10*usual*usual + generalised(t, covariance(before, white), columnsOf(before, got.hz, drifting), values(before))
		worth := 10 + float64(len(before)-7)
		evidence, free, best := math.Inf(1), math.Inf(1), parabola
		for k, q := range []float64{slow, left[0]} {
			free = min(free, spare/2*math.Log(q/shaking))
			if e := (spare + worth) / 2 * math.Log((q+prior)/(shaking+prior)); e < evidence {
				evidence, best = e, [...]healthy{slowlyWaving, step}[k]
			}
		}
		if best.String() != name || got.healthy != best || !(math.Abs(got.evidence-evidence) <= 0.1) || !(math.Abs(got.free-free) <= 0.1) || !(math.Abs(got.left*got.left*spare/shaking-1) <= 1e-3) {
			t.Errorf("%s: %+v; by gonum %v nats, %v of its own, against %v", name, got, evidence, free, best)
		}
	}
}

// A wave is as large as the limit or more; where there is none, half as large again as the least, and with 12 nats
// of its own.
func TestLargeEnough(t *testing.T) {
	th := limits
	th.LeastRPM = 40
	d := newWith(&th)
	for _, c := range []struct {
		limit, wave, free float64
		want              bool
	}{
		{66, 66, 0, true}, {66, 65.9, 50, false}, {math.NaN(), aloneOver * 40, aloneFree, true},
		{math.NaN(), aloneOver*40 - 0.1, aloneFree, false}, {math.NaN(), aloneOver * 40, aloneFree - 0.1, false}, {math.NaN(), 500, 500, true},
	} {
		if got := d.largeEnough(&look{limit: c.limit}, &fitted{wave: c.wave, free: c.free}); got != c.want {
			t.Errorf("%+v: %v", c, got)
		}
	}
}

// explained explains the windows of a look at readings of formula, 8 in a second.
func explained(th *Tuning, n int, e look, of func(t float64) float64) look {
	d := newWith(th)
	d.in.interval = 1. / 8
	for i := range n {
		x := e.t - float64(n-1-i)/8
		d.in.rpm.Add(series.Reading{T: x, V: 1700 + of(x)})
	}
	d.explain(&e)
	return e
}

// Where nothing is as large as a wave must be, the swing is that of a sine with the same r.m.s., in the first window
// that has nine of ten readings of the last 3 s. Windows of 1, 1.5, 2.25 and 3.375 s at 8 a second: the third has 19.
func TestExplain_Swing(t *testing.T) {
	th := limits
	th.Shortest, th.Longer, th.Least, th.LeastRPM = 1, 1.5, 11, 44
	quiet := func(x float64) float64 { return 3*math.Sin(40*x) + x*x*x/20 }
	for _, c := range []struct{ readings, window int }{{22, 19}, {23, 28}} {
		e := newLook(10)
		e.readings = c.readings
		e = explained(&th, 81, e, quiet)
		var w []series.Reading
		for i := range c.window {
			x := 10 - float64(c.window-1-i)/8
			w = append(w, series.Reading{T: x, V: 1700 + quiet(x)})
		}
		if want := 2 * math.Sqrt2 * parabolaRMS(w); !(math.Abs(e.swing-want) <= 1e-9*want) {
			t.Errorf("%d readings in 3 s: %v rpm, want %v of %d", c.readings, e.swing, want, c.window)
		}
	}
}

// As many readings as a window has at least are explained, and fewer are not. A wave leaves what it
// leaves in the window where that is least. A wave that is too small gives the floor nothing.
func TestExplain_Least(t *testing.T) {
	th := limits
	th.Shortest, th.Longer, th.Least, th.LeastRPM, th.Wanted, th.Beside = 1, 1.5, 11, 44, 5, 1
	wave := func(size float64) func(float64) float64 {
		return func(x float64) float64 { return size / 2 * math.Sin(2*math.Pi*1.6*x) }
	}
	for _, n := range []int{10, 11} {
		if e := explained(&th, n, look{t: 10, limit: 44, usual: 3}, wave(120)); (e.fit.hz > 0) != (n == 11) {
			t.Errorf("%d readings: %v Hz", n, e.fit.hz)
		}
	}
	for _, c := range []struct {
		size  float64 // of the wave, of 44 rpm
		learn bool
	}{{1.1, true}, {0.93, false}} {
		if e := explained(&th, 12, look{t: 10, limit: 44, usual: 3}, wave(c.size*44)); (e.shown.wave.span == 0) == c.learn || e.fit.hz == 0 {
			t.Errorf("a wave of %v the least: leaves %v rpm, %v Hz", c.size, e.shown.wave.left, e.fit.hz)
		}
	}
	r := rand.New(rand.NewPCG(47, 48))
	for _, calm := range []float64{8.1, 0} { // s, from when on nothing but the wave is read; or never
		e := explained(&th, 81, look{t: 10, limit: 44, usual: 3}, func(x float64) float64 {
			if calm > 0 && x > calm {
				return wave(200)(x)
			}
			return wave(200)(x) + 9*r.NormFloat64()
		})
		if calm > 0 && !(e.shown.wave.left <= 1) || calm == 0 && !(e.shown.wave.left > 2) {
			t.Errorf("calm from %v s: the wave leaves %v rpm", calm, e.shown.wave.left)
		}
	}
}

// A swing passes that lasts as long as it must; and one under a new load is weighed against a limit of its own.
func TestExplain_Lasts(t *testing.T) {
	th := limits
	th.Wanted, th.Beside, th.Lasts, th.LeastRPM = 5, 1, 0, 44
	swing := func(x float64) float64 {
		if x < 8 {
			return 0
		}
		return 80 * math.Sin(2*math.Pi*1.6*x)
	}
	e := explained(&th, 81, look{t: 10, limit: 44, usual: 3, readings: 25}, swing)
	if !e.passed || !(e.last-e.first > 1) {
		t.Fatalf("%+v", e)
	}
	for extra, want := range map[float64]bool{0: true, 1. / 8: false} {
		th.Lasts = e.last - e.first + extra
		if got := explained(&th, 81, look{t: 10, limit: 44, usual: 3, readings: 25}, swing); got.passed != want {
			t.Errorf("%v s, %v wanted: passed %v", e.last-e.first, th.Lasts, got.passed)
		}
	}
	th.Lasts = 0
	unknown := math.NaN()
	if e = explained(&th, 81, look{t: 10, limit: unknown, usual: unknown, readings: 25}, swing); !e.passed || e.limit != aloneOver*44 || !(e.smallest > smallestMore*e.limit) || e.smallest > 2*e.limit {
		t.Errorf("under a new load: %+v", e)
	}
}
