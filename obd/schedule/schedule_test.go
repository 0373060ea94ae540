package schedule

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/reply"
)

// ordinary is what a car of the last years supports of service 01, as a rule (common
// practice, no source).
var ordinary = []byte{0x04, 0x05, 0x0B, 0x0C, 0x0D, 0x0F, 0x10, 0x11, 0x42, 0x43, 0x45, 0x46, 0x49, 0x4C}

func supports(pids ...byte) func(byte) bool {
	return func(pid byte) bool { return slices.Contains(pids, pid) }
}

// asking is one request of a drive.
type asking struct {
	at      time.Duration
	request string // with the count digit where there is one
}

// bare is the request without the count digit.
func (a asking) bare() string { return a.request[:len(a.request)&^1] }

func (a asking) has(pid byte) bool {
	ask := reply.ParseRequest(a.request)
	return ask.Has(pid)
}

// drive asks by a schedule for a time on a link where every exchange takes the same.
// lines is how many ECUs answer a request, with its digit; nil: one always.
func drive(s *Schedule, d, exchange time.Duration, lines func(request string) int) (out []asking) {
	for now := time.Duration(0); now < d; now += exchange {
		request := s.Next(now)
		out = append(out, asking{now, request})
		n := 1
		if lines != nil {
			n = lines(request)
		}
		s.Answered(request, n)
	}
	return out
}

// perSecond is how often a parameter is asked after the first two seconds, and the longest
// wait between two.
func perSecond(drive []asking, pid byte) (rate float64, longest time.Duration) {
	const from = 2 * time.Second
	n, last := 0, time.Duration(-1)
	for _, a := range drive {
		if a.at < from || !a.has(pid) {
			continue
		}
		if last >= 0 {
			longest = max(longest, a.at-last)
		}
		last = a.at
		n++
	}
	return float64(n) / (drive[len(drive)-1].at - from).Seconds(), longest
}

func TestSchedule_EngineSpeed(t *testing.T) {
	for _, exchange := range []time.Duration{12, 30, 66, 120, 250} {
		for _, can := range []obd.Capabilities{{Bundle: true}, {Bundle: true, Count: true}, {}, {Count: true}, {Slow: true}} {
			out := drive(New(can, supports(ordinary...)), time.Minute, exchange*time.Millisecond, nil)
			with := 0
			for i, a := range out {
				switch {
				case a.has(obd.EngineSpeed):
					with++
				case can.Bundle:
					t.Fatalf("%+v: %q without engine speed", can, a.request)
				case i > 0 && !out[i-1].has(obd.EngineSpeed):
					t.Fatalf("%+v: two requests in a row without engine speed", can)
				}
			}
			if 3*with < 2*len(out)-2 {
				t.Errorf("%+v, %d ms: engine speed in %d of %d requests", can, exchange, with, len(out))
			}
		}
	}
}

// At 15 exchanges a second with two parameters each, what decides about judging comes at 3 a
// second or better, and nothing starves.
func TestSchedule_CompanionsAt15ExchangesPerSecond(t *testing.T) {
	out := drive(New(obd.Capabilities{Bundle: true}, supports(ordinary...)), time.Minute, time.Second/15, nil)
	for _, c := range []struct {
		name string
		pid  byte
		rate float64
		wait time.Duration
	}{
		{"road speed", 0x0D, 3, 500 * time.Millisecond}, {"throttle", 0x11, 3, 500 * time.Millisecond},
		{"load", 0x04, 3, 500 * time.Millisecond}, {"coolant temperature", 0x05, 0.15, 8 * time.Second},
	} {
		rate, longest := perSecond(out, c.pid)
		t.Logf("%s: %.2f a second, at the longest %v", c.name, rate, longest)
		if rate < c.rate || longest > c.wait {
			t.Errorf("%s: %.2f a second, at the longest %v; want %.2f, %v", c.name, rate, longest, c.rate, c.wait)
		}
	}
}

// The gear comes once a second where the link is fast, alone, and costs no more than that
// many requests of engine speed; on a slow link it is left out. Editions of SAE J1979 differ
// in the lengths of what stands so far up, so it may share no reply.
func TestSchedule_GearOnceASecond(t *testing.T) {
	with := append(slices.Clone(ordinary), 0xA4)
	for _, c := range []struct {
		name     string
		can      obd.Capabilities
		exchange time.Duration
		rate     float64
	}{
		{"bundled", obd.Capabilities{Bundle: true}, 30 * time.Millisecond, 1},
		{"one each", obd.Capabilities{}, 20 * time.Millisecond, 1},
		{"bundled, slow", obd.Capabilities{Bundle: true}, 130 * time.Millisecond, 0},
		{"one each, slow", obd.Capabilities{Slow: true}, 110 * time.Millisecond, 0},
	} {
		const rpmLoss, rateTolerance = 1.1, 0.15 // readings a second
		out := drive(New(c.can, supports(with...)), time.Minute, c.exchange, nil)
		for _, a := range out {
			if a.has(0xA4) && a.has(obd.EngineSpeed) {
				t.Fatalf("%s: %q bundles the gear", c.name, a.request)
			}
		}
		if rate, longest := perSecond(out, 0xA4); math.Abs(rate-c.rate) > rateTolerance || longest > 2*time.Second {
			t.Errorf("%s: the gear %.2f times a second, at the longest %v; want %v", c.name, rate, longest, c.rate)
		}
		rpm, _ := perSecond(out, obd.EngineSpeed)
		before, _ := perSecond(drive(New(c.can, supports(ordinary...)), time.Minute, c.exchange, nil), obd.EngineSpeed)
		if rpm < before-rpmLoss {
			t.Errorf("%s: engine speed %.1f a second, %.1f without the gear", c.name, rpm, before)
		}
	}
}

// What is supported and useful is asked, each group once, whatever the link.
func TestSchedule_WhatIsAsked(t *testing.T) {
	for _, c := range []struct {
		name     string
		can      obd.Capabilities
		pids     []byte
		exchange time.Duration
		asked    string // sorted, engine speed left out
	}{
		{"fast, bundled", obd.Capabilities{Bundle: true}, ordinary, 30 * time.Millisecond, "04 05 0B 0D 0F 11 42 46 49"},
		{"fast, one each", obd.Capabilities{}, ordinary, 20 * time.Millisecond, "04 05 0B 0D 0F 11 42 46 49"},
		{"slow, one each: the spare are left out", obd.Capabilities{Slow: true}, ordinary, 110 * time.Millisecond, "04 05 0D 11 42"},
		{"slow, without throttle the pedal", obd.Capabilities{Slow: true}, []byte{0x0C, 0x0D, 0x04, 0x49}, 110 * time.Millisecond, "04 0D 49"},
		{"second choice of each group", obd.Capabilities{Bundle: true}, []byte{0x0C, 0x45, 0x43, 0x5A, 0x10}, 30 * time.Millisecond, "10 43 45 5A"},
		{"engine speed alone", obd.Capabilities{Bundle: true}, []byte{0x0C}, 30 * time.Millisecond, ""},
		{"no engine speed", obd.Capabilities{Bundle: true}, []byte{0x0D, 0x11}, 30 * time.Millisecond, "0D 11"},
		{"nothing supported: engine speed is asked all the same", obd.Capabilities{}, nil, 30 * time.Millisecond, ""},
	} {
		seen := map[string]bool{}
		const start = 3 * time.Second // the link's pace is known by then
		out := drive(New(c.can, supports(c.pids...)), 3*time.Minute, c.exchange, nil)
		for _, a := range out {
			if err := elm.Permit(a.request); err != nil {
				t.Fatal(err)
			}
			request := reply.ParseRequest(a.request)
			for _, pid := range request.Items() {
				if pid != obd.EngineSpeed && a.at >= start {
					seen[fmt.Sprintf("%02X", pid)] = true
				} else if pid == obd.EngineSpeed && len(c.pids) > 0 && !slices.Contains(c.pids, obd.EngineSpeed) {
					t.Fatalf("%s: %q", c.name, a.request)
				}
			}
		}
		var got []string
		for pid := range seen {
			got = append(got, pid)
		}
		slices.Sort(got)
		if strings.Join(got, " ") != c.asked {
			t.Errorf("%s: asked %q, want %q", c.name, strings.Join(got, " "), c.asked)
		}
	}
}

// On a slow bus readings at even distances would hide a swing of the same beat. Measured as
// sampling does: how much of a swing of each frequency, seen at these times, looks like one
// of another frequency in the band (the strength of an alias, 1: the same).
func TestSchedule_UnevenOnSlowLinks(t *testing.T) {
	alias := func(can obd.Capabilities, each time.Duration) (worst float64) {
		var times []float64
		for _, a := range drive(New(can, supports(ordinary...)), time.Minute, each, nil) {
			if a.has(obd.EngineSpeed) {
				times = append(times, a.at.Seconds())
			}
		}
		// the repeat of a fixed pattern of three exchanges, and its multiples below their rate
		for k := 1; k < 3; k++ {
			var re, im float64
			f := float64(k) / (3 * each.Seconds())
			for _, s := range times {
				re += math.Cos(2 * math.Pi * f * s)
				im += math.Sin(2 * math.Pi * f * s)
			}
			worst = max(worst, math.Hypot(re, im)/float64(len(times)))
		}
		return worst
	}
	even := alias(obd.Capabilities{}, 60*time.Millisecond)
	for name, uneven := range map[string]float64{
		"slow bus":      alias(obd.Capabilities{Slow: true}, 110*time.Millisecond),
		"slow adapter":  alias(obd.Capabilities{}, 110*time.Millisecond),
		"slow, at most": alias(obd.Capabilities{}, 220*time.Millisecond),
	} {
		if uneven > 0.25 || uneven > even/2 {
			t.Errorf("%s: strongest alias %.2f, %.2f when even", name, uneven, even)
		}
	}
}

// A parameter that went unanswered for some seconds is back within seconds.
func TestSchedule_UnansweredForAWhile(t *testing.T) {
	s := New(obd.Capabilities{}, func(pid byte) bool { return pid == obd.EngineSpeed || pid == 0x0D })
	var back time.Duration
	for now := time.Duration(0); now < 60*time.Second && back == 0; now += 20 * time.Millisecond {
		silent := now > 5*time.Second && now < 12*time.Second
		if request := s.Next(now); request == "010D" && now > 12*time.Second {
			back = now
		} else {
			s.Heard(request != "010D" || !silent)
		}
	}
	if back == 0 || back > 20*time.Second {
		t.Errorf("road speed is asked again at %v", back)
	}
}

// A parameter that a car claims and does not answer: four tries, then pauses that double, up to a
// minute.
func TestSchedule_PausesDouble(t *testing.T) {
	s := New(obd.Capabilities{}, supports(obd.EngineSpeed, 0x0D))
	var tries []time.Duration
	for now := time.Duration(0); now < 5*time.Minute; now += 20 * time.Millisecond {
		request := s.Next(now)
		if request == "010D" {
			tries = append(tries, now)
		}
		s.Heard(request != "010D")
	}
	if len(tries) < 10 || tries[3] > 2*time.Second {
		t.Fatalf("tries at %v", tries)
	}
	for i, want := range []time.Duration{4, 8, 16, 32, 60, 60} {
		if gap := tries[4+i] - tries[3+i]; gap < want*time.Second || gap > want*time.Second+500*time.Millisecond {
			t.Errorf("pause %d: %v, want %v s", i, gap, int(want))
		}
	}
}

// A link that becomes slow drops the spare parameters, and asks them again once it is fast: 10
// exchanges a second with two parameters each are enough, 20 with one.
func TestSchedule_PaceChanges(t *testing.T) {
	for _, c := range []struct {
		can  obd.Capabilities
		fast time.Duration
	}{{obd.Capabilities{Bundle: true}, 100 * time.Millisecond}, {obd.Capabilities{}, 50 * time.Millisecond}} {
		s := New(c.can, supports(ordinary...))
		now := time.Duration(0)
		for i, gap := range []time.Duration{c.fast, c.fast + 20*time.Millisecond, c.fast - 20*time.Millisecond} {
			spare := 0
			for n := range 600 {
				now += gap
				a := asking{now, s.Next(now)}
				if n > 200 && a.has(0x0B) { // the pace is known by then
					spare++
				}
				s.Answered(a.request, 1)
			}
			if slow := gap > c.fast; (spare == 0) != slow {
				t.Errorf("%+v, stage %d at %v: manifold pressure asked %d times", c.can, i, gap, spare)
			}
		}
	}
}

// On a link of few exchanges, load gives way to what decides second by second.
func TestSchedule_LoadOnASlowLink(t *testing.T) {
	out := drive(New(obd.Capabilities{Slow: true}, supports(ordinary...)), 3*time.Minute, 110*time.Millisecond, nil)
	load, _ := perSecond(out, 0x04)
	for _, pid := range []byte{0x0D, 0x11} {
		if rate, _ := perSecond(out, pid); rate < 1.8*load {
			t.Errorf("$%02X %.2f times a second, load %.2f", pid, rate, load)
		}
	}
}

// Each throttle signal that a car may have is asked alike.
func TestSchedule_EachThrottle(t *testing.T) {
	for _, pid := range []byte{0x11, 0x45, 0x4C} {
		out := drive(New(obd.Capabilities{Bundle: true}, supports(0x0C, 0x0D, 0x04, pid)), time.Minute, time.Second/15, nil)
		throttle, _ := perSecond(out, pid)
		speed, _ := perSecond(out, 0x0D)
		if math.Abs(throttle-speed) > 0.5 {
			t.Errorf("$%02X %.2f times a second, road speed %.2f", pid, throttle, speed)
		}
	}
}

// One short or long gap does not decide: gaps of 60 and 160 ms are 9 exchanges a second.
func TestSchedule_PaceIsSmoothed(t *testing.T) {
	s := New(obd.Capabilities{Bundle: true}, supports(ordinary...))
	now := time.Duration(0)
	for n := range 600 {
		now += []time.Duration{60 * time.Millisecond, 160 * time.Millisecond}[n%2]
		if a := (asking{now, s.Next(now)}); n > 200 && a.has(0x0B) {
			t.Fatalf("at %v the spare manifold pressure is asked", now)
		}
	}
}

// On a slow bus two to four requests for engine speed alone stand between two companions.
func TestSchedule_RunsVary(t *testing.T) {
	runs, n := map[int]int{}, 0
	for i, a := range drive(New(obd.Capabilities{Slow: true}, supports(ordinary...)), 3*time.Minute, 110*time.Millisecond, nil) {
		switch {
		case i < 100: // each companion comes once first
		case a.has(obd.EngineSpeed):
			n++
		default:
			runs[n]++
			n = 0
		}
		if !a.has(obd.EngineSpeed) {
			n = 0
		}
	}
	if len(runs) > 4 || runs[2] < 100 || runs[3] < 40 || runs[4] < 20 {
		t.Errorf("runs of engine speed alone: %v", runs)
	}
}
