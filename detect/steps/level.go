package steps

import (
	"math"

	"github.com/judder-obd/judder/detect/series"
)

// levelWatch looks for a change of the level of engine speed at the same road speed.
type levelWatch struct {
	best      float64 // rpm, of the change that is being seen
	bestT     float64 // s, the look that saw most of it
	notBefore float64 // s, what was found already
}

func (l *levelWatch) reset() { *l = levelWatch{notBefore: math.Inf(-1)} }

// A change of level: the mean of a block that ends now against one that ended before the gap, in
// which the change is done (a release raises engine speed within 1.5 s). A clutch that shudders slips
// more, so engine speed is compared with the lowest level of the last seconds under this throttle.
const (
	blockOver   = 1.0  // s
	changeOver  = 1.2  // s, the gap
	blocksBack  = 4    // blocks before the gap
	blockLeast  = 4    // readings in a block
	stepLeast   = 80.  // rpm beyond what road speed explains (trade: +80 to +200 on release at light load, computed from a public converter table)
	rawLeast    = 60.  // rpm of them that were really added: a car that slows down raises the ratio alone
	levelWithin = 0.35 // of the change, by which the new level may move by itself
	levelLeast  = 40.  // rpm, that it always may
	levelHolds  = 1.2  // s that it lasts: a surge is at its crest for less
	levelKMH    = 30.  // from here (below it, whole km/h hide the ratio)
	demandLower = 20.  // %, which a driver may move to hold the speed in a lower gear
	quickOver   = 1.5  // s that the change lasts at most
	peakAfter   = 0.3  // s without more
	onsetShare  = 0.4  // of the change: a swing that is as large, and that begins with it,
	onsetMore   = 1.3  // being so many times the one before, is a shudder's
)

func (w *Watch) lookLevel(t float64) {
	l := &w.level
	rise := w.rise(t)
	if rise > l.best {
		l.best, l.bestT = rise, t
		return
	}
	if l.best > 0 && (t-l.bestT >= peakAfter || rise == 0) {
		w.changed(l.bestT)
		l.best = 0
	}
}

// block is the mean engine speed and road speed of a second that ends at t.
func (in *inputs) block(t float64) (rpm, kmh float64, ok bool) {
	m, n := mean(between(&in.rpm, t-blockOver, t))
	v, k := mean(between(&in.speed, t-blockOver, t))
	return m, v, n >= blockLeast && k > 0 && v >= levelKMH && m > runsRPM
}

// rise is by how much engine speed is up, rpm, beyond what road speed explains; 0 where there is no
// change of level.
func (w *Watch) rise(t float64) float64 {
	before := t - blockOver - changeOver
	demand := w.in.demand()
	if before-blockOver < w.level.notBefore || demand == nil || w.held.everywhere() {
		return 0
	}
	now, v, ok := w.in.block(t)
	pre := w.lowest(before, v)
	if !ok || now-pre < stepLeast || now-w.lowest(before, 0) < rawLeast {
		return 0
	}
	early, _ := mean(between(&w.in.rpm, t-blockOver, t-blockOver/2))
	late, _ := mean(between(&w.in.rpm, t-blockOver/2, t))
	from := before - blockOver
	switch {
	case math.Abs(late-early) > max(levelLeast, levelWithin*(now-pre)):
		return 0
	case spread(&w.in.speed, from, t) > steadySpeed:
		return 0
	case spread(&demand.Track, from, t) > demandLower || demand.closedIn(from, t):
		return 0
	}
	return now - pre
}

// lowest is the lowest level of engine speed in the blocks before a time, brought to road speed v
// (as it was for 0), back to where demand was another; +Inf where there is none.
func (w *Watch) lowest(before, v float64) float64 {
	low := math.Inf(1)
	demand := &w.in.demand().Track
	for i := range blocksBack {
		end := before - float64(i)*blockOver
		rpm, kmh, ok := w.in.block(end)
		if !ok || end-blockOver < w.level.notBefore || i > 0 && spread(demand, end-blockOver, before) > steadyDemand {
			break
		}
		if v > 0 {
			rpm *= v / kmh
		}
		low = min(low, rpm)
	}
	return low
}

// closedIn reports whether demand was at rest between two times.
func (k *demandTrack) closedIn(from, to float64) bool {
	for _, x := range between(&k.Track, from, to) {
		if k.rest(x.V) {
			return true
		}
	}
	return false
}

// changed finds when the change was that a look at t saw, and has it weighed later.
func (w *Watch) changed(t float64) {
	before := t - blockOver - changeOver
	now, v, _ := w.in.block(t)
	pre := w.lowest(before, v)
	r := between(&w.in.rpm, before-blockOver/2, t)
	if len(r) < 2*blockLeast || w.in.demand() == nil {
		return
	}
	p := pending{pre: pre, rise: now - pre}
	first, last := change(r, t-blockOver, pre, p.rise)
	p.start, p.end = r[first].T, r[last].T
	if now := swing(between(&w.in.rpm, t-blockOver, t)); now >= onsetShare*p.rise {
		old, kmh, _ := w.in.block(before)
		if now > onsetMore*w.in.swingBefore(p.start) || p.rise+pre-old*v/kmh < stepLeast {
			return // a shudder begins, see onset; the release may still come
		}
	}
	if !quick(between(&w.in.rpm, before-blockOver, t), pre, p.rise) {
		return // it crept up
	}
	p.Kind, p.RPMStep, p.SpeedKMH = ClutchRelease, p.rise, v
	p.after = p.end + settleOver
	p.until = p.end + afterOver
	p.due = p.until
	p.demandMoved = spread(&w.in.demand().Track, p.start-swingOver, p.end+blockOver)
	w.level.notBefore = p.end
	w.open = append(w.open, p)
}

// quick reports whether the last rise of readings from the lower level to near the higher one took
// no longer than a release.
func quick(r []series.Reading, pre, rise float64) bool {
	low := -1
	for i, x := range r {
		if x.V <= pre+levelWithin*rise {
			low = i
		}
	}
	if low < 0 {
		return false
	}
	for _, x := range r[low:] {
		if x.V >= pre+0.75*rise {
			return x.T-r[low].T <= quickOver
		}
	}
	return false
}

// change is where in readings engine speed left its old level and where it had reached the new one,
// at which it is from a time on. Where it is calm there, it had reached it as soon as it was calm:
// what went before may be a shudder, with a level of its own.
func change(r []series.Reading, from, pre, rise float64) (first, last int) {
	const most = 0.5 // s that the change itself lasts
	tolerance := max(levelLeast, levelWithin*rise)
	level, n := 0.0, 0
	for last = len(r) - 1; last > 0 && r[last].T > from; last-- {
		level += r[last].V
		n++
	}
	level /= float64(max(n, 1))
	calm := true
	for _, x := range r[last+1:] {
		calm = calm && math.Abs(x.V-level) <= tolerance
	}
	if calm {
		for last > 0 && math.Abs(r[last].V-level) <= tolerance {
			last--
		}
		last = min(last+1, len(r)-1)
	} else {
		last = parting(r)
	}
	first = max(last-1, 0)
	for first > 0 && r[first].V > pre+rise/4 && r[last].T-r[first].T < most {
		first--
	}
	return first, last
}

// parting is where readings part best into a lower level before and a higher one after.
func parting(r []series.Reading) (k int) {
	sum, _ := mean(r)
	sum *= float64(len(r))
	left, best := 0.0, -1.0
	for i := 1; i < len(r); i++ {
		left += r[i-1].V
		n, m := float64(i), float64(len(r)-i)
		if d := (sum-left)/m - left/n; d > 0 && d*d*n*m > best {
			best, k = d*d*n*m, i
		}
	}
	return k
}

// Where the gear is not reported, a release of a light throttle's clutch raises engine speed by 5 to
// 10 %, a gear by 15 to 35 % (computed from a public converter table, and from usual ratios). Between
// them what was driven before decides: a ratio that was held is a gear.
const (
	surelyClutch = 0.13 // ln of the ratio
	surelyGear   = 0.25
	gearLead     = 0.5 // s by which a gear may be reported before engine speed follows (chosen)
)

// name decides whether a change of level was a release or a lower gear; false where it was neither.
func (w *Watch) name(p *pending) bool {
	before, after := w.in.gearAt(p.start-gearLead), 0
	if r := between(&w.in.gear, p.end, p.until); len(r) > 0 {
		after = int(r[len(r)-1].V)
	} else if last, ok := w.in.gear.Last(); ok && before > 0 && last.V == 0 {
		return false
	}
	x := math.Log((p.pre + p.rise) / p.pre)
	lower := false
	switch {
	case before > 0 && after > 0:
		lower = after < before
		if after > before {
			return false
		}
	case x <= surelyClutch:
	case x >= surelyGear:
		lower = true
	default:
		lower = w.held.near((p.pre + p.rise) / p.SpeedKMH)
	}
	if lower {
		p.Kind = LowerGear
		return true
	}
	return p.demandMoved <= steadyDemand
}
