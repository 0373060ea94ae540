package session

import (
	"fmt"
	"math"
	"reflect"
	"testing"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/steps"
	"github.com/judder-obd/judder/simcar/drivetrain"
)

// sec is a time in seconds.
func sec(s float64) time.Duration { return time.Duration(math.Round(s*1e6)) * time.Microsecond }

// heldKey are presses of a key that is held from a time on: the first, then after the delay of a
// usual keyboard 25 a second.
func heldKey(from, length float64) (at []float64) {
	at = append(at, from)
	for t := from + 0.5; t <= from+length+1e-9; t += 0.04 {
		at = append(at, t)
	}
	return at
}

func TestMarks(t *testing.T) {
	type mark struct {
		at, lasted float64
		strength   int
	}
	for name, c := range map[string]struct {
		presses []float64
		want    []mark
	}{
		"one":                   {[]float64{10}, []mark{{10, 0, 1}}},
		"two":                   {[]float64{10, 10.4}, []mark{{10, 0, 2}}},
		"two within three s":    {[]float64{10, 12.9}, []mark{{10, 0, 2}}},
		"two apart":             {[]float64{10, 13.1}, []mark{{10, 0, 1}, {13.1, 0, 1}}},
		"three":                 {[]float64{10, 10.5, 11}, []mark{{10, 0, 3}}},
		"four have a length":    {[]float64{10, 10.5, 11, 11.5}, []mark{{10, 1.5, 3}}},
		"repeated, on and on":   {[]float64{10, 11.4, 12.8, 14.2, 15.6}, []mark{{10, 5.6, 3}}},
		"repeated, then a rest": {[]float64{10, 11.4, 12.8, 14.2, 15.8}, []mark{{10, 4.2, 3}, {15.8, 0, 1}}},
		"held for two s":        {heldKey(10, 2.02), []mark{{10, 1.98 + 0.04, 1}}},
		"held, later again":     {append(heldKey(10, 1), 20), []mark{{10, 0.98, 1}, {20, 0, 1}}},
		"at the very start":     {[]float64{0, 0.4}, []mark{{0, 0, 2}}},
	} {
		var b markBook
		for _, at := range c.presses {
			b.press(sec(at))
		}
		var got []mark
		for _, m := range b.marks {
			got = append(got, mark{m.At.Seconds(), m.Lasted.Seconds(), m.Strength})
		}
		if len(got) != len(c.want) {
			t.Errorf("%s: %+v, want %+v", name, got, c.want)
			continue
		}
		for i, w := range c.want {
			if g := got[i]; g.at != w.at || math.Abs(g.lasted-w.lasted) > 0.041 || g.strength != w.strength {
				t.Errorf("%s: %+v, want %+v", name, g, w)
			}
		}
	}
}

func TestMarks_TakenBack(t *testing.T) {
	var b markBook
	b.takeBack() // nothing to take back
	b.press(sec(10))
	b.press(sec(20))
	b.press(sec(20.4))
	b.note(sec(21), "bridge")
	b.takeBack() // the double one
	b.press(sec(20.9))
	want := []Mark{{At: sec(10), Strength: 1}, {At: sec(21), Note: "bridge"}, {At: sec(20.9), Strength: 1}}
	if !reflect.DeepEqual(b.marks, want) {
		t.Errorf("%+v, want %+v", b.marks, want)
	}
}

func TestMarks_Blind(t *testing.T) {
	var b markBook
	b.press(sec(9))
	b.blindPass(sec(10), true)
	b.press(sec(10.1)) // not the mark before: that was not blind
	b.blindPass(sec(12), true)
	b.blindPass(sec(15), false)
	b.blindPass(sec(16), false)
	b.press(sec(20))
	want := []Mark{{At: sec(9), Strength: 1}, {At: sec(10.1), Strength: 1, Blind: true}, {At: sec(20), Strength: 1}}
	if !reflect.DeepEqual(b.marks, want) || !reflect.DeepEqual(b.blinds, []BlindPass{{sec(10), sec(15)}}) {
		t.Errorf("%+v %+v", b.marks, b.blinds)
	}
}

// outcomes: the windows' edges, and what a mark outside them is.
func TestOutcome(t *testing.T) {
	f := seenUpTo{
		events: []detect.Event{{Start: sec(100), End: sec(102)}},
		spans: []detect.Span{
			{Start: 0, End: sec(50), Reason: detect.OutsideBand},
			{Start: sec(50), End: sec(150), Reason: detect.Judged},
			{Start: sec(150), End: sec(160), Reason: detect.ThrottleMoving},
		},
		stops: []detect.Stop{{Start: sec(30), End: sec(40)}},
		steps: []steps.Step{
			{Kind: steps.ClutchRelease, Start: sec(80), BeforeRPM: 85, Stopped: sec(0.3)},
			{Kind: steps.ClutchRelease, Start: sec(120), BeforeRPM: 85},                                                // went on
			{Kind: steps.ThrottleLift, Start: sec(130), BeforeRPM: 85, Stopped: sec(0.3)},                              // any shake may end so
			{Kind: steps.ClutchRelease, Start: sec(140), BeforeRPM: 85, Stopped: sec(0.3), Fault: steps.ThrottleMoved}, // not valid
			{Kind: steps.ClutchRelease, Start: sec(147), BeforeRPM: 30, Stopped: sec(0.3)},                             // nothing shook
		},
		now: sec(160), over: true,
	}
	for _, c := range []struct {
		at, lasted float64
		want       FeltOutcome
		why        detect.Reason
	}{
		{99.4, 0, NotSeen, detect.Judged},
		{99.5, 0, Seen, detect.Judged},
		{105, 0, Seen, detect.Judged},
		{105.1, 0, NotSeen, detect.Judged},
		{97, 3, Seen, detect.Judged}, // a long mark that reaches into the window
		{78.9, 0, NotSeen, detect.Judged},
		{79, 0, Seen, detect.Judged}, // felt, then the brake was touched
		{83.3, 0, Seen, detect.Judged},
		{83.4, 0, NotSeen, detect.Judged},
		{120, 0, NotSeen, detect.Judged},
		{130, 0, NotSeen, detect.Judged},
		{140, 0, NotSeen, detect.Judged},
		{147, 0, NotSeen, detect.Judged},
		{20, 0, NotJudged, detect.OutsideBand},
		{35, 0, NotJudged, detect.EngineStopped},
		{155, 0, NotJudged, detect.ThrottleMoving},
		{161, 0, NotJudged, detect.ThrottleMoving},
		{170, 0, NotJudged, detect.LinkGap},
	} {
		m := Mark{At: sec(c.at), Lasted: sec(c.lasted)}
		if got, why := f.outcome(&m); got != c.want || why != c.why {
			t.Errorf("at %g s for %g s: %q, %v; want %q, %v", c.at, c.lasted, got, why, c.want, c.why)
		}
	}
	f.over, f.now = false, sec(103)
	for at, want := range map[float64]FeltOutcome{101: Seen, 99.4: Undecided, 20: NotJudged} {
		if got, _ := f.outcome(&Mark{At: sec(at)}); got != want {
			t.Errorf("live, at %g s: %q, want %q", at, got, want)
		}
	}
}

// The figure for chance, by hand: of 20 s judged blind the window of one shudder of 2 s covers
// 0.5 + 2 + 3 = 5.5 s, a share of 0.275. Two of four marks hit it: 6 × 0.275² × 0.725² + 4 × 0.275³ × 0.725 +
// 0.275⁴.
func TestBlind_Chance(t *testing.T) {
	var k markBook
	k.press(sec(100)) // not blind
	k.blindPass(sec(80), true)
	for _, at := range []float64{85, 92, 95.5, 98.6, 102.2, 103} { // the first lies where nothing was judged, the last two are one
		k.press(sec(at))
	}
	k.note(sec(100), "bridge")
	k.blindPass(sec(110), false)
	k.press(sec(120))
	events := []detect.Event{{Start: sec(99), End: sec(101)}, {Start: sec(130), End: sec(131)}}
	spans := []detect.Span{{Start: 0, End: sec(90), Reason: detect.OutsideBand}, {Start: sec(90), End: sec(140), Reason: detect.Judged}}
	got := k.worth(events, spans, sec(140))
	const p, q = 0.275, 0.725
	want := 6*p*p*q*q + 4*p*p*p*q + p*p*p*p
	if got.On || got.Passes != 1 || got.Judged != sec(20) || got.Marks != 4 || got.Hits != 2 || got.Share != 0.275 || math.Abs(got.Chance-want) > 1e-12 {
		t.Errorf("%+v, want a chance of %g", got, want)
	}
	if n := inWindows([]detect.Event{{Start: sec(1), End: sec(2)}, {Start: sec(4), End: sec(5)}}, 0, sec(100)); n != sec(7.5) {
		t.Errorf("two windows that overlap cover %v, want 7.5 s", n)
	}
	if got := new(markBook).worth(events, spans, sec(140)); got.Marks != 0 || !math.IsNaN(got.Chance) {
		t.Errorf("no blind pass: %+v", got)
	}
	k = markBook{}
	k.blindPass(sec(100), true) // it lasts
	k.press(sec(102))
	if got := k.worth(events, spans, sec(120)); !got.On || got.Judged != sec(20) || got.Hits != 1 || got.Share != 0.2 {
		t.Errorf("while it lasts: %+v", got)
	}
}

// What is marked, taken back and blind is the same live, in a replay and in a review.
func TestMarks_Recorded(t *testing.T) {
	tr := trip{script: drivetrain.AlwaysShudders, length: time.Minute, during: func(l *Live) {
		time.Sleep(20 * time.Second)
		l.SetBlind(true)
		l.Felt()
		time.Sleep(400 * time.Millisecond)
		l.Felt()
		time.Sleep(10 * time.Second)
		l.Felt()
		if m, ok := l.TakeBack(); !ok || m.At != 30400*time.Millisecond {
			t.Errorf("took back %v, %v", m.At, ok)
		}
		l.SetBlind(false)
	}}
	live, path := tr.drive(t)
	want := live.Result()
	if len(want.Marks) != 1 || want.Marks[0].Strength != 2 || !want.Marks[0].Blind || want.Marks[0].Outcome == Undecided || want.Blind.Passes != 1 {
		t.Errorf("marks %+v, blind %+v", want.Marks, want.Blind)
	}
	got, err := Review(path)
	if err != nil || got.Damage != "" || !reflect.DeepEqual(got.Marks, want.Marks) || fmt.Sprint(got.Blind) != fmt.Sprint(want.Blind) {
		t.Errorf("review: %v %q %+v %+v", err, got.Damage, got.Marks, got.Blind)
	}
}
