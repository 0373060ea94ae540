package steps

import (
	"encoding/csv"
	"io/fs"
	"math"
	"path"
	"strconv"
	"testing"
	"time"

	"github.com/judder-obd/judder/fixtures"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/simcar/drivetrain"
)

// realDrives are the steps of each real drive, by the name of its file.
func realDrives(t *testing.T) map[string][]Step {
	t.Helper()
	names, err := fs.Glob(fixtures.Files, "drives/*.csv")
	if err != nil || len(names) < 5 {
		t.Fatalf("%d drives: %v", len(names), err)
	}
	all := map[string][]Step{}
	for _, name := range names {
		f, err := fixtures.Files.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(f).ReadAll()
		_ = f.Close()
		if err != nil {
			t.Fatal(err)
		}
		w := New()
		for _, row := range rows[1:] {
			at, _ := strconv.ParseFloat(row[0], 64)
			v, _ := strconv.ParseFloat(row[2], 64)
			w.Push(pids.Sample{At: time.Duration(at * 1e9), Signal: pids.Signal(row[1]), Value: v})
		}
		w.Finish()
		all[path.Base(name)] = w.Found()
	}
	return all
}

// No release, no lower gear and no sweep is invented in real driving. The source of each drive is in
// fixtures/PROVENANCE.md; the cars in town have a manual gearbox, by their plots.
func TestRealDrives_NothingInvented(t *testing.T) {
	for name, steps := range realDrives(t) {
		for _, s := range steps {
			switch s.Kind {
			case NeutralCoast, ThrottleLift:
			default:
				t.Errorf("%s: %s at %v, %+.0f rpm", name, s.Kind, s.Start, s.RPMStep)
			}
		}
	}
}

// The coasts of stopstart-city-1.csv were counted by hand, on a plot of engine speed, road speed, pedal
// and their ratio: engine speed flat at that of idling with the pedal at rest, from 30 km/h or more, for
// longer than a change of gear. They begin at about 279 s (41 km/h), 608 s (35) and 762 s (34). Not
// counted: 418 and 1001 s, which begin below 30 km/h, and dips at 413, 579 and 692 s, changes of gear.
func TestRealDrives_CoastsByHand(t *testing.T) {
	var got []Step
	for _, s := range realDrives(t)["stopstart-city-1.csv"] {
		if s.Kind == NeutralCoast {
			got = append(got, s)
		}
	}
	const tolerance = 1.5 // s; a reading comes every 0.9 s
	want := []float64{279, 608, 762}
	if len(got) != len(want) {
		t.Fatalf("%d coasts, want %d: %+v", len(got), len(want), got)
	}
	for i := range want {
		if math.Abs(got[i].Start.Seconds()-want[i]) > tolerance {
			t.Errorf("coast at %v, by hand at %v s", got[i].Start, want[i])
		}
		if got[i].Fault != FewReadings {
			t.Errorf("coast at %v: %q; a reading in 0.9 s does not show a swing", got[i].Start, got[i].Fault.Words())
		}
	}
}

// simulated are the steps of a simulated drive, read 18 times a second, with the gear or without.
func simulated(script drivetrain.Script, seed uint64, length time.Duration, gear bool) (*drivetrain.Drive, []Step) {
	d := drivetrain.New(drivetrain.Spec{Seed: seed, Script: script, Length: length})
	s := drivetrain.Sampling{RPMHz: 18, Companions: []string{drivetrain.VSS, drivetrain.TP, drivetrain.LoadPct}}
	if d.Car().Diesel {
		s.Companions[1] = drivetrain.APPD
	}
	if gear {
		s.Companions = append(s.Companions, drivetrain.GearAct)
	}
	w := New()
	for _, r := range d.Readings(s) {
		w.Push(pids.Sample{At: r.At, Signal: pids.Signal(r.Signal), Value: r.Value})
	}
	w.Finish()
	return d, w.Found()
}

// Against the truth of the simulated road test: of the touches of the brake that open an applied clutch
// with the throttle kept, four in five are found (one that raises engine speed by less than 80 rpm is none), and what is called
// a release is one, but for one in five.
func TestSimulated_Releases(t *testing.T) {
	taps, found, wrong, calls, calmed := 0, 0, 0, 0, 0
	seeds := uint64(8)
	if testing.Short() {
		seeds = 3
	}
	for seed := range seeds {
		d, all := simulated(drivetrain.RoadTest, seed+1, 20*time.Minute, seed%2 == 0)
		for _, tap := range d.Taps() {
			if d.At(tap.Start).LockShare < 0.95 || tap.End-tap.Start < 1500*time.Millisecond || !keepsThrottle(d, tap.Start) {
				continue
			}
			taps++
			for _, s := range all {
				if (s.Kind == ClutchRelease || s.Kind == LowerGear && seed%2 == 1) && s.Start > tap.Start-time.Second && s.Start < tap.Start+time.Second {
					found++
					if s.Calmed() {
						calmed++
					}
					break
				}
			}
		}
		for _, s := range all {
			if s.Kind != ClutchRelease {
				continue
			}
			calls++
			if d.At(s.End+time.Second).LockShare >= d.At(s.Start-500*time.Millisecond).LockShare {
				wrong++
			}
		}
	}
	t.Logf("%d taps, %d found, %d of them stopped a swing; %d releases called, %d wrong", taps, found, calmed, calls, wrong)
	if taps < 8 || 5*found < 4*taps || 5*wrong > calls || 2*calmed < found {
		t.Errorf("%d taps, %d found, %d of them stopped a swing; %d releases called, %d wrong", taps, found, calmed, calls, wrong)
	}
}

// keepsThrottle reports whether the throttle stays within 3 % about a time.
func keepsThrottle(d *drivetrain.Drive, at time.Duration) bool {
	low, high := math.Inf(1), math.Inf(-1)
	for t := at - 1700*time.Millisecond; t < at+1500*time.Millisecond; t += 50 * time.Millisecond {
		x := d.At(t).ThrottlePct
		low, high = min(low, x), max(high, x)
	}
	return high-low <= steadyDemand
}

// In healthy town traffic a release is called only where the clutch really opened.
func TestSimulated_Town(t *testing.T) {
	for seed := range uint64(4) {
		d, all := simulated(drivetrain.City, seed+1, 15*time.Minute, true)
		for _, s := range all {
			if s.Kind == ClutchRelease && d.At(s.End+time.Second).LockShare >= d.At(s.Start-500*time.Millisecond).LockShare {
				t.Errorf("seed %d: release at %v, and the clutch stayed", seed+1, s.Start)
			}
		}
	}
}

// The coast in neutral of the simulated road test is found where the gear is reported, and nothing else
// is taken for one.
func TestSimulated_NeutralCoast(t *testing.T) {
	n := 0
	for seed := range uint64(3) {
		d, all := simulated(drivetrain.RoadTest, seed+1, 20*time.Minute, true)
		for _, s := range all {
			if s.Kind != NeutralCoast {
				continue
			}
			n++
			if at := d.At(s.Start + time.Second); at.Gear != 0 || at.SpeedKMH < 15 {
				t.Errorf("seed %d: %v, gear %d at %.0f km/h", seed+1, s.Start, at.Gear, at.SpeedKMH)
			}
		}
	}
	if n < 3 {
		t.Errorf("%d coasts in three drives", n)
	}
}
