package steps

import (
	"math"

	"github.com/judder-obd/judder/detect/series"
	"github.com/judder-obd/judder/pids"
)

// inputs are the readings that steps are recognised in.
type inputs struct {
	rpm, speed, gear series.Track
	throttle, pedal  demandTrack
	others           map[pids.Signal]*series.Source
	coolantC         float64
	coolantRead      bool
	geared           bool // a gear was reported, not neutral alone
}

// A further signal of driver demand, by its SAE J1979 name.
const tacPct pids.Signal = "TAC_PCT" // commanded throttle actuator, %

const (
	rpmKept   = 1024 // readings: 17 s at 60 a second
	rpmApart  = 0.01 // s: of a log of the bus no more than 100 readings a second are taken
	otherKept = 256
	holdECU   = 5 // s, after which another ECU may give the signal
)

func newInputs() inputs {
	return inputs{
		rpm: series.NewTrack(rpmKept), speed: series.NewTrack(otherKept), gear: series.NewTrack(otherKept),
		throttle: newDemandTrack(), pedal: newDemandTrack(), others: map[pids.Signal]*series.Source{},
	}
}

// take keeps a sample; false where it is of no use.
func (in *inputs) take(s pids.Sample, t float64) bool {
	if s.Signal == pids.ECT {
		in.coolantC, in.coolantRead = s.Value, true
		return false
	}
	track, rank := in.track(s.Signal)
	if track == nil && rank < 0 {
		return false
	}
	source := in.others[s.Signal]
	if source == nil {
		source = new(series.Source)
		in.others[s.Signal] = source
	}
	if use, _ := source.Accept(s, t, holdECU); !use {
		return false
	}
	r := series.Reading{T: t, V: s.Value}
	switch {
	case track != nil:
		last, ok := track.Last()
		if ok && t < last.T || s.Signal == pids.RPM && (s.Value >= asleepRPM || ok && t-last.T < rpmApart) {
			return false
		}
		track.Add(r)
		in.geared = in.geared || s.Signal == pids.GearAct && s.Value >= 1
	case s.Signal == pids.APPD || s.Signal == pids.APPR:
		in.pedal.take(r, rank)
	default:
		in.throttle.take(r, rank)
	}
	return true
}

// asleepRPM is what an ECU that sleeps reports, FFFF hexadecimal (seen in open data).
const asleepRPM = 16383

// track is where a signal is kept; for one of driver demand its rank, the best is 0; nil and -1 for
// one of no use.
func (in *inputs) track(signal pids.Signal) (track *series.Track, rank int) {
	switch signal {
	case pids.RPM:
		return &in.rpm, 0
	case pids.VSS:
		return &in.speed, 0
	case pids.GearAct:
		return &in.gear, 0
	case pids.TP, pids.APPD:
		return nil, 0
	case pids.TPR, pids.APPR:
		return nil, 1
	case tacPct:
		return nil, 2
	}
	return nil, -1
}

func (in *inputs) clear() {
	in.rpm.Clear()
	in.speed.Clear()
	in.gear.Clear()
	in.throttle.Clear()
	in.pedal.Clear()
}

// demandTrack keeps a signal of the driver's demand, of several the best-ranked one, and its range
// over the drive.
type demandTrack struct {
	series.Track
	rank      int
	low, high float64
}

func newDemandTrack() demandTrack {
	return demandTrack{Track: series.NewTrack(otherKept), rank: math.MaxInt, low: math.Inf(1), high: math.Inf(-1)}
}

func (k *demandTrack) take(r series.Reading, rank int) {
	if last, ok := k.Last(); rank > k.rank || ok && r.T < last.T {
		return
	}
	if rank < k.rank {
		k.Clear()
		k.rank, k.low, k.high = rank, math.Inf(1), math.Inf(-1)
	}
	k.Add(r)
	k.low, k.high = min(k.low, r.V), max(k.high, r.V)
}

// Demand, in per cent of its signal.
const (
	restWithin = 2. // at rest: so near the lowest of the drive
	restMoved  = 6. // the lowest means something once it has moved so far
	flapMove   = 3. // a throttle that moved less is a diesel's flap, where the pedal moved
	flapPedal  = 12.
)

// rest reports whether a value is that of demand at rest.
func (k *demandTrack) rest(v float64) bool { return k.high-k.low >= restMoved && v <= k.low+restWithin }

// closed reports whether demand is at rest now.
func (k *demandTrack) closed() bool {
	last, ok := k.Last()
	return ok && k.rest(last.V)
}

// demand is the throttle, or the pedal where there is no throttle or it is a diesel's flap; nil where
// neither is read.
func (in *inputs) demand() *demandTrack {
	flap := in.throttle.high-in.throttle.low < flapMove && in.pedal.high-in.pedal.low > flapPedal
	switch {
	case len(in.throttle.All) > 0 && !flap:
		return &in.throttle
	case len(in.pedal.All) > 0:
		return &in.pedal
	}
	return nil
}
