package detect

import (
	"math"
	"testing"
	"time"

	"github.com/judder-obd/judder/pids"
)

// pieces makes a drive at ten readings a second of stretches of engine and road speed.
type piece struct{ seconds, rpm, speed float64 }

func pieces(p ...piece) []pids.Sample {
	var out []pids.Sample
	t := 0.0
	for _, x := range p {
		for end := t + x.seconds; t < end-1e-9; t += 0.1 {
			at := time.Duration(t*1000+0.5) * time.Millisecond
			rpm := x.rpm
			if rpm > 300 && rpm < 16000 {
				rpm += float64(len(out)%7) * 1.25
			}
			out = append(out, pids.Sample{At: at, ECU: "7E8", Signal: pids.RPM, Value: rpm},
				pids.Sample{At: at, ECU: "7E8", Signal: pids.VSS, Value: x.speed})
		}
	}
	return out
}

// Cranking of 0.2–0.5 s is a restart by itself, longer is a driver at the key (from memory,
// trade); zeros at speed and 16383.75 rpm are faults of the link (public drives).
func TestStopKinds(t *testing.T) {
	for _, c := range []struct {
		name string
		p    []piece
		want []StopKind
	}{
		{"automatic", []piece{{20, 800, 0}, {0.3, 300, 0}, {12, 0, 0}, {0.3, 250, 0}, {10, 1100, 0}}, []StopKind{StopAutomatic}},
		{"stall", []piece{{20, 800, 0}, {12, 0, 0}, {1, 250, 0}, {10, 1100, 0}}, []StopKind{StopStall}},
		{"rolling", []piece{{20, 800, 12}, {3, 0, 9}, {4, 0, 0}, {0.3, 250, 0}, {10, 1100, 0}}, []StopKind{StopRolling}},
		{"off at the start", []piece{{5, 0, 0}, {0.8, 200, 0}, {10, 900, 0}}, []StopKind{StopOff}},
		{"off at the end", []piece{{10, 900, 0}, {5, 0, 0}}, []StopKind{StopOff}},
		{"asleep, then started", []piece{{5, 16383.75, 0}, {0.8, 200, 0}, {10, 900, 0}}, []StopKind{StopOff}},
		{"asleep until it runs", []piece{{5, 16383.75, 0}, {10, 1100, 0}}, []StopKind{StopOff}},
		{"a link that begins with a fault", []piece{{0.3, 16383.75, 0}, {10, 900, 0}}, nil},
		{"asleep at speed", []piece{{5, 16383.75, 60}, {10, 1700, 60}}, nil},
		{"single zero at speed", []piece{{20, 1700, 70}, {0.1, 0, 70}, {20, 1700, 70}}, nil},
		{"zeros for half a second at speed", []piece{{20, 1700, 70}, {0.5, 0, 70}, {20, 1700, 70}}, nil},
		{"single zero at idle", []piece{{20, 800, 0}, {0.1, 0, 0}, {20, 800, 0}}, nil},
		{"FFFF at speed", []piece{{20, 1700, 70}, {2, 16383.75, 70}, {20, 1700, 70}}, nil},
		{"none", []piece{{30, 800, 0}}, nil},
	} {
		d := run(pieces(c.p...))
		var got []StopKind
		for _, s := range d.Stops() {
			got = append(got, s.Kind)
			if s.End <= s.Start {
				t.Errorf("%s: stop from %v to %v", c.name, s.Start, s.End)
			}
		}
		if len(got) != len(c.want) || len(got) > 0 && got[0] != c.want[0] {
			t.Errorf("%s: kinds %v, want %v", c.name, got, c.want)
		}
		if len(d.Events()) > 0 {
			t.Errorf("%s: alarm %+v", c.name, d.Events())
		}
	}
}

func TestStopTimes(t *testing.T) {
	d := run(pieces(piece{20, 800, 0}, piece{10, 0, 0}, piece{0.3, 250, 0}, piece{10, 1100, 0}))
	s := d.Stops()[0]
	if s.Start != 20*time.Second || s.End != 30*time.Second {
		t.Errorf("from %v to %v, want 20 s to 30 s", s.Start, s.End)
	}
	var stopped time.Duration
	for _, x := range d.Spans() {
		if x.Reason == EngineStopped {
			stopped += x.End - x.Start
		}
	}
	if stopped < 9*time.Second || stopped > 11*time.Second {
		t.Errorf("%v masked as stopped, 10 s true", stopped)
	}
}

// An engine that was not seen to run stands still in a parked car or in one that rolls: road speed
// says which, while it lasts as well as at the end. VSS is told in whole km/h (SAE J1979, PID 0D);
// up to 3 km/h is a standstill, as for every other stop.
func TestStops_RollingSinceTheBeginning(t *testing.T) {
	const off, rolling = "engine off since the beginning", "engine off since the beginning, car rolling"
	for _, c := range []struct {
		name       string
		p          []piece
		live, then string // words after 8 s and at the end
	}{
		{"rolls out", []piece{{6, 0, 30}, {6, 0, 12}, {18, 0, 0}}, rolling, rolling},
		{"rolls, starts", []piece{{12, 0, 40}, {18, 1500, 40}}, rolling, rolling},
		{"rolls later, starts", []piece{{9, 0, 3}, {5, 0, 4}, {10, 1500, 4}}, off, rolling},
		{"asleep, rolls, starts", []piece{{1, 0, 0}, {9, 16383.75, 20}, {10, 1500, 20}}, rolling, rolling},
		{"parked", []piece{{30, 0, 0}}, off, off},
		{"driven off then", []piece{{10, 0, 0}, {4, 1500, 0}, {16, 1500, 40}}, off, off},
	} {
		d := New()
		for _, s := range pieces(c.p...) {
			d.Push(s)
			if s.At == 8*time.Second && s.Signal == pids.VSS {
				if stops := d.Stops(); len(stops) != 1 || stops[0].Words() != c.live {
					t.Errorf("%s: %+v after 8 s, want %q", c.name, stops, c.live)
				}
			}
		}
		d.Finish(d.at)
		if stops := d.Stops(); len(stops) != 1 || stops[0].Words() != c.then || !stops[0].FromStart {
			t.Errorf("%s: %+v, want %q", c.name, stops, c.then)
		}
		if len(d.Events()) > 0 {
			t.Errorf("%s: alarm %+v", c.name, d.Events())
		}
	}
	if got := (Stop{Kind: StopRolling}).Words(); got != "engine stop (rolling)" {
		t.Errorf("%q", got)
	}
}

// asleep is what a sleeping ECU gives: FFFF, 16383.75 rpm (SAE J1979).
const asleep = 16383.75

// watchOf gives readings of time, engine speed and road speed to a stop watch, at a usual interval.
func watchOf(interval float64, readings [][3]float64) *stopWatch {
	s := &stopWatch{crank: math.NaN()}
	for _, r := range readings {
		if r[1] >= asleepRPM {
			s.sleeps(r[0])
			continue
		}
		s.read(r[0], r[1], r[2], interval, &limits)
	}
	return s
}

// The limits of a stop, at the limit and beside it: a crankshaft turns from 60 rpm on and runs from 400;
// up to 3 km/h is a standstill; 5 s of silence are too long, and 20 s of a sleeping ECU are a key that was
// off. A stop ends where the starter first turned, or where it was last seen when what followed was not.
// Times are multiples of 1/8 s, which are exact.
func TestStops_Limits(t *testing.T) {
	type r = [][3]float64
	for _, c := range []struct {
		name     string
		readings r
		kind     StopKind
		end      float64 // s; 0 when there is no stop
	}{
		{"60 rpm turn", r{{0, 800, 0}, {1, 60, 0}, {2, 800, 0}}, 0, 0},
		{"less does not", r{{0, 800, 0}, {1, 59, 0}, {1.5, 800, 0}}, StopAutomatic, 1.5},
		{"399 rpm are the starter", r{{0, 800, 0}, {1, 0, 0}, {1.25, 399, 0}, {1.5, 800, 0}}, StopAutomatic, 1.25},
		{"60 rpm are, too", r{{0, 800, 0}, {1, 0, 0}, {1.25, 60, 0}, {1.5, 800, 0}}, StopAutomatic, 1.25},
		{"400 rpm run", r{{0, 400, 0}, {1, 0, 0}, {1.25, 400, 0}}, StopAutomatic, 1.25},
		{"a starter that gives up", r{{0, 800, 0}, {1, 0, 0}, {1.25, 250, 0}, {2.25, 0, 0}, {2.5, 250, 0}, {2.625, 800, 0}}, StopAutomatic, 2.5},
		{"never ran, turned", r{{0, 399, 0}, {1, 0, 0}, {1.5, 800, 0}}, StopOff, 1.5},
		{"at 3 km/h", r{{0, 800, 3}, {1, 0, 3}, {1.5, 0, 3}, {2, 800, 3}}, StopAutomatic, 2},
		{"rolls at 4", r{{0, 800, 4}, {1, 0, 4}, {1.5, 0, 0}, {2, 800, 0}}, StopRolling, 2},
		{"rolls away", r{{0, 800, 0}, {1, 0, 0}, {1.5, 0, 4}, {2, 0, 0}, {2.5, 800, 0}}, StopRolling, 2.5},
		{"speed known later", r{{0, 800, 0}, {1, 0, math.NaN()}, {1.5, 0, 4}, {2, 800, 0}}, StopRolling, 2},
		{"seen to start and roll after 1 s", r{{0, 800, 0}, {1, 0, 0}, {2, 800, 4}}, StopRolling, 2},
		{"drove off unseen", r{{0, 800, 0}, {1, 0, 0}, {2.25, 800, 40}}, StopAutomatic, 1},
		{"just runs, unseen", r{{0, 800, 0}, {1, 0, 0}, {2.25, 400, 40}}, StopAutomatic, 1},
		{"cranked in the gap, rolling", r{{0, 800, 0}, {1, 0, 0}, {4, 250, 4}, {4.125, 800, 0}}, StopRolling, 4},
		{"seen until 1 s before", r{{0, 800, 0}, {1, 0, 0}, {2, 800, 0}}, StopAutomatic, 2},
		{"last seen asleep", r{{0, 800, 0}, {1, 0, 0}, {1.5, asleep, 0}, {2.5, 800, 0}}, StopAutomatic, 2.5},
		{"asleep, and then a gap", r{{0, 800, 0}, {1, 0, 0}, {1.5, asleep, 0}, {3, 800, 0}}, StopAutomatic, 1.5},
		{"silent for 5 s", r{{0, 800, 0}, {1, 0, 0}, {6, 0, 0}, {6.5, 800, 0}}, StopAutomatic, 6.5},
		{"longer", r{{0, 800, 0}, {1, 0, 0}, {6.125, 0, 0}, {6.5, 800, 0}}, StopUnseen, 6.5},
		{"5 s to sleep", r{{0, 800, 0}, {1, 0, 0}, {6, asleep, 0}, {6.5, 800, 0}}, StopAutomatic, 6.5},
		{"longer", r{{0, 800, 0}, {1, 0, 0}, {6.125, asleep, 0}, {6.5, 800, 0}}, StopUnseen, 6.5},
		{"asleep for 20 s", r{{0, 800, 0}, {1, 0, 0}, {6, asleep, 0}, {11, asleep, 0}, {16, asleep, 0}, {21, asleep, 0}, {21.5, 800, 0}}, StopAutomatic, 21.5},
		{"longer", r{{0, 800, 0}, {1, 0, 0}, {6, asleep, 0}, {11, asleep, 0}, {16, asleep, 0}, {21.125, asleep, 0}, {21.5, 800, 0}}, StopOff, 21.5},
	} {
		s := watchOf(0.125, c.readings)
		if c.end == 0 {
			if len(s.stops) > 0 {
				t.Errorf("%s: %+v", c.name, s.stops)
			}
			continue
		}
		if len(s.stops) != 1 || s.stopped || s.stops[0].Kind != c.kind || s.stops[0].End != seconds(c.end) {
			t.Errorf("%s: %+v, want one, %v, to %v s", c.name, s.stops, c.kind, c.end)
		}
	}
}

// A restart by itself cranks for 0.43 s at most, and half the time between readings: trade, 0.2 to 0.5 s.
// How long the starter turned is the mean of what was seen and of what the readings allow (by hand beside
// each); it is what was seen where they come more seldom than each 0.27 s, or after a gap of more than 1 s.
func TestStops_Cranking(t *testing.T) {
	type r = [][3]float64
	for _, c := range []struct {
		interval float64
		readings r
		kind     StopKind
	}{
		{0.25, r{{1, 0, 0}, {1.25, 250, 0}, {1.5, 250, 0}, {1.75, 800, 0}}, StopAutomatic},              // (0.25 + 0.75)/2 = 0.5 of 0.555
		{0.25, r{{1, 0, 0}, {1.25, 250, 0}, {1.75, 250, 0}, {1.875, 800, 0}}, StopStall},                // (0.5 + 0.875)/2 = 0.69
		{0.125, r{{1, 0, 0}, {1.125, 250, 0}, {1.5, 250, 0}, {1.625, 800, 0}}, StopStall},               // (0.375 + 0.625)/2 = 0.5 of 0.4925
		{0.125, r{{1, 0, 0}, {1.125, 250, 0}, {1.375, 250, 0}, {1.625, 800, 0}}, StopAutomatic},         // (0.25 + 0.625)/2 = 0.44
		{0.27, r{{1, 0, 0}, {1.25, 250, 0}, {1.75, 250, 0}, {2, 800, 0}}, StopStall},                    // (0.5 + 1)/2 = 0.75 of 0.565
		{0.28, r{{1, 0, 0}, {1.25, 250, 0}, {1.75, 250, 0}, {2, 800, 0}}, StopAutomatic},                // 0.5 of 0.57
		{0.5, r{{1, 0, 0}, {1.5, 250, 0}, {2, 250, 0}, {2.5, 800, 0}}, StopAutomatic},                   // 0.5 of 0.68
		{0.5, r{{1, 0, 0}, {1.5, 250, 0}, {2.25, 250, 0}, {2.5, 800, 0}}, StopStall},                    // 0.75
		{0.125, r{{1, 0, 0}, {1.5, 250, 0}, {2, 800, 0}}, StopStall},                                    // a gap of 1 s: (0 + 1)/2 = 0.5
		{0.125, r{{1, 0, 0}, {1.625, 250, 0}, {2.125, 800, 0}}, StopAutomatic},                          // longer: 0
		{0.125, r{{1, 0, 4}, {2, 0, 2}, {2.125, 250, 2}, {3, 250, 2}, {3.125, 800, 2}}, StopRolling},    // it still rolls
		{0.125, r{{1, 0, 4}, {2, 0, 1}, {2.125, 250, 1}, {3, 250, 1}, {3.125, 800, 1}}, StopStall},      // it rolled out
		{0.125, r{{1, 0, 4}, {2, 0, 0}, {2.125, 250, 0}, {2.25, 250, 0}, {2.375, 800, 0}}, StopRolling}, // (0.125 + 0.375)/2 = 0.25
		{0.25, r{{1, 0, 4}, {1.5, 0, 0}, {1.75, 250, 0}, {2, 250, 0}, {2.25, 800, 0}}, StopRolling},     // 0.5 of 0.555
		{0.25, r{{1, 0, 4}, {1.5, 0, 0}, {1.75, 250, 0}, {2.25, 250, 0}, {2.375, 800, 0}}, StopStall},   // 0.69
	} {
		s := watchOf(c.interval, append(r{{0, 800, c.readings[0][2]}}, c.readings...))
		if len(s.stops) != 1 || s.stops[0].Kind != c.kind {
			t.Errorf("%v s between readings, %v: %v, want %v", c.interval, c.readings, s.stops, c.kind)
		}
	}
}

// At the end of the drive a stop is an engine switched off, unless the car rolls, or nobody saw the last
// of it: then it ends where it was seen.
func TestStops_AtTheEnd(t *testing.T) {
	type r = [][3]float64
	for _, c := range []struct {
		name       string
		readings   r
		end, speed float64
		kind       StopKind
		want       float64 // s, its end
	}{
		{"off", r{{1, 0, 0}, {2, 0, 0}}, 2.5, 0, StopOff, 2.5},
		{"last read 1 s ago", r{{1, 0, 0}, {2, 0, 0}}, 3, 0, StopOff, 3},
		{"longer ago", r{{1, 0, 0}, {2, 0, 0}}, 3.125, 0, StopOff, 2},
		{"5 s ago", r{{1, 0, 0}, {2, 0, 0}}, 7, 0, StopOff, 2},
		{"not seen any more", r{{1, 0, 0}, {2, 0, 0}}, 7.125, 0, StopUnseen, 2},
		{"asleep, 5 s ago", r{{1, 0, 0}, {2, asleep, 0}}, 7, 0, StopOff, 2},
		{"asleep for 20 s, then silent", r{{1, 0, 0}, {6, asleep, 0}, {11, asleep, 0}, {16, asleep, 0}, {21, asleep, 0}}, 30, 0, StopUnseen, 21},
		{"asleep for longer, then silent", r{{1, 0, 0}, {6, asleep, 0}, {11, asleep, 0}, {16, asleep, 0}, {21.125, asleep, 0}}, 30, 0, StopOff, 21.125},
		{"at 3 km/h", r{{1, 0, 3}, {2, 0, 3}}, 2.5, 3, StopOff, 2.5},
		{"rolls", r{{1, 0, 4}, {2, 0, 4}}, 2.5, 4, StopRolling, 2.5},
	} {
		s := watchOf(0.125, append(r{{0, 800, 0}}, c.readings...))
		s.finish(c.end, c.speed, 0.125, &limits)
		if len(s.stops) != 1 || s.stops[0].Kind != c.kind || s.stops[0].End != seconds(c.want) {
			t.Errorf("%s: %+v, want %v, to %v s", c.name, s.stops, c.kind, c.want)
		}
	}
}
