package report

import (
	"fmt"
	"math"
	"slices"
	"time"

	"github.com/judder-obd/judder/casefile"
	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/complaint"
)

// tally is what the drives on one side of the repair showed, in the operating conditions of the
// complaint; in all of them where there is none.
type tally struct {
	drives   int // that could be read
	passes   int
	shudders int // passes with shudder
	events   int // shudders in all conditions
	felt     int // felt marks
	feltDark int // of them, where engine speed was steady or nothing could be seen
	judged   time.Duration
	unable   []string // what drives say that could show nothing
	blind    []string // why the passes of a drive do not count against the shudder before
	largest  float64  // rpm, of all events
	smallest float64  // rpm, the smallest visible swing: the largest of those of the drives; 0 when nothing was judged
}

// conditions are those in which passes count: the complaint's or, without one, those in which shudder
// was seen before the work. The zero value holds every pass.
type conditions struct {
	box     complaint.Box
	derived bool // from the shudders before the work
}

// conditionsOf are the conditions of a case. A paper of before the work without a complaint counts
// every pass.
func conditionsOf(e *casefile.Evidence, stage casefile.Stage) (c conditions) {
	if c.box, _ = e.Case.Complaint.Box(); !c.box.IsZero() || stage == casefile.Before {
		return c
	}
	const around = 5 // km/h, so that a pass at the same speed is inside
	low, high := math.Inf(1), math.Inf(-1)
	loads := map[complaint.Load]bool{}
	for i := range e.Drives {
		if d := &e.Drives[i]; d.File.Stage == casefile.Before {
			for k := range d.Result.Events {
				ev := &d.Result.Events[k]
				if ev.SpeedKMH > 0 {
					low, high = min(low, ev.SpeedKMH), max(high, ev.SpeedKMH)
				}
				loads[complaint.LoadOf(complaint.Point{LoadPct: ev.LoadPct, ThrottlePct: ev.ThrottlePct})] = true
			}
		}
	}
	if low > high {
		return c
	}
	c.box.FromKMH, c.box.ToKMH, c.derived = math.Floor(low-around), math.Ceil(high+around), true
	if len(loads) == 1 {
		for load := range loads {
			c.box.Load = load
		}
	}
	return c
}

// hold reports whether a pass counts.
func (c conditions) hold(p *session.Pass) bool {
	switch {
	case c.box.IsZero():
		return true
	case c.derived:
		return c.box.Contains(p.Point())
	}
	return p.InComplaint
}

// count makes the tally of one stage. visible is the swing, rpm, that a drive must be able to show
// for its passes to count; 0 asks for nothing.
func count(e *casefile.Evidence, stage casefile.Stage, in conditions, visible float64) (t tally) {
	for i := range e.Drives {
		if d := &e.Drives[i]; d.File.Stage == stage && d.Err == nil {
			t.add(&d.Result, in, visible)
		}
	}
	return t
}

func (t *tally) add(r *session.Result, in conditions, visible float64) {
	t.drives++
	t.events += len(r.Events)
	for i := range r.Events {
		t.largest = max(t.largest, r.Events[i].SwingRPM)
	}
	for i := range r.Marks {
		if m := &r.Marks[i]; m.Note == "" {
			t.felt++
			if m.Outcome != session.Seen {
				t.feltDark++
			}
		}
	}
	t.smallest = max(t.smallest, r.Verdict.SmallestRPM)
	if r.Verdict.Finding == detect.CannotTell {
		t.unable = append(t.unable, r.Verdict.Reason)
	}
	if why := unfit(r, visible); visible > 0 && why != "" {
		t.blind = append(t.blind, why)
		return
	}
	for i := range r.Passes {
		p := &r.Passes[i]
		if !in.hold(p) {
			continue
		}
		t.passes++
		t.judged += p.Judged
		if p.Shudder {
			t.shudders++
		}
	}
}

// unfit is why quiet passes of a drive do not show that a shudder of so many rpm is gone; "" where
// they do.
func unfit(r *session.Result, visible float64) string {
	switch {
	case len(r.Events) > 0:
		return "" // what it showed counts
	case r.Verdict.SmallestRPM > visible:
		return fmt.Sprintf("it could show swings from %.0f rpm, and the smallest before the work had %.0f", math.Ceil(r.Verdict.SmallestRPM), visible)
	case r.Rate > 0 && r.Rate < detect.EnoughForNone:
		return fmt.Sprintf("engine speed was read %.1f times a second; %d are needed to clear a car", r.Rate, detect.EnoughForNone)
	case r.Verdict.Finding == detect.CannotTell && r.Need.Enough(): // long enough, and something else forbids it
		return r.Verdict.Reason
	}
	return ""
}

// smallestSwing is the smallest swing of the shudders of a stage in the conditions that count, rpm;
// 0 without any.
func smallestSwing(e *casefile.Evidence, stage casefile.Stage, in conditions) (smallest float64) {
	for i := range e.Drives {
		d := &e.Drives[i]
		if d.File.Stage != stage || d.Err != nil {
			continue
		}
		for k := range d.Result.Events {
			ev := &d.Result.Events[k]
			counts := slices.ContainsFunc(d.Result.Passes, func(p session.Pass) bool { return p.Has(ev) && in.hold(&p) })
			if counts && ev.SwingRPM > 0 && (smallest == 0 || ev.SwingRPM < smallest) {
				smallest = ev.SwingRPM
			}
		}
	}
	return smallest
}
