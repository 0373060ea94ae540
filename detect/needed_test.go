package detect

import (
	"math"
	"math/rand/v2"
	"testing"
)

// What a wave must show follows its size and what it leaves; the numbers are the formula's
// own, computed here by hand from the table.
func TestNeededEvidence(t *testing.T) {
	d := New()
	d.fit.askedHz = 10
	d.conditions.hasLoad, d.conditions.load = true, reading{0, 20}
	for i := range 200 { // the usual load of quiet cruise is 20 %
		d.floors.load.add(float64(i), 20)
	}
	th := d.th
	plain := evaluation{hz: 3, wave: 50, limit: 50, left: 5, floor: 4}
	if got := d.needed(&plain); math.Abs(got-th.evidence) > 1e-9 {
		t.Errorf("a wave as large as the limit needs %v, want %v", got, th.evidence)
	}
	for _, c := range []struct {
		name   string
		change func(*evaluation)
		want   float64 // more than the plain one
	}{
		{"e-fold too small", func(e *evaluation) { e.wave /= math.E }, th.sizeWorth},
		{"twenty times too small counts as one e-fold", func(e *evaluation) { e.wave /= 20 }, th.sizeWorth},
		{"larger", func(e *evaluation) { e.wave *= 1.5 }, -th.sizeWorth * math.Log(1.5)},
		{"large beyond what counts", func(e *evaluation) { e.wave *= 4 }, -th.sizeWorth * th.sizeMost},
		{"large but slow", func(e *evaluation) { e.wave *= 1.5; e.hz = 1.5 }, 0},
		{"large but perhaps the alias of a slow one", func(e *evaluation) { e.wave *= 1.5; e.hz = 8.5 }, 0},
		{"leaves an e-fold too much", func(e *evaluation) { e.left = math.E * math.Hypot(th.leftUsual*4, th.leftShape*50) }, th.leftPrice},
	} {
		e := plain
		c.change(&e)
		if got := d.needed(&e) - th.evidence; math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%s: %+v more, want %+v", c.name, got, c.want)
		}
	}
	d.conditions.load.v = 20 + th.ladenOver + 2
	if got := d.needed(&plain); got != th.evidenceLaden {
		t.Errorf("under load %v, want %v", got, th.evidenceLaden)
	}
}

// What swingsOf leaves holds as many swings of any larger size as zigzag counts in the whole.
func TestSwingsOfKeepsLargerSwings(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 500 {
		w := make([]reading, 2+r.IntN(60))
		x := make([]float64, len(w))
		for i := range w {
			w[i] = reading{float64(i), math.Round(40 * r.NormFloat64())}
			x[i] = w[i].v
		}
		size := 1 + 60*r.Float64()
		kept := swingsOf(x, size)
		larger := size * (1 + r.Float64())
		want, _, _ := zigzag(w, larger)
		if want > 0 && !atLeast(kept, larger, want) || len(kept) > 1 && atLeast(kept, larger, want+1) {
			t.Fatalf("swings of %v in %v: not %d as in the whole", larger, kept, want)
		}
	}
}
