package detect

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat"

	"github.com/judder-obd/judder/detect/series"
)

// judgedDrive is a drive that is just enough to clear the car: 30 s in three passes, read 9 times a second,
// where swings of 100 rpm would have shown (chosen: the numbers of Rule).
func judgedDrive() *Detector {
	d := newWith(&limits)
	d.in.readings, d.in.interval, d.books.speeds, d.books.otherSeconds = 1000, 1./9, 300, 60
	d.books.quietStretches, d.books.quietJudged = 3, 30*time.Second
	d.books.ledger.add(30*time.Second, Judged, 100)
	return d
}

// Each thing that is short of enough, by as little as may be, and the words for it.
func TestVerdict_Limits(t *testing.T) {
	places := func(n int) func(*Detector) {
		return func(d *Detector) {
			for i := range n {
				d.conditions.gears.count[i], d.conditions.gears.n = 10, uint32(10*n)
			}
		}
	}
	slow := func(interval, slow float64) func(*Detector) {
		return func(d *Detector) {
			d.in.interval, d.books.slowSeconds, d.books.quietJudged = interval, slow, 20*time.Second
		}
	}
	for _, c := range []struct {
		name   string
		change func(*Detector)
		want   string // begins the reason; "" for no shudder
	}{
		{"enough", func(*Detector) {}, ""},
		{"short of 30 s", func(d *Detector) { d.books.quietJudged = 29900 * time.Millisecond }, "only 29 s with enough readings in 3 passes; at least 30 s in 3 "},
		{"two passes", func(d *Detector) { d.books.quietStretches = 2 }, "30 s with enough readings in 2 passes; at least 3 passes"},
		{"too slow to clear, long enough", func(d *Detector) { d.in.interval = 1 / 8.6 }, ""}, // what was judged with enough readings counts
		{"101 rpm", func(d *Detector) { d.books.ledger = ledger{}; d.books.ledger.add(30*time.Second, Judged, 101) }, "this car runs so rough that only swings from about 101 rpm"},
		{"rough in one pass", func(d *Detector) { d.seen.note(IrregularScatter, 5, 6, 50, 2.5) }, "rough running in 1 pass:"},
		{"rough in two", func(d *Detector) {
			d.seen.note(IrregularScatter, 5, 6, 50, 2.5)
			d.seen.note(IrregularScatter, 9, 10, 50, 2.5)
		}, "rough running in 2 passes:"},
		{"another swing", func(d *Detector) { d.seen.note(SlowSwing, 5, 6, 50, 2.5) }, ""},
		{"a few gears", places(14), ""},
		{"no gears", places(16), "engine speed does not keep to a few gears"},
		{"no gears, free of road speed", func(d *Detector) { places(16)(d); d.conditions.stoppedAtSpeed = 2 }, "no fixed gear"},
		{"one engine stop at speed", func(d *Detector) { d.conditions.stoppedAtSpeed = 1 }, ""},
		{"9 a second, short", slow(1./9, 0), "only 20 s"},
		{"8.6 a second, short", slow(1/8.6, 0), "engine speed was read about 8.6 times a second; at least 9 "},
		{"2 a second, less than half of the time", slow(0.5, 60), "engine speed was read about 2.0 times a second; at least 9 "},
		{"2 a second, more than half", slow(0.5, 60.1), "engine speed was read about 2.0 times a second; at least 3 "},
		{"8 in 3 s", slow(0.375, 60.1), "engine speed was read about 2.6 times a second; at least 9 "},
		{"nothing judged", func(d *Detector) { d.books.ledger = ledger{}; d.books.quietJudged = 0 }, "no cruise at steady throttle and speed"},
		{"no road speed", func(d *Detector) { d.books.speeds = 0 }, "road speed was not read"},
		{"no engine speed", func(d *Detector) { d.in.readings = 0 }, "engine speed was not read"},
	} {
		d := judgedDrive()
		c.change(d)
		v := d.Verdict()
		if (v.Finding == NoShudder) != (c.want == "") || v.Finding == Shudder || !strings.HasPrefix(v.Reason, c.want) {
			t.Errorf("%s: %v, %q; want %q", c.name, v.Finding, v.Reason, c.want)
		}
	}
	d := judgedDrive()
	d.book.events = make([]Event, 2)
	if v := d.Verdict(); v.Finding != Shudder || !strings.HasSuffix(v.Reason, "in 2 passes") {
		t.Errorf("%+v", v)
	}
}

// The smallest swing that could be seen in half of the judged time is the weighted median; gonum's is the
// outside judge.
func TestVerdict_SmallestIsMedian(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 10))
	for range 200 {
		d := newWith(&limits)
		var rpm, weight []float64
		at := time.Duration(0)
		for range 1 + r.IntN(6) {
			x, dur := 40+float64(r.IntN(9)), 1+r.IntN(4)
			at += time.Duration(dur) * time.Second
			d.books.ledger.spans = append(d.books.ledger.spans,
				Span{Start: at - time.Duration(dur)*time.Second, End: at, Reason: Judged, SmallestRPM: x}, Span{Start: at, End: at + time.Hour, Reason: OutsideBand})
			rpm, weight, at = append(rpm, x), append(weight, float64(dur)), at+time.Hour
		}
		stat.SortWeighted(rpm, weight)
		if got, want := (finding{d}).smallest(), stat.Quantile(0.5, stat.Empirical, rpm, weight); got != want {
			t.Fatalf("%v rpm, gonum %v, of %v for %v s", got, want, rpm, weight)
		}
	}
}

// A rate in words: once in so many seconds below 0.75 a second, and times a second from 1.5, in tenths rounded
// down below 10.
func TestVerdict_Rates(t *testing.T) {
	for rate, want := range map[float64]string{
		0: "about once in 1000 s", 0.1: "about once in 10 s", 0.3: "about once in 3 s", 0.75: "about once in 1 s", 0.8: "about once a second", 1.4: "about once a second",
		1.5: "about 1.5 times a second", 8.96: "about 8.9 times a second", 9.4: "about 9.4 times a second", 10.6: "about 11 times a second",
	} {
		if got := aSecond(rate); got != want {
			t.Errorf("%v a second: %q, want %q", rate, got, want)
		}
	}
}

// Most of a drive was lost to the reason with most time, of equals to the one that is asked first.
func TestVerdict_Mostly(t *testing.T) {
	d := newWith(&limits)
	if got := (finding{d}).mostly(); got != "no cruise at steady throttle and speed" {
		t.Errorf("of nothing: %q", got)
	}
	for i, why := range []Reason{OutsideBand, Settling, OutsideBand, Settling} {
		d.books.ledger.add(time.Duration(i+1)*10*time.Second, why, 0)
	}
	if got := (finding{d}).mostly(); !strings.HasSuffix(got, "mostly "+Settling.Words()+" (20 s of 40 s)") {
		t.Errorf("%q", got)
	}
}

// Time is booked as it was judged: spans by reason, with the mean of their smallest swings; bands of road
// speed; and what was read densely enough to clear a car, in passes with more than 5 s between them. Times
// are multiples of 1/8 s, sums by hand.
func TestBooks(t *testing.T) {
	d := newWith(&limits)
	d.conditions.speed.Add(series.Reading{T: 9, V: 60})
	last := 9.0
	d.books.ledger.add(4*time.Second, Settling, 0)
	d.books.ledger.add(9*time.Second, Settling, 0)
	look1 := func(t float64, why Reason, readings int, smallest float64) {
		d.account(&look{t: t, readings: readings, smallest: smallest}, why, t-last)
		last = t
	}
	look1(10, Judged, 27, 40) // the first pass
	look1(11, Judged, 27, 60)
	look1(15.5, ThrottleMoving, 27, 0)
	look1(16, Judged, 27, 70) // 5 s after the last: the same
	look1(16.5, Judged, 26, 50)
	look1(21, TooFewReadings, 5, 0)
	look1(21.125, Judged, 27, 80) // more than 5 s: the second
	look1(21.125, Judged, 27, 90) // no time has passed
	b := &d.books
	if b.quietStretches != 2 || b.quietJudged != 2625*time.Millisecond || b.ledger.judged != 3125*time.Millisecond {
		t.Errorf("%d passes, %v quiet of %v judged; want 2, 2.625 s of 3.125 s", b.quietStretches, b.quietJudged, b.ledger.judged)
	}
	if b.slowSeconds != 4.5 || b.otherSeconds != 7.625 {
		t.Errorf("%v s too slow and %v s not, want 4.5 and 7.625", b.slowSeconds, b.otherSeconds)
	}
	s := func(t float64) time.Duration { return time.Duration(t * 1e9) }
	want := []Span{
		{0, s(9), Settling, 0}, {s(9), s(11), Judged, 50}, {s(11), s(15.5), ThrottleMoving, 0}, {s(15.5), s(16.5), Judged, 60},
		{s(16.5), s(21), TooFewReadings, 0}, {s(21), s(21.125), Judged, 80},
	}
	if !slices.Equal(d.Spans(), want) {
		t.Errorf("%+v\nwant %+v", d.Spans(), want)
	}
	for _, band := range d.Coverage() {
		seconds, smallest := 0.0, 0.0
		if band.FromKMH == 60 {
			seconds, smallest = 3.125, (40+60+70./2+50./2+80./8)/3.125
		}
		if band.Judged.Seconds() != seconds || band.SmallestRPM != smallest || band.ToKMH != band.FromKMH+10 {
			t.Errorf("%+v, want %v s at %v rpm", band, seconds, smallest)
		}
	}
}

// A band holds its lower limit and not its upper one, from 30 to 120 km/h.
func TestCoverage_Bands(t *testing.T) {
	for speed, want := range map[float64]int{29.9: -1, 21: -1, 30: 0, 39.9: 0, 40: 1, 119.9: 8, 120: -1, 130: -1, 1e300: -1} {
		var c coverage
		c.add(speed, 2, 50)
		for i := range c {
			if (c[i].seconds == 2 && c[i].smallest == 100) != (i == want) || i != want && c[i].seconds != 0 {
				t.Errorf("%v km/h: band %d has %+v", speed, i, c[i])
			}
		}
	}
}
