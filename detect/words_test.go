package detect

import (
	"strings"
	"testing"
	"time"
)

// An engine that was never seen to run did not stop: it was off from the beginning.
func TestOffSinceTheBeginning(t *testing.T) {
	for _, c := range []struct {
		name string
		p    []piece
		want string
	}{
		{"parked all the time", []piece{{20, 0, 0}}, "engine off since the beginning"},
		{"then started", []piece{{5, 0, 0}, {0.8, 200, 0}, {10, 900, 0}}, "engine off since the beginning"},
		{"asleep, then started", []piece{{5, 16383.75, 0}, {0.8, 200, 0}, {10, 900, 0}}, "engine off since the beginning"},
		{"switched off at the end", []piece{{10, 900, 0}, {5, 0, 0}}, "engine stop (off)"},
	} {
		samples := pieces(c.p...)
		d := run(samples)
		if stops := d.Stops(); len(stops) != 1 || stops[0].Words() != c.want {
			t.Errorf("%s: %+v, want %q", c.name, stops, c.want)
		}
	}
}

// What the state tells is of another moment as soon as readings have stayed away for longer than
// a gap; it is of this one while they come, and while the computer of a stopped engine sleeps.
func TestUnread(t *testing.T) {
	for _, c := range []struct {
		name  string
		p     []piece
		later time.Duration
		want  bool
	}{
		{"while readings come", []piece{{20, 900, 0}}, 500 * time.Millisecond, false},
		{"nothing for two seconds", []piece{{20, 900, 0}}, 2 * time.Second, true},
		{"asleep behind a stop", []piece{{20, 900, 0}, {5, 0, 0}, {5, 16383.75, 0}}, 500 * time.Millisecond, false},
		{"not heard behind a stop", []piece{{20, 900, 0}, {5, 0, 0}}, 2 * time.Second, true},
		{"never read", nil, 5 * time.Second, false},
	} {
		d := New()
		at := time.Duration(0)
		for _, s := range pieces(c.p...) {
			d.Push(s)
			at = s.At
		}
		if got := d.Unread(at + c.later); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}

// One figure for the time that was judged, wherever it is told; and the band stands beside what
// lies outside it.
func TestJudgedIsOneFigure(t *testing.T) {
	d := run(readDrive(t, "automatic-minute.csv"))
	var spans, bands time.Duration
	for _, s := range d.Spans() {
		if s.Reason == Judged {
			spans += s.End - s.Start
		}
	}
	for _, b := range d.Coverage() {
		bands += b.Judged
	}
	if v := d.Verdict().Testable; spans == 0 || v != spans || d.State().Judged != spans || (bands-spans).Abs() > time.Millisecond {
		t.Errorf("judged %v by the spans, %v by the verdict, %v by the state, %v by road speed", spans, v, d.State().Judged, bands)
	}
}

// Lengths of time are cut: what is short of enough is not told as enough.
func TestLengthsOfTime(t *testing.T) {
	d := New()
	d.books.quietStretches, d.books.quietJudged, d.books.ledger.judged = 2, 11340*time.Millisecond, 20610*time.Millisecond
	if got, want := (finding{d}).quietWords(), "11 s with enough readings in 2 passes"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	d.books.quietStretches, d.books.quietJudged = 3, 29960*time.Millisecond // 30 s are needed
	if got := (finding{d}).quietWords(); !strings.HasPrefix(got, "29 s with enough readings in 3 ") {
		t.Errorf("%q", got)
	}
	d.books.ledger.add(64260*time.Millisecond, OutsideBand, 0)
	d.books.ledger.add(90*time.Second, Settling, 0)
	if got, want := (finding{d}).mostly(), "no cruise at steady throttle and speed; mostly too slow or too fast (1:04 min of 1:30 min)"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// Enough seconds in too few stretches want another cruise, not more seconds.
func TestVerdict_StretchesMissing(t *testing.T) {
	d := New()
	d.in.readings, d.books.speeds, d.books.otherSeconds, d.in.interval = 10000, 1000, 200, 0.016
	d.books.quietStretches, d.books.quietJudged, d.books.ledger.judged = 2, 118900*time.Millisecond, 118900*time.Millisecond
	if got := d.Verdict().Reason; !strings.HasPrefix(got, "1:58 min with enough readings in 2 passes") || !strings.Contains(got, "begin it again") {
		t.Error(got)
	}
}

// Every reason and kind has words, short enough for the columns that they stand in.
func TestWords_Short(t *testing.T) {
	for r := range ReasonCount {
		if n := len(Reason(r).Words()); n == 0 || n > 24 {
			t.Errorf("reason %d: %q", r, Reason(r).Words())
		}
	}
	for k := SlowSwing; k <= IrregularScatter; k++ {
		if n := len(k.Words()); n == 0 || n > 15 {
			t.Errorf("observation %d: %q", k, k.Words())
		}
	}
}

// What a newer program wrote has words, too.
func TestWords_Unknown(t *testing.T) {
	if a, b := Reason(ReasonCount).Words(), (IrregularScatter + 1).Words(); a != "not usable" || b != "other swing" {
		t.Errorf("%q and %q", a, b)
	}
}

// A frequency from few readings is never sure: 10 readings in 2.4 s are fewer than 7 a second.
func TestEvent_Frequency(t *testing.T) {
	const length = 2400 * time.Millisecond
	for _, c := range []struct {
		hz       []float64
		readings int
		another  bool
		words    string
	}{
		{nil, 10, false, ""},
		{[]float64{2.1}, 48, false, "2.1 Hz"},
		{[]float64{2.1}, 0, false, "2.1 Hz"}, // not counted
		{[]float64{2.1}, 10, true, "2.1 Hz or another"},
		{[]float64{2.1, 7.9}, 24, true, "2.1 Hz or 7.9 Hz"},
		{[]float64{2.1}, 17, true, "2.1 Hz or another"}, // 16 intervals in 2.4 s are 6.7 a second
		{[]float64{2.1}, 18, false, "2.1 Hz"},           // 17 are 7.1
	} {
		e := Event{Start: time.Minute, End: time.Minute + length, Hz: c.hz, Readings: c.readings}
		if e.AnotherHz() != c.another || e.Frequency() != c.words {
			t.Errorf("%v from %d readings: %v, %q", c.hz, c.readings, e.AnotherHz(), e.Frequency())
		}
	}
	if e := (Event{End: 2 * time.Second, Hz: []float64{2.1}, Readings: 15}); e.AnotherHz() { // 14 in 2 s are 7 a second
		t.Errorf("%q", e.Frequency())
	}
}
