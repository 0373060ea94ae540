package session

import (
	"slices"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/cause"
	"github.com/judder-obd/judder/pids/vehicle"
)

// LedgerOf is what in the drive speaks for each cause and against it, and what was not tested.
func LedgerOf(r *Result) cause.Ledger {
	f := cause.Facts{
		Verdict: r.Verdict, Events: r.Events, Engine: r.Engine, Observations: r.Observations, Steps: r.Steps, Contrasts: r.Contrasts,
		Misfire: r.Misfire, Trims: r.Trims, TrimsRead: r.TrimsRead, Gear: r.Gear, Car: r.Car,
	}
	for i := range r.Slip {
		s := &r.Slip[i]
		f.Slip = append(f.Slip, cause.Slip{Start: s.Start, End: s.End, SwingRPM: s.SwingRPM, Estimated: s.ApparentRPM > 0})
	}
	for i := range r.Marks {
		if r.Marks[i].Note == "" {
			f.Felt = append(f.Felt, r.Marks[i].At)
			if r.Marks[i].Outcome == NotSeen && !(r.Rate > 0 && r.Rate < detect.EnoughForNone) { // else it may have been missed
				f.FeltSteady = append(f.FeltSteady, r.Marks[i].At)
			}
		}
	}
	for i := range r.Codes {
		f.Codes = append(f.Codes, cause.Code{At: r.Codes[i].At, Code: r.Codes[i].Code})
	}
	for i := range r.Checks {
		f.CodesRead = f.CodesRead || r.CodesRead && !r.Checks[i].Broke
	}
	return cause.Make(&f)
}

// into puts into a result what the ledger needs of the book.
func (b *stepBook) into(r *Result, profile *vehicle.Profile) {
	r.Steps, r.Contrasts = b.watch.Found(), b.contrasts(r.Events, len(r.Events) > 0 || felt(r.Marks))
	r.Misfire, r.Trims = b.counts.found(r.Events), b.trims(r.Events, r.Observations)
	r.TrimsRead = b.second.trim != ""
	r.Gear = cause.Gear{Read: b.second.geared, Changes: b.second.changes}
	for i := range r.Events {
		rpm, rate, gear := b.second.engine(r.Events[i].Start, r.Events[i].End)
		r.Engine = append(r.Engine, cause.Engine{RPM: rpm, Rate: rate, Gear: gear})
	}
	if profile != nil {
		r.Car = cause.Car{TyreM: profile.Driveline.TyreCircumference(), FinalDrive: profile.Driveline.FinalDrive}
	}
}

func felt(marks []Mark) bool {
	return slices.ContainsFunc(marks, func(m Mark) bool { return m.Note == "" })
}

// leastTrims is from how many readings inside a stretch the movement of a fuel trim means something
// (chosen).
const leastTrims = 3

// trims compares the fuel trim inside each shudder and slow surge with the same time before it.
func (b *stepBook) trims(events []detect.Event, seen []detect.Observation) (all []cause.Trim) {
	add := func(s detect.Span, surge bool) {
		_, moved, n := b.second.trimIn(s.Start, s.End)
		before, movedBefore, nBefore := b.second.trimIn(max(2*s.Start-s.End, 0), s.Start)
		if n >= leastTrims && nBefore >= leastTrims {
			all = append(all, cause.Trim{At: s.Start, Signal: string(b.second.trim), BeforePct: before, MovedPct: moved, BeforeMovePct: movedBefore, Surge: surge})
		}
	}
	for i := range events {
		add(detect.Span{Start: events[i].Start, End: events[i].End}, false)
	}
	for i := range seen {
		if seen[i].Kind == detect.SlowSwing {
			add(detect.Span{Start: seen[i].Start, End: seen[i].End}, true)
		}
	}
	return all
}
