package tui

import (
	"math"
	"strings"
	"sync"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/slip"
	"github.com/judder-obd/judder/detect/steps"
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/session"
)

// fakeDrive is a drive by formula, made up here: 45 minutes with a burst of 146 rpm at
// 1.9 Hz from 0:11:02 on, an automatic stop at 0:09:40 and a gap of 4 s at 0:10:50.
// It answers as a session does, and keeps what the screen asks of it.
type fakeDrive struct {
	mu      sync.Mutex
	start   time.Time     // of the wall clock; zero when the drive is held at now
	now     time.Duration // of the drive
	change  func(*session.Snapshot)
	felt    int
	notes   []string
	ends    int
	pauses  []bool
	speeds  []float64
	seeks   []time.Duration
	replay  bool
	noLanes bool
	blind   bool
	armed   *steps.Kind
}

// shown is the fake as the screen gets it: as a drive or as a replay.
func (f *fakeDrive) shown() shown {
	if f.replay {
		return replaying(f)
	}
	return driving(f)
}

const (
	burstStart = 11*time.Minute + 2*time.Second
	burstEnd   = burstStart + 3200*time.Millisecond
	burstRPM   = 146.0 // peak to peak
	burstHz    = 1.9
	fakeLength = 45 * time.Minute
	gapStart   = 10*time.Minute + 50*time.Second
	gapEnd     = gapStart + 4*time.Second
)

func at(min, sec float64) time.Duration {
	return time.Duration(min*float64(time.Minute) + sec*float64(time.Second))
}

// fakeSignals are the lanes: name, unit, interval, and the formula over seconds.
var fakeSignals = []struct {
	signal     pids.Signal
	name, unit string
	every      time.Duration
	value      func(t float64) float64
}{
	{pids.ECT, "Engine coolant temperature", "°C", 10 * time.Second, func(float64) float64 { return 91 }},
	{pids.RPM, "Engine speed", "rpm", 47 * time.Millisecond, fakeRPM},
	{pids.LoadPct, "Calculated load", "%", 143 * time.Millisecond, func(t float64) float64 { return 34 + 2*math.Sin(t/3) }},
	{pids.VSS, "Vehicle speed", "km/h", 143 * time.Millisecond, func(t float64) float64 { return math.Round(67.5 + math.Sin(t/7)) }},
	{pids.TP, "Throttle position A", "%", 143 * time.Millisecond, func(t float64) float64 { return 18.4 + 0.4*math.Sin(t/11) }},
	{pids.VPWR, "Control module voltage", "V", 5 * time.Second, func(float64) float64 { return 14.1 }},
}

func fakeRPM(t float64) float64 {
	v := 1742 + 14*math.Sin(t/4) + 4*math.Sin(t*7.3)
	if from := burstStart.Seconds(); t >= from && t <= burstEnd.Seconds() {
		v += burstRPM / 2 * math.Sin(2*math.Pi*burstHz*(t-from))
	}
	return v
}

func (f *fakeDrive) Snapshot(dst *session.Snapshot) {
	f.mu.Lock()
	defer f.mu.Unlock()
	now := f.now
	if !f.start.IsZero() {
		now += time.Since(f.start)
	}
	f.fill(dst, now)
	if f.change != nil {
		f.change(dst)
	}
	if dst.Headline.Word == "" && len(dst.Lanes) > 0 && dst.Verdict.Finding <= detect.Shudder {
		dst.Headline = session.Headline{Finding: dst.Verdict.Finding, Word: strings.ToUpper(dst.Verdict.Finding.String()), Reason: dst.Verdict.Reason}
	}
}

// fakeCover are the passes of the fake drive and what they cover: light load in three bands.
func fakeCover(s *session.Snapshot) {
	for i := range 9 {
		s.Cover.Rows = append(s.Cover.Rows, session.CoverRow{FromKMH: float64(30 + 10*i), ToKMH: float64(40 + 10*i)})
	}
	s.Cover.Rows[3].Judged = [4]time.Duration{71 * time.Second, 12 * time.Second}
	s.Cover.Rows[5].Judged[session.CoverUnknown] = 9 * time.Second
	s.Need = session.Need{Judged: 71 * time.Second, Passes: 2, Shudders: 1, More: 1}
	s.Passes = []session.Pass{{Start: at(7, 0), End: at(8, 11), Judged: 60 * time.Second, SpeedKMH: 64, LoadPct: 34, InComplaint: true},
		{Start: burstStart - 5*time.Second, End: burstEnd + 5*time.Second, Judged: 11 * time.Second, SpeedKMH: 66, LoadPct: nan, InComplaint: true, Shudder: true}}
}

func (f *fakeDrive) fill(s *session.Snapshot, now time.Duration) {
	*s = session.Snapshot{
		Now: now, Phase: session.Running, Blind: session.BlindState{On: f.blind, Chance: nan}, Recording: "/drives/2026-11-25T0942.jsonl",
		Link: session.Link{State: obd.LinkCar, Text: "the car answers", Exchanges: int(now / (47 * time.Millisecond)),
			Silent: 3, Damaged: 1, HostShare: 1200 * time.Microsecond, Source: "/drives/2026-11-25T0942.jsonl"},
		Lanes: s.Lanes[:0],
		Detector: detect.State{At: now, Reason: detect.Judged, SwingRPM: 14, LimitRPM: 31, SmallestRPM: 36,
			Judged: at(4, 10), SteadyFor: 9 * time.Second, SpeedKMH: 68, Rate: 21},
		Apparent: slip.ApparentSlip{At: now, SlipRPM: 4, PlusMinusRPM: 14, LockedRPM: 1738},
		Verdict:  detect.Verdict{Finding: detect.Shudder, Reason: "engine speed swung at steady throttle in 1 pass", Testable: at(4, 10), SmallestRPM: 36},
	}
	if !f.noLanes {
		f.fillLanes(s, now)
	}
	f.fillCourse(s, now)
	fakeCover(s)
	f.fillSteps(s, now)
	if f.replay {
		s.Phase = session.Replaying
		whole := session.Snapshot{}
		f.fillCourse(&whole, fakeLength)
		s.Replay = session.ReplayState{Length: fakeLength, Speed: 1, Events: whole.Events, Stops: whole.Stops,
			Observations: whole.Observations, Spans: whole.Spans, Losses: whole.Losses, Marks: whole.Marks, Course: fakeCourse()}
		result := resultOf(s)
		result.Duration, result.Events = fakeLength, whole.Events
		result.Headline = session.Headline{Finding: detect.Shudder, Word: "SHUDDER SEEN", Reason: s.Verdict.Reason}
		s.Replay.Whole = &result
	}
}

func (f *fakeDrive) fillLanes(s *session.Snapshot, now time.Duration) {
	for _, sig := range fakeSignals {
		l := session.Lane{Signal: sig.signal, ECU: "7E8", Name: sig.name, Unit: sig.unit, Rate: float64(time.Second) / float64(sig.every)}
		for t := max(now-2*time.Minute, 0) / sig.every * sig.every; t <= now; t += sig.every {
			if t < gapStart || t >= gapEnd {
				l.History = append(l.History, session.Point{At: t, Value: sig.value(t.Seconds())})
				l.At, l.Value = t, sig.value(t.Seconds())
			}
		}
		s.Lanes = append(s.Lanes, l)
	}
	for t := max(now-2*time.Minute, 0) / (200 * time.Millisecond) * (200 * time.Millisecond); t <= now; t += 200 * time.Millisecond {
		swing := 14 + 3*math.Sin(t.Seconds())
		if t > burstStart+time.Second && t < burstEnd+2*time.Second {
			swing = burstRPM
		}
		if t < gapStart || t >= gapEnd+3*time.Second {
			s.Swing = append(s.Swing, session.Point{At: t, Value: swing})
			s.Limit = append(s.Limit, session.Point{At: t, Value: 31})
		}
	}
}

// fakeCourse is the readings of the ten minutes around the burst, as a replay has them.
var fakeCourse = sync.OnceValue(func() (c session.Course) {
	for _, sig := range fakeSignals {
		var pts []session.Point
		for t := at(7, 0) / sig.every * sig.every; t <= at(17, 0); t += sig.every {
			if t < gapStart || t >= gapEnd {
				pts = append(pts, session.Point{At: t, Value: sig.value(t.Seconds())})
			}
		}
		switch sig.signal {
		case pids.RPM:
			c.RPM = pts
		case pids.TP:
			c.Throttle = pts
		case pids.VSS:
			c.Speed = pts
		}
	}
	return c
})

func (f *fakeDrive) fillCourse(s *session.Snapshot, now time.Duration) {
	type part struct {
		end    time.Duration
		reason detect.Reason
	}
	from := time.Duration(0)
	for _, p := range []part{
		{at(4, 0), detect.LoadNotLearnt}, {at(5, 30), detect.FloorNotLearnt}, {at(7, 0), detect.ThrottleMoving},
		{at(9, 0), detect.Judged}, {at(9, 40), detect.OutsideBand}, {at(10, 4), detect.EngineStopped},
		{at(10, 9), detect.Starting}, {gapStart, detect.Judged}, {gapEnd, detect.LinkGap}, {gapEnd + 5*time.Second, detect.Settling},
		{at(15, 0), detect.Judged}, {at(20, 0), detect.SpeedChanging}, {at(33, 0), detect.Judged}, {fakeLength, detect.ClosedThrottle},
	} {
		if from < now {
			s.Spans = append(s.Spans, detect.Span{Start: from, End: min(p.end, now), Reason: p.reason, SmallestRPM: 36})
		}
		from = p.end
	}
	if now > burstStart {
		s.Events = append(s.Events, detect.Event{Start: burstStart, End: burstEnd, SwingRPM: burstRPM, Hz: []float64{burstHz},
			Regular: true, Readings: 68, LimitRPM: 31, FloorRPM: 9, SpeedKMH: 64, LoadPct: 34, ThrottlePct: 18, CoolantC: 91})
	}
	if now > at(10, 4) {
		s.Stops = append(s.Stops, detect.Stop{Start: at(9, 40), End: at(10, 4), Kind: detect.StopAutomatic})
	}
	if now > gapStart+2*time.Second {
		s.Losses = append(s.Losses, session.Loss{Start: gapStart, End: min(gapEnd, now), Open: now < gapEnd, Reason: session.LinkReason{Cause: obd.CauseUnplugged}})
	}
	if now > at(8, 3) {
		s.Observations = append(s.Observations, detect.Observation{Start: at(8, 0), End: at(8, 3), Kind: detect.SlowSwing, SwingRPM: 41})
	}
	for _, m := range []session.Mark{{At: at(7, 30), Note: "wet road, light climb"}, {At: at(8, 30), Strength: 1, Outcome: session.NotSeen}, {At: burstStart + 600*time.Millisecond, Strength: 1, Outcome: session.Seen}} {
		if m.At <= now {
			s.Marks = append(s.Marks, m)
		}
	}
}

func (f *fakeDrive) Felt()             { f.lock(func() { f.felt++ }) }
func (f *fakeDrive) Note(text string)  { f.lock(func() { f.notes = append(f.notes, text) }) }
func (f *fakeDrive) StartCheck() error { return session.ErrNoCheck }

// ArmStep and Disarm keep what was announced.
func (f *fakeDrive) ArmStep(k steps.Kind) { f.lock(func() { f.armed = &k }) }
func (f *fakeDrive) Disarm()              { f.lock(func() { f.armed = nil }) }

func (f *fakeDrive) SetBlind(on bool) { f.lock(func() { f.blind = on }) }

// TakeBack drops one of the marks that were made.
func (f *fakeDrive) TakeBack() (m session.Mark, ok bool) {
	f.lock(func() {
		if ok = f.felt > 0; ok {
			f.felt--
		}
		m.At = f.now
	})
	return m, ok
}

func (f *fakeDrive) End()            { f.lock(func() { f.ends++ }) }
func (f *fakeDrive) Pause(hold bool) { f.lock(func() { f.pauses = append(f.pauses, hold) }) }
func (f *fakeDrive) SetSpeed(x float64) {
	f.lock(func() { f.speeds = append(f.speeds, x) })
}
func (f *fakeDrive) Seek(t time.Duration) {
	f.lock(func() { f.seeks = append(f.seeks, t); f.now = t })
}

func (f *fakeDrive) lock(do func()) {
	f.mu.Lock()
	defer f.mu.Unlock()
	do()
}

// fakeStep is a touch of the brake that ends the burst.
var fakeStep = steps.Step{Kind: steps.ClutchRelease, Start: burstEnd - 200*time.Millisecond, End: burstEnd, RPMStep: 380, BeforeRPM: 118, AfterRPM: 9, Stopped: 400 * time.Millisecond, Armed: true}

// fillSteps fills what was announced and made: a step, once the burst is over, if one was announced.
func (f *fakeDrive) fillSteps(s *session.Snapshot, now time.Duration) {
	if f.armed == nil {
		return
	}
	s.Arming = session.Arming{On: true, Kind: *f.armed, Since: now - time.Minute, Setup: [3]session.Tick{{Need: session.NeedWarm, OK: true}, {Need: session.NeedCruise, OK: true}, {Need: session.NeedSteady}}}
	if now > burstEnd+3*time.Second {
		s.Steps = append(s.Steps, fakeStep)
		s.Arming.Made, s.Arming.Last = 1, fakeStep
		s.Arming.Contrast = steps.Contrast{Kind: steps.ClutchRelease, With: 3, Stopped: 3, Within: 400 * time.Millisecond, Without: 3, WentOn: 3, For: 6300 * time.Millisecond}
	}
}

// Result is what the screen shows, as a whole result.
func (f *fakeDrive) Result() session.Result {
	var s session.Snapshot
	f.Snapshot(&s)
	return resultOf(&s)
}

func resultOf(s *session.Snapshot) session.Result {
	return session.Result{Duration: s.Now, Verdict: s.Verdict, Headline: s.Headline, Complaint: s.Complaint, Need: s.Need, Blind: s.Blind, Steps: s.Steps,
		Events: s.Events, Observations: s.Observations, Stops: s.Stops, Losses: s.Losses, Spans: s.Spans, Marks: s.Marks, Damage: s.Trouble}
}

// endingOfSnapshot is the ending of a drive that ends as it is shown.
func endingOfSnapshot(s *session.Snapshot) Ending {
	r := resultOf(s)
	return EndingOf(&r, s.Recording, s.Stopped)
}
