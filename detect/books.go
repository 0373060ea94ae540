package detect

import (
	"math"
	"time"
)

// books are the sums of a drive that its verdict needs.
type books struct {
	ledger         ledger
	cover          coverage
	speeds         int           // readings of road speed
	quietJudged    time.Duration // judged with enough readings for their absence to mean something
	quietStretches int
	quietT         float64 // s, last judged with enough readings
	slowSeconds    float64
	otherSeconds   float64
}

func newBooks() books { return books{quietT: math.Inf(-1)} }

// account adds dt seconds to the sums for the verdict.
func (d *Detector) account(e *look, why Reason, dt float64) {
	d.spend(e.t, why, e)
	b := &d.books
	if why == TooFewReadings {
		b.slowSeconds += dt
	} else {
		b.otherSeconds += dt
	}
	if why == Judged && e.readings >= enoughReadings {
		if e.t-b.quietT > d.th.Settle { // else it is the same cruise with a hole in it
			b.quietStretches++
		}
		b.quietT = e.t
	}
}

// spend books the time up to t under a reason and, where it was judged, by what could be seen.
func (d *Detector) spend(t float64, why Reason, e *look) {
	b := &d.books
	before := b.ledger.judged
	b.ledger.add(seconds(t), why, e.smallest)
	span := b.ledger.judged - before
	if span == 0 {
		return
	}
	if v, ok := d.conditions.speed.Last(); ok {
		b.cover.add(v.V, span.Seconds(), e.smallest)
	}
	if e.readings >= enoughReadings {
		b.quietJudged += span
	}
}
