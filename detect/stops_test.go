package detect

import (
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
