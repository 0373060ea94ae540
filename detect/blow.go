package detect

import "math"

// besideBlow returns the evidence, nats, for the wave that was solved for last, in the readings that
// stay when a stretch of some seconds and readings is taken out, whichever leaves least. A single
// blow, a step or a lost reading has its evidence in one place; a wave has it all over the window.
// The parabola is fitted again to what stays; the wave is that of the whole window.
func (w *window) besideBlow(kind shape, seconds float64, readings int, weigh weigher) float64 {
	rest := w.left[:w.n]
	copy(rest, w.v[:w.n])
	for k := range 4 {
		if kind == plain && k > 1 {
			break
		}
		col := w.column(k, kind)
		for i := range rest {
			rest[i] -= w.fit[k] * col[i]
		}
	}
	whole := dot(rest, rest)
	least := math.Inf(1)
	for from := 0; from == 0 || from+readings <= w.n; from++ {
		healthy, shaking, n := w.without(from, seconds, readings, rest)
		stays := weigher{spare: max(1, weigh.spare-float64(n)), worth: weigh.worth, prior: weigh.prior, shaking: max(0, whole-shaking)}
		least = min(least, stays.known(max(0, healthy)))
	}
	return least
}

// without takes a stretch of readings out that begins at from. It returns what a parabola leaves of
// the others, what the wave leaves of those taken out, and how many these are. The first reading
// behind the stretch is whitened with the last one in it, and goes, too.
func (w *window) without(from int, seconds float64, readings int, rest []float64) (healthy, shaking float64, n int) {
	g := [4][4]float64{{1}, {0, 1}, {0, 0, 1}}
	var b [4]float64
	healthy = w.total
	for i := from; i < w.n; i++ {
		behind := n >= readings && (w.t[i]-w.t[from])*w.span/2 > seconds
		v := w.v[i]
		healthy -= v * v
		shaking += rest[i] * rest[i]
		for j := range 3 {
			b[j] -= w.p[j][i] * v
			for k := range j + 1 {
				g[j][k] -= w.p[j][i] * w.p[k][i]
			}
		}
		n++
		if behind {
			break
		}
	}
	_, sum := solve(&g, &b)
	return healthy - sum, shaking, n
}

// column returns a column of the wave at the present frequency, whitened and without the parabola.
// It is overwritten by the next.
func (w *window) column(k int, kind shape) []float64 {
	col := w.dc[:w.n]
	for i := range col {
		c, s := w.c[i], w.s[i]
		x, y := w.t[i]*c, w.t[i]*s
		if kind == harmonic {
			x, y = c*c-s*s, 2*s*c
		}
		col[i] = [4]float64{c, s, x, y}[k]
	}
	w.whiten(col)
	for j := range 3 {
		w.takeOut(col, j)
	}
	return col
}
