package session

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/steps"
	"github.com/judder-obd/judder/session/complaint"
)

// drives that differ in one thing from a quiet drive, in which all was met and nothing felt.
func quietFacts() Facts {
	return Facts{
		Verdict: detect.Verdict{Finding: detect.NoShudder, Reason: "quiet", Testable: time.Minute, SmallestRPM: 65.2},
		Need:    Need{Judged: time.Minute, Passes: 4}, Rate: 25,
	}
}

func shudderAt(kmh, load, rpm float64) detect.Event {
	return detect.Event{Start: sec(100), End: sec(102), SpeedKMH: kmh, LoadPct: load, ThrottlePct: 20, CoolantC: 90, SwingRPM: rpm}
}

func feltMarks(outcomes ...FeltOutcome) (marks []Mark) {
	for _, o := range outcomes {
		m := Mark{Strength: 1, Outcome: o}
		if o == NotJudged {
			m.Why = detect.ThrottleMoving
		}
		marks = append(marks, m)
	}
	return append(marks, Mark{Note: "a note is not felt"})
}

// release is a release of the clutch that stopped a shake within so many seconds; 0: it went on.
func release(within float64) steps.Step {
	return steps.Step{Kind: steps.ClutchRelease, BeforeRPM: 80, AfterRPM: 10, Stopped: sec(within)}
}

func unclear(f *Facts) {
	f.Verdict = detect.Verdict{Reason: "only 9 s", Testable: 9 * time.Second, SmallestRPM: 65.2}
}

// headlineCase is a quiet drive with one change. says are figures and facts that must be in word or
// reason; "!" before one: that must not.
type headlineCase struct {
	change  func(*Facts)
	rule    HeadlineRule
	finding detect.Finding
	says    []string
}

// light is the complaint of the cases.
var light = complaint.Box{FromKMH: 60, ToKMH: 70, Load: complaint.Light}

// headlineCases is every case of a headline.
var headlineCases = map[string]headlineCase{
	"quiet": {func(*Facts) {}, Quiet, detect.NoShudder, []string{"NO SHUDDER SEEN", "1:00 min usable in 4 passes at a steady throttle", "from 66 rpm"}},
	"quiet, marks not read": {func(f *Facts) { f.MarksUnread = "the marks in a.marks cannot be read" },
		Unclear, detect.CannotTell, []string{"CANNOT TELL", "the marks in a.marks cannot be read; the shake may have been felt", "!NO SHUDDER"}},
	"quiet at the complaint, marks not read": {func(f *Facts) { f.Complaint, f.MarksUnread = light, "the marks in a.marks cannot be read" },
		Unclear, detect.CannotTell, []string{"CANNOT TELL", "the marks in a.marks cannot be read"}},
	"shudder, marks not read": {func(f *Facts) { f.Events, f.MarksUnread = []detect.Event{shudderAt(62, 40, 80)}, "not read" },
		ShudderSeen, detect.Shudder, []string{"SEEN ONCE", "!not read"}},
	"quiet, in short pieces": {func(f *Facts) { f.Need = Need{Judged: 40 * time.Second, Passes: 2, More: 1} },
		Unclear, detect.CannotTell, []string{"CANNOT TELL", "only 40 s usable in 2 passes", "one more pass of 8 s"}},
	"shudder": {func(f *Facts) {
		f.Events = []detect.Event{shudderAt(62, 40, 80), shudderAt(71, 40, 114)}
	}, ShudderSeen, detect.Shudder, []string{"SEEN 2 TIMES", "114 rpm", "62 to 71 km/h", "!felt"}},
	"shudder once": {func(f *Facts) { f.Events = []detect.Event{shudderAt(62, 40, 80)} },
		ShudderSeen, detect.Shudder, []string{"SEEN ONCE", "80 rpm", "at 62 km/h"}},
	"shudder, felt": {func(f *Facts) {
		f.Events = []detect.Event{shudderAt(62, 40, 80)}
		f.Marks = feltMarks(Seen, Seen, NotSeen)
	}, ShudderSeen, detect.Shudder, []string{"felt 3 times", "seen at 2 of them"}},
	"shudder, felt at another time": {func(f *Facts) {
		f.Events = []detect.Event{shudderAt(62, 40, 80)}
		f.Marks = feltMarks(NotSeen)
	}, ShudderSeen, detect.Shudder, []string{"felt once, not seen then", "!0 of them"}},
	"shudder, felt in the dark": {func(f *Facts) {
		f.Events = []detect.Event{shudderAt(62, 40, 80)}
		f.Marks = feltMarks(NotJudged)
	}, ShudderSeen, detect.Shudder, []string{"felt once, where nothing could be seen", "!not seen then"}},
	"shudder, felt at another time and in the dark": {func(f *Facts) {
		f.Events = []detect.Event{shudderAt(62, 40, 80)}
		f.Marks = feltMarks(NotSeen, NotJudged, NotJudged)
	}, ShudderSeen, detect.Shudder, []string{"felt 3 times, not seen then (2 where nothing could be seen)"}},
	"shudder, felt once and seen": {func(f *Facts) {
		f.Events = []detect.Event{shudderAt(62, 40, 80)}
		f.Marks = feltMarks(Seen)
	}, ShudderSeen, detect.Shudder, []string{"felt once, and seen then", "!of them"}},
	"shudder in the complaint": {func(f *Facts) {
		f.Complaint, f.Events = light, []detect.Event{shudderAt(62, 40, 80), shudderAt(80, 40, 80)}
		f.Need = Need{Judged: 50 * time.Second, Passes: 6, Shudders: 5}
	}, ShudderThere, detect.Shudder, []string{"1 of the 2 at 60 to 70 km/h", "5 of 6 passes"}},
	"shudder elsewhere": {func(f *Facts) {
		f.Complaint, f.Events = light, []detect.Event{shudderAt(80, 40, 80)}
	}, ShudderElsewhere, detect.Shudder, []string{"none at 60 to 70 km/h", "1:00 min"}},
	"shudder elsewhere, complaint never met": {func(f *Facts) {
		f.Complaint, f.Events, f.Need = light, []detect.Event{shudderAt(80, 40, 80)}, Need{More: 4}
	}, ShudderElsewhere, detect.Shudder, []string{"was not met"}},
	"shudder on a slow link": {func(f *Facts) {
		f.Rate, f.Events = 4.2, []detect.Event{shudderAt(80, 40, 80)}
	}, ShudderSeen, detect.Shudder, []string{"SEEN ONCE ON A SLOW LINK", "4.2 readings a second"}},
	"felt, not seen": {func(f *Facts) {
		f.Marks = feltMarks(NotSeen, NotSeen, NotSeen, NotSeen, NotSeen, NotSeen)
	}, FeltNotSeen, detect.CannotTell, []string{"FELT 6 TIMES, NOT SEEN", "3 to 22 rpm", "from 66 rpm", "cannot rule it out"}},
	"felt once, not seen": {func(f *Facts) { f.Marks = feltMarks(NotSeen) },
		FeltNotSeen, detect.CannotTell, []string{"FELT ONCE, NOT SEEN"}},
	"felt, partly in the dark": {func(f *Facts) { f.Marks = feltMarks(NotSeen, NotJudged, NotSeen) },
		FeltNotSeen, detect.CannotTell, []string{"FELT 3 TIMES", "2 times with engine speed steady", "once where nothing could be seen"}},
	"felt in the dark": {func(f *Facts) { f.Marks = feltMarks(NotJudged, NotJudged) },
		FeltInTheDark, detect.CannotTell, []string{"FELT 2 TIMES, WHERE NOTHING COULD BE SEEN", "throttle moving", "!quiet"}},
	"felt, and too little judged": {func(f *Facts) { unclear(f); f.Marks = feltMarks(NotJudged) },
		FeltInTheDark, detect.CannotTell, []string{"FELT ONCE", "only 9 s"}},
	"felt, and the complaint not met": {func(f *Facts) {
		f.Marks, f.Complaint, f.Need = feltMarks(NotSeen), light, Need{More: 4}
	}, FeltNotSeen, detect.CannotTell, []string{"FELT ONCE", "was not met"}},
	"felt, each stopped by a brake tap": {func(f *Facts) {
		f.Marks, f.Steps = feltMarks(Seen, Seen, NotSeen), []steps.Step{release(0.4)}
	}, TapStopped, detect.CannotTell, []string{"STOPPED BY THE BRAKE TAP ONCE", "every second", "felt 3 times, seen at 2 of them", "!NOT SEEN"}},
	"brake taps announced, nothing marked": {func(f *Facts) {
		s := release(0.4)
		s.Armed = true
		f.Steps = []steps.Step{s, s}
	}, TapStopped, detect.CannotTell, []string{"STOPPED BY THE BRAKE TAP 2 TIMES", "!felt"}},
	"a release that nobody felt or announced": {func(f *Facts) { f.Steps = []steps.Step{release(0.4)} },
		Quiet, detect.NoShudder, []string{"!TAP"}},
	"a release that stopped nothing": {func(f *Facts) { f.Marks, f.Steps = feltMarks(NotSeen), []steps.Step{release(0)} },
		FeltNotSeen, detect.CannotTell, []string{"NOT SEEN", "!TAP"}},
	"shudder, and a brake tap": {func(f *Facts) {
		f.Events, f.Marks, f.Steps = []detect.Event{shudderAt(62, 40, 80)}, feltMarks(Seen), []steps.Step{release(0.4)}
	}, ShudderSeen, detect.Shudder, []string{"SEEN ONCE", "!TAP"}},
	"complaint met": {func(f *Facts) { f.Complaint = light },
		Quiet, detect.NoShudder, []string{"1:00 min usable in 4 passes at 60 to 70 km/h, light load", "from 66 rpm"}},
	"complaint never met": {func(f *Facts) { f.Complaint, f.Need = light, Need{More: 4} },
		ComplaintNotMet, detect.CannotTell, []string{"CANNOT TELL", "not met", "60 to 70 km/h", "no shudder elsewhere"}},
	"complaint never met, and nothing else": {func(f *Facts) { unclear(f); f.Complaint, f.Need = light, Need{More: 4} },
		ComplaintNotMet, detect.CannotTell, []string{"only 9 s", "!elsewhere"}},
	"complaint met too little": {func(f *Facts) { f.Complaint, f.Need = light, Need{Judged: 12 * time.Second, Passes: 1, More: 2} },
		ComplaintShort, detect.CannotTell, []string{"12 s", "1 pass", "2 more passes of 8 s"}},
	"complaint too slow to judge": {func(f *Facts) {
		f.Complaint, f.Need = complaint.Box{FromKMH: 10, ToKMH: 20}, Need{More: 4, Beyond: true}
	},
		ComplaintBeyond, detect.CannotTell, []string{"30 to 115 km/h"}},
	"cannot tell": {unclear, Unclear, detect.CannotTell, []string{"CANNOT TELL", "only 9 s"}},
	"cannot tell on a slow link": {func(f *Facts) { unclear(f); f.Rate = 5 },
		Unclear, detect.CannotTell, []string{"CANNOT TELL ON A SLOW LINK"}},
	"other evidence": {func(f *Facts) {
		f.Observations = []detect.Observation{{Kind: detect.LockUpCycling}, {Kind: detect.GearHunting}, {Kind: detect.LockUpCycling}, {Kind: detect.SlowSwing}, {Kind: detect.IrregularScatter}}
	}, Quiet, detect.NoShudder, []string{"; LOCK-UP CYCLING 2 TIMES", "; GEAR HUNTING ONCE", "; SLOW SURGE ONCE", "; ROUGH RUNNING ONCE"}},
	"a misfire code": {func(f *Facts) {
		f.Codes = []Code{{ECU: "7E8", Code: "P0304"}, {ECU: "7E8", Code: "P0741"}, {ECU: "7E9", Code: "P0304"}, {ECU: "7E8", Code: "P0300"}}
	}, Quiet, detect.NoShudder, []string{"MISFIRE CODE P0300, P0304", "!P0741"}},
	"misfires counted": {func(f *Facts) { f.Misfires = Misfires{By: 977, Cylinder: 4} }, Quiet, detect.NoShudder, []string{"NO SHUDDER SEEN; MISFIRES COUNTED, MOST IN CYLINDER 4"}},
	"a few misfires":   {func(f *Facts) { f.Misfires = Misfires{By: 3, Cylinder: 4} }, Quiet, detect.NoShudder, []string{"!MISFIRE"}},
	"another code":     {func(f *Facts) { f.Codes = []Code{{Code: "P0741"}} }, Quiet, detect.NoShudder, []string{"!MISFIRE"}},
}

func TestHeadline(t *testing.T) {
	for name, c := range headlineCases {
		f := quietFacts()
		c.change(&f)
		h := HeadlineOf(&f)
		if h.Rule != c.rule || h.Finding != c.finding {
			t.Errorf("%s: %+v; want %q, %v", name, h, c.rule, c.finding)
		}
		text := h.Word + ": " + h.Reason
		for _, want := range c.says {
			fact, not := strings.CutPrefix(want, "!")
			if strings.Contains(text, fact) == not {
				t.Errorf("%s: %q, about %q", name, text, want)
			}
		}
	}
}

// No drive in which the shake was felt and not seen, or that did not meet the complaint, is cleared.
func TestHeadline_NeverCleared(t *testing.T) {
	for _, finding := range []detect.Finding{detect.NoShudder, detect.CannotTell} {
		for _, marks := range [][]Mark{nil, feltMarks(NotSeen), feltMarks(NotJudged)} {
			for _, need := range []Need{{More: 4}, {Judged: sec(40), Passes: 3}} {
				f := quietFacts()
				f.Verdict.Finding, f.Marks, f.Need, f.Complaint = finding, marks, need, complaint.Box{FromKMH: 60, ToKMH: 70}
				cleared := HeadlineOf(&f).Finding == detect.NoShudder
				if may := finding == detect.NoShudder && marks == nil && need.More == 0; cleared != may {
					t.Errorf("%v, %d marks, %+v: cleared %v", finding, len(marks), need, cleared)
				}
			}
		}
	}
}

// The headline on the screen at the end is that of the review.
func TestHeadline_Recorded(t *testing.T) {
	r, err := OpenReplay(shuddering(t), 0)
	if err != nil {
		t.Fatal(err)
	}
	r.Seek(r.Whole().Duration)
	s, w := stateOf(r), r.Whole()
	if s.Headline != w.Headline || s.Verdict != w.Verdict || w.Headline.Rule != ShudderSeen {
		t.Errorf("screen %+v, review %+v", s.Headline, w.Headline)
	}
	if rate := w.Rate; math.IsNaN(rate) || rate < 20 || rate > 100 {
		t.Errorf("%.1f readings a second", rate)
	}
	r.SetComplaint(complaint.Box{FromKMH: 30, ToKMH: 35})
	s, w = stateOf(r), r.Whole()
	if w.Headline.Rule != ShudderElsewhere || s.Headline != w.Headline {
		t.Errorf("another complaint: screen %+v, review %+v", s.Headline, w.Headline)
	}
}
