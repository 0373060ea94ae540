package drivetrain

import (
	"math/rand/v2"
	"time"
)

// Reading is one value as a tester would log it.
type Reading struct {
	At     time.Duration
	Signal string
	Value  float64 // in the unit of SAE J1979
}

// Readings returns the log of the whole drive, in order of time. The same drive and
// sampling give the same log.
func (d *Drive) Readings(s Sampling) []Reading {
	p := newPoll(d, s)
	list := make([]Reading, 0, int(2.1*d.spec.Length.Seconds()*p.s.RPMHz)+8)
	for p.at < d.spec.Length {
		list = p.round(list)
	}
	return list
}

// poll asks engine speed and companions in turn.
type poll struct {
	d          *Drive
	s          Sampling
	rng        *rand.Rand
	at         time.Duration
	interval   float64 // seconds
	turn       int
	nextSlow   time.Duration
	slowTurn   int
	gapUntil   time.Duration
	gapChance  float64
	zeroChance float64
}

func newPoll(d *Drive, s Sampling) *poll {
	if s.RPMHz <= 0 {
		s.RPMHz = 10
	}
	if s.Companions == nil {
		demand := TP
		if d.world.car.Diesel {
			demand = APPD
		}
		s.Companions = []string{VSS, demand, LoadPct}
	}
	return &poll{d: d, s: s, rng: d.world.stream(streamSampling), interval: 1 / s.RPMHz,
		gapChance: s.GapsPerHour / 3600 / s.RPMHz, zeroChance: s.ZerosPerH / 3600 / s.RPMHz}
}

var slowSignals = [...]string{ECT, VPWR}

const (
	slowEvery = 10 * time.Second
	gapsApart = 5 * time.Second
)

// round asks one engine speed and one companion, and moves on.
func (p *poll) round(list []Reading) []Reading {
	spread := 0.06
	if p.s.Jitter == 0 {
		spread = 0
	}
	spread = max(spread, p.s.UnevenPct/100)
	whole := p.interval * (1 + spread*(2*p.rng.Float64()-1))
	step := time.Duration(whole * float64(time.Second))
	if p.gapChance > 0 && p.at > p.gapUntil+gapsApart && p.rng.Float64() < p.gapChance {
		p.gapUntil = p.at + time.Duration(within(p.rng, 1, 3)*float64(time.Second))
	}
	list = p.ask(list, p.at, RPM)
	if second := p.at + step/2; second < p.d.spec.Length {
		if p.at >= p.nextSlow {
			p.nextSlow = p.at + slowEvery/time.Duration(len(slowSignals))
			list = p.ask(list, second, slowSignals[p.slowTurn%len(slowSignals)])
			p.slowTurn++
		} else if len(p.s.Companions) > 0 {
			list = p.ask(list, second, p.s.Companions[p.turn%len(p.s.Companions)])
			p.turn++
		}
	}
	p.at += step
	return list
}

func (p *poll) ask(list []Reading, at time.Duration, signal string) []Reading {
	if at < p.gapUntil || (p.s.DropShare > 0 && p.rng.Float64() < p.s.DropShare) {
		return list
	}
	measured := at
	if p.s.Jitter > 0 {
		measured += time.Duration((2*p.rng.Float64() - 1) * float64(p.s.Jitter))
	}
	value, ok := p.d.Report(measured, signal, p.s)
	if !ok {
		return list
	}
	if signal == RPM && p.zeroChance > 0 && p.rng.Float64() < p.zeroChance {
		value = 0
	}
	return append(list, Reading{at, signal, value})
}
