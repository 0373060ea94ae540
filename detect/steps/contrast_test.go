package steps

import (
	"testing"
	"time"

	"github.com/judder-obd/judder/detect"
)

const ms = time.Millisecond

func shudder(start, length time.Duration) detect.Event {
	return detect.Event{Start: start, End: start + length}
}

func tap(at, stopped time.Duration) Step {
	return Step{Kind: ClutchRelease, Start: at, End: at + 300*ms, BeforeRPM: 110, AfterRPM: 8, Stopped: stopped}
}

// Three shakes with a release and three shudders without; the figures follow by hand.
func TestCompare(t *testing.T) {
	events := []detect.Event{
		shudder(10*time.Second, 1200*ms), shudder(30*time.Second, 6*time.Second), shudder(50*time.Second, 1300*ms),
		shudder(70*time.Second, 7300*ms), shudder(110*time.Second, 8*time.Second),
	}
	all := []Step{tap(11*time.Second, 300*ms), tap(51*time.Second, 400*ms), tap(91*time.Second, 200*ms)}
	want := Contrast{Kind: ClutchRelease, With: 3, Stopped: 3, Within: 400 * ms, Without: 3, WentOn: 3, For: 7300 * ms}
	if got := Compare(ClutchRelease, all, events, nil); got != want {
		t.Errorf("%+v, want %+v", got, want)
	}
	all[1].Fault = ThrottleMoved // it counts for neither
	all[2].Stopped = 0           // it went on
	events[4].End = events[4].Start + 1200*ms
	want.With, want.Stopped, want.Within = 2, 1, 300*ms
	want.WentOn, want.For = 2, 6650*ms
	if got := Compare(ClutchRelease, all, events, nil); got != want {
		t.Errorf("%+v, want %+v", got, want)
	}
	early := func(at time.Duration) bool { return at < 40*time.Second }
	want = Contrast{Kind: ClutchRelease, With: 1, Stopped: 1, Within: 300 * ms, Without: 1, WentOn: 1, For: 6 * time.Second}
	if got := Compare(ClutchRelease, all, events, early); got != want {
		t.Errorf("%+v, want %+v", got, want)
	}
}

// A step of another kind, one just before a shudder and one long after it do not belong to it.
func TestCompare_Belongs(t *testing.T) {
	events := []detect.Event{shudder(10*time.Second, 2*time.Second)}
	for at, without := range map[time.Duration]int{11 * time.Second: 0, 12500 * ms: 0, 10100 * ms: 0, 9900 * ms: 1, 13 * time.Second: 1} {
		if got := Compare(ClutchRelease, []Step{tap(at, 300*ms)}, events, nil); got.Without != without || got.With != 1 {
			t.Errorf("a release at %v: %+v", at, got)
		}
	}
	if got := Compare(ClutchRelease, []Step{tap(10100*ms, 0)}, events, nil); got.Without != 1 || got.With != 1 {
		t.Errorf("a release at the beginning, after which it went on: %+v", got)
	}
	other := tap(11*time.Second, 300*ms)
	other.Kind = ThrottleLift
	if got := Compare(ClutchRelease, []Step{other}, events, nil); got.With != 0 || got.Without != 1 {
		t.Errorf("another kind: %+v", got)
	}
	if got := Compare(ClutchRelease, nil, nil, nil); got != (Contrast{Kind: ClutchRelease}) {
		t.Errorf("nothing: %+v", got)
	}
}

func TestKindByCode(t *testing.T) {
	for k := range Kind(KindCount) {
		if got, ok := KindByCode(k.Code()); !ok || got != k {
			t.Errorf("%s: %v, %v", k, got, ok)
		}
	}
	for _, code := range []string{"brake-tap", ""} {
		if _, ok := KindByCode(code); ok {
			t.Errorf("%q is no kind", code)
		}
	}
}

// The sentence of the contrast, in its four forms.
func TestContrast_Words(t *testing.T) {
	for _, c := range []struct {
		contrast Contrast
		want     string
	}{
		{Contrast{With: 3, Stopped: 3, Within: 400 * ms, Without: 3, WentOn: 3, For: 6300 * ms}, "tapped: stopped within 0.4 s, 3 of 3; not tapped: went on for 6.3 s, 3 of 3"},
		{Contrast{Kind: ThrottleLift, With: 2, Stopped: 1, Within: 300 * ms, Without: 6, WentOn: 5, For: 1600 * ms}, "throttle closed: stopped within 0.3 s, 1 of 2; without it: went on for 1.6 s, 5 of 6"},
		{Contrast{With: 3}, "tapped: went on, 3 of 3"},
		{Contrast{With: 2, Stopped: 2, Within: 300 * ms, Without: 1}, "tapped: stopped within 0.3 s, 2 of 2; not tapped: stopped as soon, 1 of 1"},
		{Contrast{Without: 4}, ""},
	} {
		if got := c.contrast.Words(); got != c.want {
			t.Errorf("%+v: %q, want %q", c.contrast, got, c.want)
		}
	}
	for k := range Kind(KindCount) {
		if k.Todo() == "" || k.Caution() == "" {
			t.Errorf("%s: what to do %q, caution %q", k, k.Todo(), k.Caution())
		}
	}
}
