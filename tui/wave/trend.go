package wave

import (
	"math"
	"slices"
	"time"
)

// TrendSpan is the time over which the trend is a straight line: the window of the detector, so
// that the picture shows the swing that is judged.
const TrendSpan = 3 * time.Second

// sums are running sums over readings, from which a line is fitted to any stretch of them at once.
type sums struct{ t, v, tt, tv, vv []float64 }

// load takes the readings, counted from their middle so that the sums stay small.
func (s *sums) load(rs []Reading) {
	for _, x := range []*[]float64{&s.t, &s.v, &s.tt, &s.tv, &s.vv} {
		*x = append((*x)[:0], 0)
	}
	for i, r := range rs {
		t, v := (r.At - rs[0].At).Seconds(), r.Value-rs[0].Value
		s.t, s.v = append(s.t, s.t[i]+t), append(s.v, s.v[i]+v)
		s.tt, s.tv, s.vv = append(s.tt, s.tt[i]+t*t), append(s.tv, s.tv[i]+t*v), append(s.vv, s.vv[i]+v*v)
	}
}

// line is a straight line and the r.m.s. that it leaves; n readings made it.
type line struct {
	at, mean, slope, left float64
	n                     int
}

func (l line) of(t float64) float64 { return l.mean + l.slope*(t-l.at) }

// fit fits the readings from..to-1.
func (s *sums) fit(from, to int) line {
	n := to - from
	if n < 1 {
		return line{left: math.Inf(1)}
	}
	k := float64(n)
	of := func(x []float64) float64 { return (x[to] - x[from]) / k }
	l := line{at: of(s.t), mean: of(s.v), n: n}
	tt, tv, vv := of(s.tt)-l.at*l.at, of(s.tv)-l.at*l.mean, of(s.vv)-l.mean*l.mean
	if tt > 1e-9 {
		l.slope = tv / tt
	}
	l.left = math.Sqrt(max(vv-l.slope*tv, 0))
	return l
}

// The trend of a reading is the line through the TrendSpan around it. Where a line through the time
// before it alone, or after it alone, leaves less than half of what that one leaves, engine speed
// has stepped near by, and the trend is the better line: a step must not bend the wave next to it.
const (
	betterShare = 0.5
	stepSuspect = 20.0 // rpm r.m.s. that the line around must leave for a step to be thought of
	sideLeast   = 1200 * time.Millisecond
	stepLeast   = 80.0 // rpm that a step must have to be marked
)

// side is which line a trend was taken from.
type side uint8

const (
	around side = iota
	before
	after
)

// segment adds the points and steps of readings without a gap.
func (t *Trace) segment(c *Cut, rs []Reading) {
	if len(rs) < 3 || rs[len(rs)-1].At < c.From || rs[0].At > c.To {
		return
	}
	t.sums.load(rs)
	first, was := true, around
	for i, r := range rs {
		if r.At > c.To {
			break
		}
		l, from := t.trend(rs, i)
		if was == before && from == after {
			t.step(c, rs, r.At)
		}
		if from != around {
			was = from
		}
		if r.At < c.From {
			continue
		}
		x := (r.At - rs[0].At).Seconds()
		t.Points = append(t.Points, Point{r.At, r.Value - rs[0].Value - l.of(x), first})
		first = false
	}
}

// trend is the line that is the trend of the reading i.
func (t *Trace) trend(rs []Reading, i int) (line, side) {
	at, begin, end := rs[i].At, rs[0].At, rs[len(rs)-1].At
	lo, hi := at-TrendSpan/2, at+TrendSpan/2
	switch {
	case lo < begin:
		lo, hi = begin, begin+TrendSpan
	case hi > end:
		lo, hi = end-TrendSpan, end
	}
	best, from := t.between(rs, lo, hi), around
	if best.left < stepSuspect {
		return best, from
	}
	limit := betterShare * best.left
	if l := t.between(rs, at-TrendSpan, max(at, begin+sideLeast)); l.left < limit {
		best, from, limit = l, before, l.left
	}
	if l := t.between(rs, min(at, end-sideLeast), at+TrendSpan); l.left < limit {
		best, from = l, after
	}
	return best, from
}

// between fits the readings from lo to hi.
func (t *Trace) between(rs []Reading, lo, hi time.Duration) line {
	return t.sums.fit(place(rs, lo), place(rs, hi+1))
}

// place is the index of the first reading not before at.
func place(rs []Reading, at time.Duration) int {
	i, _ := slices.BinarySearchFunc(rs, at, func(r Reading, at time.Duration) int { return int(r.At - at) })
	return i
}

// step marks a step near at, if it is large enough.
func (t *Trace) step(c *Cut, rs []Reading, at time.Duration) {
	const aside, far = 400 * time.Millisecond, 2400 * time.Millisecond
	l, r := t.between(rs, at-far, at-aside), t.between(rs, at+aside, at+far)
	if at < c.From || l.n < 3 || r.n < 3 {
		return
	}
	x := (at - rs[0].At).Seconds()
	if size := r.of(x+aside.Seconds()) - l.of(x-aside.Seconds()); math.Abs(size) >= stepLeast {
		t.Steps = append(t.Steps, Step{at, size})
	}
}
