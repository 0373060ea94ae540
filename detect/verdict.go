package detect

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"github.com/judder-obd/judder/prose"
)

// finding is what can be said of a whole drive.
type finding struct{ *Detector }

// verdict weighs the whole drive.
func (d finding) verdict() Verdict {
	v := Verdict{Testable: d.books.ledger.judged, SmallestRPM: d.smallest()}
	if n := len(d.book.events); n > 0 {
		v.Finding = Shudder
		v.Reason = fmt.Sprintf("engine speed swung at steady throttle in %s", prose.Count(n, "pass", "passes"))
		return v
	}
	v.Reason = d.whyNot()
	if v.Reason == "" {
		v.Finding = NoShudder
		v.Reason = fmt.Sprintf("%s; most swings from %.0f rpm would have shown", d.quietWords(), v.SmallestRPM)
	}
	return v
}

// whyNot returns why "no shudder" may not be said; "" when it may.
func (d finding) whyNot() string {
	rate := d.in.rate()
	th := d.th
	switch {
	case d.in.readings == 0:
		return "engine speed was not read"
	case d.books.speeds == 0:
		return "road speed was not read"
	case d.conditions.notTied(th):
		return "no fixed gear (hybrid or belt gearbox): engine speed does not follow road speed"
	case d.books.slowSeconds > d.books.otherSeconds && rate*judgedSpan < leastReadings:
		return fmt.Sprintf("engine speed was read %s; at least 3 readings a second are needed", aSecond(rate))
	case d.books.ledger.judged == 0:
		return d.mostly()
	case d.conditions.gears.places() > th.Places:
		return "engine speed does not keep to a few gears: a converter clutch that opens often, as when cold, a belt gearbox, or a hybrid"
	case d.books.quietJudged.Seconds() >= th.NoneSeconds && d.books.quietStretches >= int(th.NonePasses):
		if n := d.seen.count(IrregularScatter); n > 0 {
			return fmt.Sprintf("rough running in %s: a misfire, a rough road, or a clutch that grabs irregularly; these readings do not show which", prose.Count(n, "pass", "passes"))
		}
		if least := d.smallest(); least > th.NoneRPM {
			return fmt.Sprintf("this car runs so rough that only swings from about %.0f rpm would have shown; shudder may be smaller", least)
		}
		return ""
	case rate*judgedSpan < enoughReadings:
		return fmt.Sprintf("engine speed was read %s; at least %.0f readings a second are needed to clear the car", aSecond(rate), float64(EnoughForNone))
	}
	if d.books.quietJudged.Seconds() >= th.NoneSeconds {
		return fmt.Sprintf("%s; at least %d passes are needed to clear the car: end the cruise and begin it again", d.quietWords(), int(th.NonePasses))
	}
	return fmt.Sprintf("only %s; at least %.0f s in %d passes are needed to clear the car",
		d.quietWords(), th.NoneSeconds, int(th.NonePasses))
}

// quietWords is how long the readings were dense enough to show that there is no shudder.
func (d finding) quietWords() string {
	where := prose.Count(d.books.quietStretches, "pass", "passes")
	return fmt.Sprintf("%s with enough readings in %s", prose.Duration(d.books.quietJudged), where)
}

// mostly is the reason why most of a drive was not usable.
func (d finding) mostly() string {
	var sum [ReasonCount]time.Duration
	for _, s := range d.books.ledger.spans {
		sum[s.Reason] += s.End - s.Start
	}
	most, all := Judged, time.Duration(0)
	for r, dur := range sum {
		if all += dur; dur > sum[most] {
			most = Reason(r)
		}
	}
	if all == 0 {
		return "no cruise at steady throttle and speed"
	}
	return fmt.Sprintf("no cruise at steady throttle and speed; mostly %s (%s of %s)", most.Words(), prose.Duration(sum[most]), prose.Duration(all))
}

// aSecond puts a rate in words.
func aSecond(rate float64) string {
	if rate < 1.5 {
		if rate > 0.75 {
			return "about once a second"
		}
		return fmt.Sprintf("about once in %.0f s", math.Round(1/max(rate, 0.001)))
	}
	if rate < 10 { // rounded down: 8.96 is not 9
		return fmt.Sprintf("about %.1f times a second", math.Floor(10*rate+1e-6)/10)
	}
	return fmt.Sprintf("about %.0f times a second", rate)
}

// smallest returns the smallest swing that could have been seen in half of the judged
// time; 0 when nothing was judged.
func (d finding) smallest() float64 {
	type part struct {
		rpm float64
		dur time.Duration
	}
	var parts []part
	var all time.Duration
	for _, s := range d.books.ledger.spans {
		if s.Reason == Judged {
			parts = append(parts, part{s.SmallestRPM, s.End - s.Start})
			all += s.End - s.Start
		}
	}
	slices.SortFunc(parts, func(a, b part) int { return cmp.Compare(a.rpm, b.rpm) })
	var sum time.Duration
	for _, p := range parts {
		if sum += p.dur; 2*sum >= all {
			return p.rpm
		}
	}
	return 0
}
