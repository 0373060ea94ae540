package bench

import (
	"math"
	"math/rand/v2"
	"time"

	"github.com/judder-obd/judder/pids"
)

// Read reads the drive at a rate, in readings of engine speed a second, through a computer
// that averages and refreshes and a link that jitters and loses.
func (x *formula) Read(a Asking) *Drive {
	w, rate := x.w, a.Rate
	r := rand.New(rand.NewPCG(x.scene.Seed, 99))
	between := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	mean := between(0.02, 0.1)
	refresh := 0.0
	if r.Float64() < 0.5 {
		refresh = between(0.02, 0.11)
	}
	if a.Renewed > 0 {
		refresh = a.Renewed
	}
	jitter, late := between(0.05, 0.25), between(0.003, 0.03)
	if a.UnevenPct > 0 {
		jitter = 0.05
	}
	d := &Drive{Scene: x.scene, Asking: a, Length: float64(w.n) * tick, Spans: w.spans}
	put := func(t float64, s pids.Signal, v float64) {
		d.Samples = append(d.Samples, pids.Sample{At: time.Duration(t * 1e9), ECU: "7E8", Signal: s, Value: v})
	}
	lastPut, nextCoolant := 0.0, 0.0
	for t, i := 0.1, 0; t < d.Length-0.2; i++ {
		ask := t
		if refresh > 0 {
			ask = math.Floor(t/refresh) * refresh
		}
		got := max(lastPut+1e-4, t+math.Abs(late*r.NormFloat64()))
		put(got, pids.RPM, math.Round(4*w.mean(ask, mean))/4)
		k := int(t * stepHz)
		switch i % 3 {
		case 0:
			put(got+1e-5, pids.VSS, math.Floor(w.speed[k]))
		case 1:
			put(got+1e-5, pids.TP, math.Round(w.pedal[k]*2.55)/2.55)
		default:
			if i%6 == 5 && x.reportsGear() {
				put(got+1e-5, pids.GearAct, float64(w.gear[k]))
			} else {
				put(got+1e-5, pids.LoadPct, math.Round(w.load[k]*2.55)/2.55)
			}
		}
		if t >= nextCoolant {
			nextCoolant += 10
			put(got+1e-5, pids.ECT, math.Round(w.coolant(k)))
		}
		lastPut = got + 1e-5
		step := 1 + jitter*r.NormFloat64()
		if a.UnevenPct > 0 {
			step *= 1 + a.UnevenPct/100*(2*r.Float64()-1)
		}
		t += max(0.01, step/rate)
		if r.Float64() < 1/(120*rate) {
			t += between(0.5, 3)
		}
	}
	for _, c := range w.cruises {
		if v := w.speed[min((c[0]+c[1])/2, w.n-1)]; v > 31 && v < 114 {
			d.pass(float64(c[1]-c[0]) * tick)
		}
	}
	return d
}

// reportsGear: one stepped car in three does.
func (x *formula) reportsGear() bool { return x.scene.Seed%3 == 0 && !x.w.untied.any() }

// mean returns engine speed averaged over the span that ends at t.
func (w *world) mean(t, over float64) float64 {
	b := int(clamp(t*stepHz, 0, float64(w.n-1)))
	a := max(0, b-int(over*stepHz))
	sum := 0.0
	for i := a; i <= b; i++ {
		sum += w.rpm[i]
	}
	return sum / float64(b-a+1)
}
