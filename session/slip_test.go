package session

import (
	"math"
	"testing"
	"time"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/pids/vehicle"
	"github.com/judder-obd/judder/session/recording"
)

const slipProfile = `name = "practice car"
[[parameter]]
signal = "TCC_SLIP"
name = "converter slip"
role = "slip"
module = "7E1"
identifier = "4D01"
bytes = 2
signed = true
scale = 0.25
unit = "rpm"
[[parameter]]
signal = "TCC_WANT"
name = "wanted slip"
role = "wanted slip"
module = "7E1"
identifier = "4D02"
bytes = 2
scale = 0.25
unit = "rpm"
`

const turbineProfile = `name = "practice car"
[[parameter]]
signal = "NT"
name = "turbine speed"
role = "turbine speed"
module = "7E1"
identifier = "4D03"
bytes = 2
scale = 0.25
unit = "rpm"
`

// gears is the vehicle of a car whose gear, read by $A4, is 0.69: 1571 rpm at 80 km/h with
// final drive 3.73 on 225/65R17 (0.96 π (17·25.4 + 2·225·0.65) mm a turn, computed here).
const gears = `name = "practice car"
[vehicle]
tyre = "225/65R17"
final_drive = 3.73
`

// slipAt is a locked clutch for a minute, then 60 rpm of slip, with a burst of 100 rpm peak to
// peak at 2 Hz from 100 to 104 s.
func slipAt(t float64) float64 {
	switch {
	case t < 60:
		return 0
	case t < 100 || t > 104:
		return 60
	}
	return 60 + 50*math.Sin(2*math.Pi*2*t)
}

// slipDrive is two minutes of a cruise at 80 km/h whose slip is slipAt, read ten times a second.
func slipDrive(t *testing.T, profile string) (*Analysis, *Snapshot) {
	t.Helper()
	p, err := vehicle.ParseProfile("test.toml", []byte(profile))
	if err != nil {
		t.Fatal(err)
	}
	const locked = 1571
	a, b := NewAnalysis(p), board{}
	for i := range 1200 {
		now := float64(i) / 10
		for _, x := range []struct {
			signal pids.Signal
			value  float64
		}{
			{pids.VSS, 80}, {pids.TP, 20}, {pids.ECT, 90}, {pids.GearRat, 0.69}, {pids.RPM, locked + slipAt(now) + float64(i%3)},
			{"TCC_SLIP", slipAt(now)}, {"TCC_WANT", 60}, {"NT", locked},
		} {
			e := recording.OfReading(pids.Sample{At: time.Duration(i) * 100 * time.Millisecond, Signal: x.signal, Value: x.value})
			b.show(a, &e, a.Take(&e))
		}
	}
	s := &Snapshot{Now: a.end}
	fill(s, a, &b)
	return a, s
}

// Slip that a profile reads is a lane with its role, and so is slip that is computed from
// turbine speed or from the gear; each is found swinging, once.
func TestSlip_LanesAndSwings(t *testing.T) {
	for name, c := range map[string]struct {
		profile  string
		lane     pids.Signal
		wanted   float64
		doubt    bool
		atTheEnd float64 // slip, rpm
		within   float64
	}{
		"slip read":         {slipProfile, "TCC_SLIP", 60, false, 60, 0},
		"turbine speed":     {turbineProfile, LaneSlip, math.NaN(), false, 60, 2.5},
		"gear, tyre, final": {gears, LaneApparent, math.NaN(), true, 60, 5},
	} {
		a, s := slipDrive(t, c.profile)
		var lane *Lane
		for i := range s.Lanes {
			if l := &s.Lanes[i]; l.Role == vehicle.RoleSlip {
				if lane != nil {
					t.Errorf("%s: two lanes of slip, %s and %s", name, lane.Signal, l.Signal)
				}
				lane = l
			}
		}
		if lane == nil {
			t.Errorf("%s: no lane of slip", name)
			continue
		}
		if lane.Signal != c.lane || lane.Unit != "rpm" || lane.Name == "" || len(lane.History) < 100 || math.Abs(lane.Value-c.atTheEnd) > c.within {
			t.Errorf("%s: lane %s %q %q, %d points, at the end %v", name, lane.Signal, lane.Name, lane.Unit, len(lane.History), lane.Value)
		}
		r := a.Result()
		if c.doubt && (len(r.Apparent) != 1 || math.Abs(r.Apparent[0].MeanRPM-60) > c.within || len(r.Locked) != 1 || !s.Apparent.Sharp()) {
			t.Errorf("%s: stretches %+v, locked %+v, now %+v", name, r.Apparent, r.Locked, s.Apparent)
		}
		if len(r.Slip) != 1 || len(s.Slip) != 1 || (r.Slip[0].ApparentRPM > 0) != c.doubt || math.Abs(r.Slip[0].Start.Seconds()-100) > 0.5 {
			t.Errorf("%s: %+v", name, r.Slip)
		} else if w := r.Slip[0].WantedRPM; w != c.wanted && !(math.IsNaN(w) && math.IsNaN(c.wanted)) {
			t.Errorf("%s: wanted %v", name, w)
		}
	}
}

// A computed lane has a gap where apparent slip is not known, and no value is kept standing.
func TestSlip_GapWhereNotKnown(t *testing.T) {
	a, b := NewAnalysis(nil), board{}
	push := func(i int, signal pids.Signal, v float64) {
		e := recording.OfReading(pids.Sample{At: time.Duration(i) * 100 * time.Millisecond, Signal: signal, Value: v})
		b.show(a, &e, a.Take(&e))
	}
	for i := range 1225 {
		throttle := 20.0
		if i > 1200 {
			throttle = 60 // moves: nothing is looked for
		}
		push(i, pids.VSS, 80)
		push(i, pids.TP, throttle)
		push(i, pids.GearRat, 0.69)
		push(i, pids.RPM, 1571+float64(i%3))
	}
	if b.computed == nil || !math.IsNaN(b.computed.Value) {
		t.Fatalf("computed lane: %+v", b.computed)
	}
	h := b.computed.points.points
	if n := len(h); n < 100 || !math.IsNaN(h[n-1].Value) || math.Abs(h[n-2].Value) > 15 {
		t.Errorf("%d points, the last two %v", n, h[max(n-2, 0):])
	}
}
