// Package obdtest has what the tests of the rooms of obd share: a sink that keeps all that comes,
// and an adapter of few words, whose faults are written out.
package obdtest

import (
	"math"
	"slices"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/simcar"
)

// Journal is a sink that keeps all.
type Journal struct {
	Decoder   reply.Decoder
	Exchanges []obd.Exchange
	Samples   []pids.Sample
	Links     []obd.LinkChange
}

// Exchange takes in an exchange and what it reads.
func (j *Journal) Exchange(x obd.Exchange, _ *reply.Decoded) {
	j.Exchanges = append(j.Exchanges, x)
	j.Samples = append(j.Samples, j.Decoder.Decode(&x).Samples...)
}

// Link takes in a change of the link.
func (j *Journal) Link(c obd.LinkChange) { j.Links = append(j.Links, c) }

// Rate is readings a second of a signal between two times.
func (j *Journal) Rate(signal pids.Signal, ecu string, from, to time.Duration) float64 {
	n := 0
	for _, s := range j.Samples {
		if s.Signal == signal && (ecu == "" || s.ECU == ecu) && s.At >= from && s.At < to {
			n++
		}
	}
	return float64(n) / (to - from).Seconds()
}

// Moving is a car whose every value changes all the time, so that a reading that was
// invented or put to the wrong signal shows.
func Moving(t time.Duration) simcar.Condition {
	s := t.Seconds()
	return simcar.Condition{
		Ignition: true, RPM: 1700 + 60*math.Sin(2*math.Pi*1.9*s), SpeedKMH: 80 + 10*math.Sin(s/3),
		ThrottlePct: 18 + 3*math.Sin(s), RelThrottlePct: 5 + 2*math.Sin(s), PedalPct: 22 + 3*math.Sin(s), RelPedalPct: 6,
		LoadPct: 34 + 5*math.Cos(s), AbsLoadPct: 30, MAPkPa: 45 + 5*math.Sin(s/2), MAFgs: 15 + math.Sin(s), CoolantC: 70 + s/10,
		Volts: 14.1,
	}
}

// LongestGap is the longest time between two engine speeds that end in a stretch.
func LongestGap(samples []pids.Sample, from, to time.Duration) (gap time.Duration) {
	before := from
	for _, s := range samples {
		if s.Signal == pids.RPM && s.At > from && s.At < to {
			gap, before = max(gap, s.At-before), s.At
		}
	}
	return max(gap, to-time.Second-before)
}

// Reported reports whether the link changed for this cause.
func (j *Journal) Reported(cause obd.Cause) bool {
	return slices.ContainsFunc(j.Links, func(l obd.LinkChange) bool { return l.Cause == cause })
}

// Causes are why the link changed from then on, and with what words.
func (j *Journal) Causes(from time.Duration) (list []string) {
	for _, l := range j.Links {
		if l.At >= from {
			list = append(list, l.Cause.String()+": "+l.Text)
		}
	}
	return list
}
