package detect

import "math"

// besideBlow returns the evidence, nats, for the wave that was solved for last, in the readings that
// stay when a stretch of some seconds is taken out, whichever leaves least. A single
// blow, a step or a lost reading has its evidence in one place; a wave has it all over the window.
// The parabola is fitted again to what stays; the wave is that of the whole window. rest is scratch
// memory.
func (w *window) besideBlow(seconds float64, weigh weigher, rest *window) float64 {
	var wave [mostReadings]float64
	for i := range w.n {
		wave[i] = w.waveAt(i)
	}
	least := math.Inf(1)
	for from := range w.n {
		out := rest.without(w, from, seconds)
		if rest.n < 4 {
			return 0
		}
		for i := range rest.n {
			k := i
			if i >= from {
				k += out
			}
			rest.left[i] = wave[k]
		}
		stays := weigher{spare: max(1, weigh.spare-float64(out)), worth: weigh.worth, prior: weigh.prior, shaking: rest.besideOf(rest.left[:rest.n])}
		least = min(least, stays.known(rest.total))
	}
	return least
}

// without takes the readings of a window without the stretch that begins at from, and returns how many
// that has.
func (w *window) without(whole *window, from int, seconds float64) (out int) {
	w.n, w.noise = 0, whole.noise
	for i := range whole.n {
		if i >= from && whole.read[i].T-whole.read[from].T <= seconds {
			out++
			continue
		}
		w.read[w.n] = whole.read[i]
		w.n++
	}
	if w.n > 0 {
		w.prepare()
	}
	return out
}

// besideOf returns the sum of squares that a wave of given values and a parabola leave.
func (w *window) besideOf(wave []float64) (sum float64) {
	w.whiten(wave)
	for k := range 3 {
		w.takeOut(wave, k)
	}
	for i, x := range wave {
		sum += (w.v[i] - x) * (w.v[i] - x)
	}
	return sum
}
