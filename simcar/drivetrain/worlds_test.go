package drivetrain

import (
	"math"
	"slices"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat"
)

const minute = time.Minute

// scriptComponent returns a drive of a script and what its faults add to engine speed: the
// same drive without them, taken from it.
func scriptComponent(seed uint64, script Script, length time.Duration) (with *Drive, rpm []float64) {
	spec := Spec{Seed: seed, Script: script, Length: length}
	with, without := New(spec), New(spec)
	row, _ := scriptRow(script)
	row.faults = nil
	without.world = newWorld(without.spec, row)
	with.extend(length)
	without.extend(length)
	rpm = make([]float64, int(length/fastStep))
	for i := range rpm {
		rpm[i] = float64(with.rpm[i]) - float64(without.rpm[i])
	}
	return with, rpm
}

// clearSpan is a burst long and quick enough for its swing to be measured apart from the slow
// rise of the slip that comes with it.
func clearSpan(s Span) bool { return s.Hz >= 1.25 && s.Hz*(s.End-s.Start).Seconds() >= 1.5 }

// In each world of shudder, swing and frequency of the truth are those of the engine speed
// without noise.
func TestWorlds_TruthOfShudder(t *testing.T) {
	for _, script := range []Script{SawShudders, BigShudders, DriftingShudders, HillShudders, ColdShudders} {
		t.Run(string(script), func(t *testing.T) {
			t.Parallel()
			checked := 0
			for seed := range uint64(2) {
				d, rpm := scriptComponent(seed, script, 10*minute)
				for _, s := range d.Truth().Shudder {
					if !clearSpan(s) {
						continue
					}
					checked++
					wave := inSpan(rpm, s, time.Duration(float64(time.Second)/s.Hz))
					if got := slices.Max(wave) - slices.Min(wave); math.Abs(got-s.SwingRPM) > 0.25*s.SwingRPM {
						t.Errorf("seed %d at %v: truth says %.0f rpm, engine speed swings %.0f", seed, s.Start, s.SwingRPM, got)
					}
					if want := s.Hz * (s.End - s.Start).Seconds(); math.Abs(float64(upward(wave))-want) > 1.6 {
						t.Errorf("seed %d at %v: truth says %.1f cycles, counted %v", seed, s.Start, want, upward(wave))
					}
				}
			}
			if checked < 6 {
				t.Errorf("only %d bursts", checked)
			}
		})
	}
}

// Swings of up to 600 rpm come, and bursts under three cycles.
func TestWorlds_BigAndShort(t *testing.T) {
	most := 0.0
	for seed := range uint64(3) {
		for _, s := range New(Spec{Seed: seed, Script: BigShudders, Length: 10 * minute}).Truth().Shudder {
			most = max(most, s.SwingRPM)
		}
	}
	if most < 350 || most > 1.31*600 {
		t.Errorf("greatest swing %.0f rpm, want 350 to 600 and what single bursts breathe", most)
	}
	bursts := New(Spec{Seed: 2, Script: ShortShudders, Length: 10 * minute}).Truth().Shudder
	for _, s := range bursts {
		if cycles := s.Hz * (s.End - s.Start).Seconds(); cycles > 3.2 {
			t.Errorf("burst at %v: %.1f cycles", s.Start, cycles)
		}
	}
	if len(bursts) < 10 {
		t.Errorf("only %d short bursts", len(bursts))
	}
}

// rising returns the share of its time in which a wave rises.
func rising(wave []float64) float64 {
	up := 0
	for i := 1; i < len(wave); i++ {
		if wave[i] > wave[i-1] {
			up++
		}
	}
	return float64(up) / float64(len(wave))
}

// A clutch that lets go at once and grabs slowly: engine speed rises in a small share of each
// cycle. A usual one takes a quarter to three quarters.
func TestWorlds_SawIsNoSine(t *testing.T) {
	d, rpm := scriptComponent(1, SawShudders, 10*minute)
	for _, s := range d.Truth().Shudder {
		if got := rising(rpm[s.Start/fastStep : s.End/fastStep]); clearSpan(s) && got > 0.35 {
			t.Errorf("%v: rises in %.2f of its time", s.Start, got)
		}
	}
}

// A drifting burst swings at another frequency at its end than at its beginning.
func TestWorlds_Drift(t *testing.T) {
	var ratios []float64
	for seed := range uint64(3) {
		d, rpm := scriptComponent(seed, DriftingShudders, 10*minute)
		for _, s := range d.Truth().Shudder {
			wave := inSpan(rpm, s, time.Duration(float64(time.Second)/s.Hz))
			if half := len(wave) / 2; s.Hz*(s.End-s.Start).Seconds() > 6 {
				a, b := float64(upward(wave[:half])), float64(upward(wave[half:]))
				ratios = append(ratios, max(a, b)/max(min(a, b), 1))
			}
		}
	}
	slices.Sort(ratios)
	if got := stat.Quantile(0.5, stat.Empirical, ratios, nil); len(ratios) < 10 || got < 1.2 || got > 2.5 {
		t.Errorf("%d bursts, median ratio of frequencies %.2f, want 1.2 to 2.5", len(ratios), got)
	}
}

// Shudder comes with a cold engine where the clutch applies early, a cold misfire and cold
// roughness go as the engine warms up, and a misfire under load comes on the climbs.
func TestWorlds_ColdAndLoad(t *testing.T) {
	for _, c := range []struct {
		script Script
		kind   SpanKind
		holds  func(s State) bool // at the start
		least  int                // spans for which it must hold
		all    bool
	}{
		{ColdShudders, GrabRelease, func(s State) bool { return s.CoolantC < 49 }, 3, false},
		{ColdMisfire, SpanMisfire, func(s State) bool { return s.CoolantC < 60.5 }, 2, true},
		{ColdCruise, SpanColdRough, func(s State) bool { return s.CoolantC < 60.5 }, 2, true},
		{HillMisfire, SpanMisfire, func(s State) bool { return s.LoadPct > 30 }, 5, true},
		{RingMisfire, SpanMisfire, func(s State) bool { return s.LoadPct > 30 }, 5, true},
		{TrainMisfire, SpanMisfire, func(s State) bool { return s.LoadPct > 30 }, 5, true},
		{PartMisfire, SpanMisfire, func(s State) bool { return s.LoadPct > 15 && s.LoadPct < 49 }, 5, true},
	} {
		d := New(Spec{Seed: 6, Script: c.script, Length: 12 * minute})
		truth := d.Truth()
		n := 0
		for _, s := range append(truth.Shudder, truth.LookAlikes...) {
			switch {
			case s.Kind == c.kind && c.holds(d.At(s.Start)):
				n++
			case s.Kind == c.kind && c.all:
				t.Errorf("%s at %v: %+v", c.script, s.Start, d.At(s.Start))
			}
		}
		if n < c.least {
			t.Errorf("%s: %d spans, want %d", c.script, n, c.least)
		}
	}
}

// A healthy engine is rougher cold than warm and never shudders.
func TestWorlds_ColdIsRough(t *testing.T) {
	d := New(Spec{Seed: 5, Script: ColdCruise, Length: 25 * minute})
	if n := len(d.Truth().Shudder); n > 0 {
		t.Errorf("%d spans of shudder", n)
	}
	at, rpm := series(d.Readings(Sampling{}), RPM)
	scatter := func(from, to time.Duration) float64 {
		var list []float64
		for end := from; end < to; end += 3 * time.Second {
			if i, _ := slices.BinarySearch(at, (end - 3*time.Second).Seconds()); d.At(end).SpeedKMH > 40 && !d.At(end).BrakeOn {
				list = append(list, quickScatter(at[i:i+30], rpm[i:i+30]))
			}
		}
		slices.Sort(list)
		return stat.Quantile(0.5, stat.Empirical, list, nil)
	}
	if cold, warm := scatter(minute, 5*minute), scatter(20*minute, 24*minute); cold < 1.4*warm {
		t.Errorf("quick scatter %.1f rpm cold, %.1f warm", cold, warm)
	}
}

// Gearboxes that are not tied look tied for minutes: road speed over engine speed stands
// still within 2 % for a minute and more, and elsewhere it moves.
func TestWorlds_HeldRatio(t *testing.T) {
	for _, script := range []Script{BeltHolds, SplitHolds} {
		longest, moved := 0.0, 0
		for seed := range uint64(3) {
			d := New(Spec{Seed: seed, Script: script, Length: 15 * minute})
			last, since := 0.0, 0.0
			for at := minute; at < d.Length(); at += time.Second {
				s := d.At(at)
				ratio := d.MeanRPM(at, time.Second) / max(s.SpeedKMH, 1)
				if since++; math.Abs(ratio/last-1) > 0.04 || !s.Running {
					last, since = ratio, 0
					moved++
				}
				longest = max(longest, since)
			}
		}
		if longest < 25 || moved < 20 {
			t.Errorf("%s: longest hold %.0f s, moved in %d s", script, longest, moved)
		}
	}
}

// A blow of lash swings once and is gone, at 1.3 to 1.9 Hz.
func TestWorlds_LashIsSingle(t *testing.T) {
	d, rpm := scriptComponent(3, Lash, 10*minute)
	spans := d.Truth().LookAlikes
	if len(spans) < 10 {
		t.Fatalf("only %d blows", len(spans))
	}
	for i, s := range spans {
		if s.Kind != SpanLash || i+1 < len(spans) && spans[i+1].Start-s.Start < 4*time.Second {
			t.Errorf("%v: %s", s.Start, s.Kind)
		}
		later := rpm[min(int((s.Start+1500*time.Millisecond)/fastStep), len(rpm)-1)]
		if math.Abs(later) > 0.2*s.SwingRPM || s.SwingRPM < 40 || s.SwingRPM > 260 {
			t.Errorf("%v: swing %.0f rpm, %.0f left after 1.5 s", s.Start, s.SwingRPM, later)
		}
	}
}

// A car reports the gear that is engaged: under lock-up cycling it stands while the clutch
// goes off and on, under gear hunting it changes.
func TestWorlds_GearIsReported(t *testing.T) {
	changes := func(script Script) (n int) {
		d := New(Spec{Seed: 3, Script: script, Length: 10 * minute})
		_, gears := series(d.Readings(Sampling{Companions: []string{GearAct}}), GearAct)
		for i := 1; i < len(gears); i++ {
			if gears[i] != gears[i-1] {
				n++
			}
		}
		return n
	}
	if cycling, hunting := changes(LockCycling), changes(GearHunting); hunting < 3*cycling/2 {
		t.Errorf("the gear changes %d times under lock-up cycling, %d under gear hunting", cycling, hunting)
	}
}
