package report

import (
	"math"
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
	seen     int // of them, with shudder in engine speed
	steady   int // with engine speed steady
	feltDark int // where nothing could be seen
	judged   time.Duration
	unable   []string // what drives say that could show nothing
	largest  float64  // rpm, of all events
	smallest float64  // rpm, the smallest visible swing: the largest of those of the drives; 0 when nothing was judged

	clearPasses int // of drives whose quiet passes can clear a car
	clear       time.Duration
	clearFrom   float64 // rpm, the smallest swing visible in all of them
}

// conditions are those in which passes count: the complaint's or, without one, in the paper after the
// work those that were compared. The zero value holds every pass.
type conditions struct {
	box  complaint.Box
	pair *session.Pair // without a complaint, after the work

	driven string // at which road speeds, where neither names one: "80 km/h"; "" where nothing was driven
}

// hold reports whether a pass counts.
func (c conditions) hold(p *session.Pass) bool {
	switch {
	case c.pair != nil:
		return c.pair.Holds(p)
	case c.box.IsZero():
		return true
	}
	return p.InComplaint
}

// words are where the passes that count were driven.
func (c conditions) words() string {
	switch {
	case c.pair == nil && c.box.HasSpeed():
		return session.PlaceWords(c.box)
	case c.pair == nil:
		return session.PlaceWords(c.box) + prefixed(", driven at ", c.driven)
	case len(c.pair.Cells) == 0:
		return "in the conditions of the drives before it"
	case len(c.pair.Cells) == 1:
		return session.PlaceWords(c.pair.Cells[0].Box)
	}
	return "at the road speeds and loads that were driven before and after it" + prefixed(", ", c.driven)
}

// drivenAt are the road speeds of the passes of drives that look wants: "80 km/h", "62 to 90 km/h".
func drivenAt(drives []*session.Result, look func(*session.Pass) bool) string {
	low, high := math.Inf(1), math.Inf(-1)
	for _, r := range drives {
		for i := range r.Passes {
			if p := &r.Passes[i]; p.SpeedKMH > 0 && look(p) {
				low, high = min(low, p.SpeedKMH), max(high, p.SpeedKMH)
			}
		}
	}
	if low > high {
		return ""
	}
	return rangeWords(low, high) + " km/h"
}

// resultsOf are the drives of a stage that could be read.
func resultsOf(e *casefile.Evidence, stage casefile.Stage) (list []*session.Result) {
	for i := range e.Drives {
		if d := &e.Drives[i]; d.File.Stage == stage && d.Err == nil {
			list = append(list, &d.Result)
		}
	}
	return list
}

// count makes the tally of the drives of one stage.
func count(drives []*session.Result, in conditions) (t tally) {
	for _, r := range drives {
		t.add(r, in)
	}
	return t
}

func (t *tally) add(r *session.Result, in conditions) {
	t.drives++
	t.events += len(r.Events)
	for i := range r.Events {
		t.largest = max(t.largest, r.Events[i].SwingRPM)
	}
	felt := session.CountFelt(r.Marks)
	t.felt, t.seen, t.steady, t.feltDark = t.felt+felt.All, t.seen+felt.Seen, t.steady+felt.Steady, t.feltDark+felt.Dark
	t.smallest = max(t.smallest, r.Verdict.SmallestRPM)
	// a drive that is only too short adds to others
	clears := r.MarksUnread == "" && (r.Verdict.Finding != detect.CannotTell || !r.Need.Enough() && !(r.Rate > 0 && r.Rate < detect.EnoughForNone))
	if r.Verdict.Finding == detect.CannotTell {
		t.unable = append(t.unable, r.Verdict.Reason)
	}
	if clears {
		t.clearFrom = max(t.clearFrom, r.Verdict.SmallestRPM)
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
		if clears {
			t.clearPasses++
			t.clear += p.Judged
		}
	}
}
