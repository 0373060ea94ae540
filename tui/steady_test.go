package tui

import (
	"testing"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/simcar/drivetrain"
)

// plan drives the road test plan of a seed as a screen sees it, fifteen frames a second, and returns
// the states shown and how long each was.
func plan(seed uint64) (shown []state, lasted []time.Duration) {
	const length = 12 * time.Minute
	trip := drivetrain.New(drivetrain.Spec{Seed: seed, Length: length, Script: drivetrain.RoadTest})
	sampling := drivetrain.Real(55, seed+1)
	sampling.Companions = []string{drivetrain.VSS, drivetrain.TP, drivetrain.LoadPct, drivetrain.VSS, drivetrain.TP, drivetrain.ECT}
	d := detect.New()
	var v view
	next, since := time.Duration(0), time.Duration(0)
	for _, r := range trip.Readings(sampling) {
		for ; next <= r.At; next += time.Second / 15 {
			was := v.word.shown
			v.snap.Now, v.snap.Phase, v.snap.Detector = next, session.Running, d.State()
			v.settle(false)
			if len(shown) == 0 || v.word.shown != was {
				if len(shown) > 0 {
					lasted = append(lasted, next-since)
				}
				shown, since = append(shown, v.word.shown), next
			}
		}
		d.Push(pids.Sample{At: r.At, ECU: "7E8", Signal: pids.Signal(r.Signal), Value: r.Value})
	}
	return shown, append(lasted, next-since)
}

// On the road test plan the word changes at most five times in any minute, or twice for each shudder in
// it, and none is shown for less than a second unless SHUDDER cuts it short, in simulated time. What is
// wanted is our own choice.
func TestSteadyWordsOfARoadTest(t *testing.T) {
	for seed := uint64(1); seed <= 6; seed++ {
		shown, lasted := plan(seed)
		var changed []time.Duration // when
		var alarms []bool           // whether it was to SHUDDER
		at, shortest, shudders := time.Duration(0), time.Hour, 0
		for i, d := range lasted[:len(lasted)-1] {
			at += d
			changed, alarms = append(changed, at), append(alarms, shown[i+1] == shudder)
			if shown[i+1] != shudder {
				shortest = min(shortest, d)
			}
			if shown[i] == shudder {
				shudders++
			}
		}
		most := 0
		for i := range changed {
			n, shaken := 0, 0
			for n < len(changed)-i && changed[i+n] < changed[i]+time.Minute {
				if alarms[i+n] {
					shaken++
				}
				n++
			}
			if n > 5 && n > 2*shaken {
				t.Errorf("seed %d: %d changes in a minute with %d shudders", seed, n, shaken)
			}
			most = max(most, n)
		}
		t.Logf("seed %d: %d changes, at most %d in a minute, shortest %.1f s, SHUDDER shown %d times", seed, len(changed), most, shortest.Seconds(), shudders)
		if shortest < time.Second {
			t.Errorf("seed %d: one was shown for %v", seed, shortest)
		}
		if shudders == 0 || len(changed) < 12 {
			t.Errorf("seed %d: %d changes, %d shudders: this plan tests little", seed, len(changed), shudders)
		}
	}
}

// SHUDDER is shown at once, another state after it has lasted; the lines wait with the word.
func TestSteady(t *testing.T) {
	var y steady
	for _, st := range []struct {
		sec  float64
		now  state
		want state
	}{
		{0, quiet, quiet}, {1, holdSteady, quiet}, {2.4, holdSteady, quiet}, {2.5, holdSteady, holdSteady},
		{3, quiet, holdSteady}, {3.2, waiting, holdSteady}, {4.6, waiting, holdSteady}, {4.8, waiting, waiting},
		{5, shudder, shudder}, {6, quiet, shudder}, {7.8, quiet, shudder}, {8, shudder, shudder}, {9, quiet, shudder},
		{10.5, quiet, shudder}, {12, quiet, shudder}, {13.6, quiet, quiet}, // after three changes within a minute: 1.5 + 3 s
		{14, linkLost, quiet}, {15.5, linkLost, linkLost},
		{40, waiting, waiting}, // the clock jumped
		{10, quiet, quiet},     // and went back
	} {
		if y.follow(st.now, time.Duration(st.sec*float64(time.Second)), false); y.shown != st.want {
			t.Errorf("at %v s: %s, want %s", st.sec, states[y.shown].word, states[st.want].word)
		}
	}
}

// ENGINE STOPPED is shown at once, but for the second in which the word before can be read. Once the
// word is restless it waits as others do; SHUDDER never waits.
func TestSteady_EngineStopped(t *testing.T) {
	var y steady
	at := time.Duration(0)
	show := func(st state, length time.Duration) {
		for end := at + length; at < end; at += 100 * time.Millisecond {
			y.follow(st, at, false)
		}
	}
	show(quiet, 5*time.Second)
	if show(engineStopped, 100*time.Millisecond); y.shown != engineStopped {
		t.Error("ENGINE STOPPED is not shown at once")
	}
	if show(shudder, 100*time.Millisecond); y.shown != shudder {
		t.Error("SHUDDER is not shown at once")
	}
	if show(engineStopped, 800*time.Millisecond); y.shown != shudder {
		t.Error("SHUDDER was shown for less than a second")
	}
	if show(engineStopped, 400*time.Millisecond); y.shown != engineStopped {
		t.Error("ENGINE STOPPED is not shown after SHUDDER could be read")
	}
	show(shudder, time.Second) // the fourth change
	if show(engineStopped, 3*time.Second); y.shown != shudder {
		t.Error("ENGINE STOPPED does not wait, though the word is restless")
	}
	if show(engineStopped, time.Minute); y.shown != engineStopped {
		t.Error("ENGINE STOPPED is never shown")
	}
}

// ENGINE STOPPED goes within 2 s of a restart, as do the words for a link that gives nothing, QUIET within 9 and SHUDDER within 21 of its end, also where no
// state after them lasts and the word has been restless. The seconds are our own choice.
func TestSteady_Outdated(t *testing.T) {
	for _, tt := range []struct {
		word   state
		within time.Duration
	}{{engineStopped, 2 * time.Second}, {linkLost, 2 * time.Second}, {noReadings, 2 * time.Second}, {connecting, 2 * time.Second}, {quiet, 9 * time.Second}, {shudder, 21 * time.Second}} {
		var y steady
		at := time.Duration(0)
		show := func(st state, length time.Duration) {
			for end := at + length; at < end; at += 100 * time.Millisecond {
				y.follow(st, at, false)
			}
		}
		for _, st := range []state{quiet, shudder, holdSteady, shudder, waiting, tt.word} {
			show(st, 14*time.Second)
		}
		if y.shown != tt.word {
			t.Fatalf("%s is shown, want %s", states[y.shown].word, states[tt.word].word)
		}
		for end := at + tt.within; at < end; {
			show(holdSteady, 200*time.Millisecond)
			show(waiting, 200*time.Millisecond)
		}
		if y.shown == tt.word {
			t.Errorf("%s is shown %v after it was over", states[tt.word].word, tt.within)
		}
	}
}

// That nothing is read is shown within 2 s, however restless the word has been. The seconds are our own choice.
func TestSteady_NothingRead(t *testing.T) {
	for _, word := range []state{connecting, noReadings, linkLost} {
		var y steady
		at := time.Duration(0)
		for _, st := range []state{quiet, shudder, holdSteady, shudder, waiting, shudder, word} {
			for end := at + 2*time.Second; at < end; at += 100 * time.Millisecond {
				y.follow(st, at, false)
			}
		}
		if y.shown != word {
			t.Errorf("%s is shown, want %s", states[y.shown].word, states[word].word)
		}
	}
}

// A word that is over and still shown, as no state after it lasts, has lines of now from 1.5 s on; SHUDDER
// from 3.
func TestSteady_Over(t *testing.T) {
	for _, tt := range []struct {
		word  state
		after int // tenths of a second
	}{{quiet, 15}, {shudder, 30}} {
		var y steady
		y.follow(waiting, 0, false)
		y.follow(tt.word, 10*time.Second, true)
		for k := range 60 {
			y.follow([]state{holdSteady, waiting}[k/5%2], 10*time.Second+time.Duration(k+1)*100*time.Millisecond, false)
			if got, want := y.over(), k+1 >= tt.after; y.shown != tt.word || got != want {
				t.Fatalf("%.1f s after %s, %s is shown, over is %v, want %v", float64(k+1)/10, states[tt.word].word, states[y.shown].word, got, want)
			}
		}
	}
}
