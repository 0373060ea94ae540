package cause

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/steps"
)

const second = time.Second

func event(at time.Duration) detect.Event {
	return detect.Event{Start: at, End: at + 4*second, SwingRPM: 110, Hz: []float64{2.1}, SpeedKMH: 80, LoadPct: 30, ThrottlePct: 20, CoolantC: 85}
}

func release(at time.Duration, stopped time.Duration) steps.Step {
	return steps.Step{Kind: steps.ClutchRelease, Start: at, End: at + second/2, RPMStep: 150, BeforeRPM: 110, AfterRPM: 8, Stopped: stopped}
}

func has(l *Ledger, c Cause, s Side, r Rule) *Line {
	for i := range l.Lines {
		if x := &l.Lines[i]; x.Cause == c && x.Side == s && x.Rule == r {
			return x
		}
	}
	return nil
}

// tapped is a drive with shudders of which every second was stopped by a release of the clutch.
func tapped() *Facts {
	f := &Facts{}
	for i := range 6 {
		at := time.Duration(60*(i+1)) * second
		f.Events = append(f.Events, event(at))
		if i%2 == 0 {
			f.Steps = append(f.Steps, release(at+3*second, 400*time.Millisecond))
		}
	}
	f.Contrasts = []steps.Contrast{steps.Compare(steps.ClutchRelease, f.Steps, f.Events, nil)}
	return f
}

// A shudder that stops at the release speaks for the clutch and against a misfire and a tyre (trade
// press and makers' functional checks; see the table of rules).
func TestMake_StoppedAtRelease(t *testing.T) {
	l := Make(tapped())
	x := has(&l, ConverterClutch, For, StoppedAtRelease)
	if x == nil || x.N != 3 || x.Of != 3 || x.For != 400*time.Millisecond || len(x.At) != 3 {
		t.Fatalf("for the clutch: %+v", x)
	}
	if has(&l, Misfire, Against, StoppedAtRelease) == nil || has(&l, Tyre, Against, StoppedAtRelease) == nil {
		t.Error("it speaks against misfire and tyre, too")
	}
	if has(&l, ConverterClutch, Untested, NoReleaseTried) != nil {
		t.Error("the release was tried")
	}
	if l.Next != CheckCodes {
		t.Errorf("next: %s", l.Next)
	}
}

func TestMake_WentOn(t *testing.T) {
	f := tapped()
	for i := range f.Steps {
		f.Steps[i].Stopped = 0
	}
	f.Contrasts = []steps.Contrast{steps.Compare(steps.ClutchRelease, f.Steps, f.Events, nil)}
	l := Make(f)
	if has(&l, ConverterClutch, Against, WentOnAtRelease) == nil || has(&l, Misfire, For, WentOnAtRelease) == nil {
		t.Errorf("%+v", l.Lines)
	}
	if has(&l, ConverterClutch, For, StoppedAtRelease) != nil {
		t.Error("nothing stopped")
	}
}

// Nothing is said for or against by a drive in which nothing happened, and every test is named.
func TestMake_Nothing(t *testing.T) {
	l := Make(&Facts{})
	for _, x := range l.Lines {
		if x.Side != Untested {
			t.Errorf("%s, %s: %s", x.Cause, x.Side, x.Words())
		}
	}
	for c := range Cause(CauseCount) {
		if len(l.Of(c, Untested)) == 0 {
			t.Errorf("%s has nothing that was not tested", c)
		}
	}
	if l.Next != Reproduce {
		t.Errorf("next: %s", l.Next)
	}
}

func TestMake_Misfire(t *testing.T) {
	f := &Facts{Events: []detect.Event{event(100 * second), event(200 * second)}, CodesRead: true}
	f.Codes = []Code{{At: 300 * second, Code: "P0171"}}
	l := Make(f)
	if has(&l, Misfire, Against, NoMisfireCode) == nil || has(&l, Misfire, For, MisfireCode) != nil {
		t.Error("P0171 is no misfire")
	}
	f.Codes = append(f.Codes, Code{At: 300 * second, Code: "P0304"})
	f.Misfire = Counts{Read: true, Rises: []Rise{{From: 90 * second, To: 110 * second, Cylinder: 4, By: 38}, {From: 90 * second, To: 110 * second, By: 38, Event: 0}}}
	l = Make(f)
	if x := has(&l, Misfire, For, CountRose); x == nil || x.Value != 38 || x.Named != "4" {
		t.Errorf("counts: %+v", x)
	}
	if x := has(&l, Misfire, For, MisfireCode); x == nil || x.Named != "P0304" || x.At[0] != 300*second {
		t.Errorf("code: %+v", x)
	}
	f.Misfire = Counts{Read: true, Quiet: 2}
	l = Make(f)
	if x := has(&l, Misfire, Against, CountsQuiet); x == nil || x.N != 2 {
		t.Errorf("quiet: %+v", x)
	}
}

// The misfire codes of SAE J2012 are P0300 (random) and P0301 to P0312, a cylinder each.
func TestIsMisfire(t *testing.T) {
	for code, want := range map[string]bool{"P0300": true, "P0304": true, "P0312": true, "P0304-00": true, "P0741-00": false, "P0313": false, "P0299": false, "P0741": false, "P030": false, "U0301": false} {
		if isMisfire(code) != want {
			t.Errorf("%s: %v", code, !want)
		}
	}
}

// A gear that the car reported all along speaks against hunting.
func TestMake_Gear(t *testing.T) {
	f := &Facts{Events: []detect.Event{event(100 * second)}, Gear: Gear{Read: true}}
	l := Make(f)
	if has(&l, Hunting, Against, GearSteady) == nil {
		t.Error("one gear throughout")
	}
	f.Gear.Changes = []time.Duration{102 * second}
	l = Make(f)
	if has(&l, Hunting, Against, GearSteady) != nil {
		t.Error("it changed in the event")
	}
	f.Engine = []Engine{{Gear: 2}}
	l = Make(f)
	if has(&l, ConverterClutch, Against, LowGearsOnly) == nil || has(&l, ConverterClutch, For, CruiseLightWarm) != nil {
		t.Error("second gear alone is not the clutch")
	}
}

// A shudder whose coolant temperature was not read is not called warm.
func TestMake_CoolantUnread(t *testing.T) {
	e := event(100 * second)
	e.CoolantC = math.NaN()
	l := Make(&Facts{Events: []detect.Event{e}})
	line := has(&l, ConverterClutch, For, CruiseLightWarm)
	if line == nil || !strings.Contains(line.Words(), "coolant temperature not read") || strings.Contains(line.Words(), "warm") {
		t.Errorf("%+v", line)
	}
}

func TestMake_Felt(t *testing.T) {
	coast := steps.Step{Kind: steps.NeutralCoast, Start: 50 * second, End: 60 * second}
	f := &Facts{Steps: []steps.Step{coast}}
	l := Make(f)
	if has(&l, Tyre, Against, NotFeltInNeutral) != nil {
		t.Error("nobody marked anything: that nothing was felt is not known")
	}
	f.Felt = []time.Duration{20 * second} // where nothing could be seen
	l = Make(f)
	if has(&l, Tyre, For, FeltNotSeen) != nil {
		t.Error("nothing could be seen: that speaks for nothing")
	}
	f.FeltSteady = f.Felt
	l = Make(f)
	if has(&l, Tyre, Against, NotFeltInNeutral) == nil || has(&l, Tyre, For, FeltNotSeen) == nil {
		t.Errorf("%+v", l.Lines)
	}
	f.Felt, f.FeltSteady = []time.Duration{55 * second}, nil
	l = Make(f)
	if x := has(&l, Tyre, For, FeltInNeutral); x == nil || x.N != 1 || x.Of != 1 {
		t.Errorf("%+v", x)
	}
}

// A tyre 205/55R16 rolls 0.96 · π · (16 · 25.4 + 2 · 205 · 0.55) mm in a turn: 11.7 Hz at 80 km/h, 8.7
// at 60, 7.3 at 50 (computed for this project from the formula; tolerance 4 %). The maker's rule, 1.14
// to 1.17 Hz for each 5 mph, gives the same to 4 % (service information, 2000).
func TestTyreHz(t *testing.T) {
	roll := 0.96 * math.Pi * (16*25.4 + 2*205*0.55) / 1000
	for kmh, want := range map[float64]float64{50: 7.3, 60: 8.7, 80: 11.7, 100: 14.6} {
		got := TyreHz(kmh, roll)
		if math.Abs(got/want-1) > 0.04 {
			t.Errorf("%v km/h: %.2f Hz, want %v", kmh, got, want)
		}
		if rule := ruleHighHz * kmh / ruleKMH; math.Abs(rule/got-1) > 0.04 {
			t.Errorf("%v km/h: %.2f Hz by the rule, %.2f by the tyre", kmh, rule, got)
		}
	}
}

// One cylinder of a four-stroke misfires at rpm/120: 10.0, 12.5, 14.2, 16.7 Hz at 1200, 1500, 1700,
// 2000 rpm (computed for this project from the definition of an engine order).
func TestOrderHz(t *testing.T) {
	for rpm, want := range map[float64]float64{1200: 10, 1500: 12.5, 1700: 14.2, 2000: 16.7} {
		if got := OrderHz(0.5, rpm); math.Abs(got-want) > 0.05 {
			t.Errorf("%v rpm: %.2f Hz, want %v", rpm, got, want)
		}
	}
}

// Below 20 readings a second no frequencies are compared.
func TestFrequencies(t *testing.T) {
	f := &Facts{Events: []detect.Event{event(100 * second), event(200 * second)}, Engine: []Engine{{RPM: 1700, Rate: 19}, {RPM: 1700, Rate: 21}}}
	l := Make(f)
	if len(l.Frequencies) != 1 || l.Frequencies[0].At != 200*second {
		t.Fatalf("%+v", l.Frequencies)
	}
	x := l.Frequencies[0]
	if math.Abs(x.HalfHz-14.17) > 0.01 || x.TyreLowHz >= x.TyreHighHz || x.ShaftHz != 0 {
		t.Errorf("%+v", x)
	}
	f.Car = Car{TyreM: 1.9, FinalDrive: 3}
	if x := Make(f).Frequencies[0]; x.TyreLowHz != x.TyreHighHz || math.Abs(x.ShaftHz-3*x.TyreLowHz) > 1e-9 {
		t.Errorf("%+v", x)
	}
}

// Every rule has words, a name and a row; every test has words.
func TestWords(t *testing.T) {
	used := map[Rule]bool{}
	for _, r := range rules {
		used[r.rule] = true
	}
	for r := NoRule + 1; r < ruleCount; r++ {
		l := Line{Rule: r, At: []time.Duration{61 * second}}
		if l.Words() == "" || r.String() == "" || !used[r] {
			t.Errorf("rule %d: %q, %q, in the table: %v", r, l.Words(), r.String(), used[r])
		}
	}
	for x := NoTest + 1; x < testCount; x++ {
		if x.Words() == "" || x.String() == "" {
			t.Errorf("test %d has no words", x)
		}
	}
	l := Line{Rule: StoppedAtRelease, N: 4, Of: 4, For: 400 * time.Millisecond, At: []time.Duration{second, 2 * second, 3 * second, 4 * second}}
	if got, want := l.Words(), "clutch released: stopped within 0.4 s, 4 of 4 (0:00:01, 0:00:02, 0:00:03 and 1 more)"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// Trims that were read, with no surge to compare them in, are not "not tested".
func TestMake_TrimsRead(t *testing.T) {
	l := Make(&Facts{TrimsRead: true})
	if has(&l, Surge, Untested, TrimsUnread) != nil {
		t.Error("they were read")
	}
	f := &Facts{TrimsRead: true, Trims: []Trim{{At: second, Signal: "SHRTFT1", MovedPct: 9, BeforeMovePct: 1}}}
	l = Make(f)
	if x := has(&l, Surge, For, TrimMoved); x == nil || x.Named != "SHRTFT1" || has(&l, Surge, Against, TrimSteady) != nil {
		t.Errorf("%+v", l.Of(Surge, For))
	}
	f.Trims[0].MovedPct = 3
	l = Make(f)
	if has(&l, Surge, For, TrimMoved) != nil || has(&l, Surge, Against, TrimSteady) == nil {
		t.Errorf("%+v", l.Lines)
	}
}

// The next test, by what is known: codes where counts rose, the brake at the next shudder, a coast in
// neutral where the shake is felt and not seen.
func TestNext(t *testing.T) {
	rose := Counts{Read: true, Rises: []Rise{{Cylinder: 4, By: 38}}}
	for name, c := range map[string]struct {
		facts Facts
		want  Test
	}{
		"nothing":            {Facts{}, Reproduce},
		"counts rose":        {Facts{Misfire: rose}, CheckCodes},
		"rose, codes read":   {Facts{Misfire: rose, CodesRead: true}, Reproduce},
		"shudder":            {Facts{Events: []detect.Event{event(second)}}, TapBrake},
		"felt alone":         {Facts{Felt: []time.Duration{second}}, CoastNeutral},
		"felt, coast made":   {Facts{Felt: []time.Duration{second}, Steps: []steps.Step{{Kind: steps.NeutralCoast}}, CodesRead: true}, LowerTheGear},
		"one tap":            {Facts{Events: []detect.Event{event(second)}, Contrasts: []steps.Contrast{{Kind: steps.ClutchRelease, With: 1, Stopped: 1}}}, TapMore},
		"taps, codes unread": {Facts{Events: []detect.Event{event(second)}, Contrasts: []steps.Contrast{{Kind: steps.ClutchRelease, With: 3, Stopped: 3, Without: 3}}}, CheckCodes},
	} {
		if l := Make(&c.facts); l.Next != c.want {
			t.Errorf("%s: %s, want %s", name, l.Next, c.want)
		}
	}
}
