package report

import (
	"math"
	"slices"
	"time"

	"github.com/judder-obd/judder/casefile"
	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/session"
)

// tally is what the drives on one side of the repair showed, in the operating conditions of the
// complaint; in all of them where there is none.
type tally struct {
	drives   int // that could be read
	passes   int
	shudders int // passes with shudder
	events   int // shudders in all conditions
	inPlace  int // of them, in a pass that counts
	felt     int // felt marks
	feltDark int // of them, where engine speed was steady or nothing could be seen
	judged   time.Duration
	unable   []string // what drives say that could show nothing
	blind    []string // why the passes of a drive do not count against the shudder before
	largest  float64  // rpm, of all events
	smallest float64  // rpm, the smallest visible swing: the largest of those of the drives; 0 when nothing was judged
}

// count makes the tally of one stage. visible is the swing, rpm, that a drive must be able to show
// for its passes to count; 0 asks for nothing.
func count(e *casefile.Evidence, stage casefile.Stage, visible float64) (t tally) {
	for i := range e.Drives {
		if d := &e.Drives[i]; d.File.Stage == stage && d.Err == nil {
			t.add(&d.Result, visible)
		}
	}
	return t
}

func (t *tally) add(r *session.Result, visible float64) {
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
	t.judged += r.Need.Judged
	t.smallest = max(t.smallest, r.Verdict.SmallestRPM)
	if r.Verdict.Finding == detect.CannotTell {
		t.unable = append(t.unable, r.Verdict.Reason)
	}
	if visible > 0 && r.Verdict.SmallestRPM > visible && len(r.Events) == 0 {
		t.blind = append(t.blind, r.Verdict.Reason)
		return
	}
	for i := range r.Passes {
		p := &r.Passes[i]
		if !r.Complaint.IsZero() && !p.InComplaint {
			continue
		}
		t.passes++
		if p.Shudder {
			t.shudders++
		}
		for k := range r.Events {
			if ev := &r.Events[k]; ev.Start <= p.End && ev.End >= p.Start {
				t.inPlace++
			}
		}
	}
}

// typicalSwing is the middle of the swings of the shudders of a stage, rpm; 0 without any.
func typicalSwing(e *casefile.Evidence, stage casefile.Stage) float64 {
	var swings []float64
	for i := range e.Drives {
		if d := &e.Drives[i]; d.File.Stage == stage {
			for k := range d.Result.Events {
				if s := d.Result.Events[k].SwingRPM; !math.IsNaN(s) {
					swings = append(swings, s)
				}
			}
		}
	}
	if swings == nil {
		return 0
	}
	slices.Sort(swings)
	return swings[(len(swings)-1)/2]
}
