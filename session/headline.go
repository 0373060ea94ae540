package session

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/steps"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session/complaint"
)

// Friction shudder moves engine speed by so little, rpm peak to peak (computed for this project from a
// model of a converter clutch; no measured car was found).
const (
	FrictionLeastRPM = 3
	FrictionMostRPM  = 22
)

// SlowLink is the readings of engine speed a second below which the link is slow: much is missed, and a
// frequency may be another.
const SlowLink = 7

// HeadlineRule is which case a headline is.
type HeadlineRule string

// The cases. Each has a finding: the first three are shudder, the last is no shudder, the others
// cannot tell.
const (
	ShudderSeen      HeadlineRule = "shudder"
	ShudderThere     HeadlineRule = "shudder in the complaint"
	ShudderElsewhere HeadlineRule = "shudder elsewhere"
	TapStopped       HeadlineRule = "stopped by the brake tap"
	FeltNotSeen      HeadlineRule = "felt, not seen"
	FeltInTheDark    HeadlineRule = "felt where nothing could be seen"
	ComplaintBeyond  HeadlineRule = "complaint outside the speeds judged"
	ComplaintNotMet  HeadlineRule = "complaint never met"
	ComplaintShort   HeadlineRule = "complaint met too little"
	Unclear          HeadlineRule = "cannot tell"
	Quiet            HeadlineRule = "no shudder"
)

// Headline is what is said of a whole drive: the same on the screen, in the review and in JSON.
type Headline struct {
	Rule    HeadlineRule
	Finding detect.Finding
	Word    string // in capitals: "FELT 6 TIMES, NOT SEEN; LOCK-UP CYCLING ONCE"
	Reason  string // why, and what the drive cannot show
}

// Next is what to do after the drive, where the finding alone says it; "" where the most telling test does.
func (h *Headline) Next() string {
	if h.Rule != Quiet {
		return ""
	}
	return "if the shake is felt, drive again where it shakes and press space; after a repair, compare with the drive before it (judder compare)"
}

// Facts are what a headline is made of.
type Facts struct {
	Verdict      detect.Verdict // the detector's own, which knows neither marks nor complaint
	Events       []detect.Event
	Observations []detect.Observation
	Marks        []Mark
	Complaint    complaint.Box
	Need         Need
	Codes        []Code
	Steps        []steps.Step
	Misfires     Misfires
	Rate         float64 // readings of engine speed a second; 0 when not known
	MarksUnread  string  // why marks made at the bench are not known; "" where they are
}

// HeadlineOf makes the finding of a drive.
func HeadlineOf(f *Facts) Headline {
	h := Headline{Rule: Unclear, Finding: detect.CannotTell, Word: "CANNOT TELL"}
	felt := CountFelt(f.Marks)
	switch {
	case len(f.Events) > 0:
		f.shudder(&h, &felt)
	case felt.All > 0 || f.tapped() > 0:
		f.feltOnly(&h, &felt)
		if !f.Complaint.IsZero() && f.Need.Judged == 0 {
			h.Reason = sentence(h.Reason, f.notMet())
		}
	case !f.Complaint.IsZero() && f.complaint(&h):
	case f.Verdict.Finding == detect.NoShudder && f.Need.Enough() && f.MarksUnread != "":
		h.Reason = "the shake may have been felt"
	case f.Verdict.Finding == detect.NoShudder && f.Need.Enough():
		h.Rule, h.Finding, h.Word = Quiet, detect.NoShudder, "NO SHUDDER SEEN"
		h.Reason = fmt.Sprintf("%s usable in %s %s; most swings from %.0f rpm would have shown",
			prose.Duration(f.Need.Judged), passes(f.Need.Passes), PlaceWords(f.Complaint), math.Ceil(f.Verdict.SmallestRPM))
	case f.Verdict.Finding == detect.NoShudder:
		h.Reason = f.short()
	default:
		h.Reason = f.Verdict.Reason
	}
	if len(f.Events) == 0 && f.MarksUnread != "" {
		h.Reason = sentence(f.MarksUnread, h.Reason)
	}
	if f.slow() {
		h.Word += " ON A SLOW LINK"
		if h.Finding == detect.Shudder {
			h.Reason = sentence(h.Reason, fmt.Sprintf("%.1f readings a second: the frequency may be another", f.Rate))
		}
	}
	for _, more := range f.besides() {
		h.Word += "; " + more
	}
	return h
}

func (f *Facts) slow() bool { return f.Rate > 0 && f.Rate < SlowLink && f.Verdict.Testable > 0 }

// short is why too little was usable in the operating conditions of the complaint, or in all.
func (f *Facts) short() string {
	return fmt.Sprintf("only %s usable in %s %s; needed: %s", prose.Duration(f.Need.Judged), passes(f.Need.Passes), PlaceWords(f.Complaint), f.Need.amount())
}

// FeltCount is what became of the felt marks.
type FeltCount struct {
	All, Seen, Steady, Dark int           // of all, those with shudder, with engine speed steady, and where nothing could be seen
	Why                     detect.Reason // most frequent, of those in the dark
}

// words are how often it was felt, and at how many of these marks shudder was seen.
func (c *FeltCount) words() string {
	switch {
	case c.Seen == 0 && c.Dark == c.All:
		return fmt.Sprintf("felt %s, where nothing could be seen", prose.Times(c.All))
	case c.Seen == 0 && c.Dark > 0:
		return fmt.Sprintf("felt %s, not seen then (%d where nothing could be seen)", prose.Times(c.All), c.Dark)
	case c.Seen == 0:
		return fmt.Sprintf("felt %s, not seen then", prose.Times(c.All))
	case c.All == 1:
		return "felt once, and seen then"
	}
	return fmt.Sprintf("felt %s, seen at %d of them", prose.Times(c.All), c.Seen)
}

// CountFelt counts what became of the felt marks among some.
func CountFelt(marks []Mark) (c FeltCount) {
	var why [detect.ReasonCount]int
	for i := range marks {
		m := &marks[i]
		if m.Note != "" {
			continue
		}
		c.All++
		switch m.Outcome {
		case Seen:
			c.Seen++
		case NotSeen:
			c.Steady++
		case NotJudged:
			c.Dark++
			if why[m.Why]++; why[m.Why] > why[c.Why] {
				c.Why = m.Why
			}
		}
	}
	return c
}

// shudder is the headline of a drive in which shudder was seen.
func (f *Facts) shudder(h *Headline, felt *FeltCount) {
	h.Rule, h.Finding = ShudderSeen, detect.Shudder
	h.Word = "SHUDDER SEEN " + strings.ToUpper(prose.Times(len(f.Events)))
	most := slices.MaxFunc(f.Events, func(a, b detect.Event) int { return cmp.Compare(a.SwingRPM, b.SwingRPM) })
	slowest, fastest := math.Inf(1), math.Inf(-1)
	for i := range f.Events {
		slowest, fastest = min(slowest, f.Events[i].SpeedKMH), max(fastest, f.Events[i].SpeedKMH)
	}
	speeds := fmt.Sprintf("%.0f to %.0f km/h", slowest, fastest)
	if math.Round(slowest) == math.Round(fastest) {
		speeds = fmt.Sprintf("%.0f km/h", slowest)
	}
	h.Reason = fmt.Sprintf("up to %.0f rpm peak to peak at %s", most.SwingRPM, speeds)
	if !f.Complaint.IsZero() {
		f.shudderThere(h)
	}
	if felt.All > 0 {
		h.Reason = sentence(h.Reason, felt.words())
	}
}

// shudderThere adds how the shudders lie to the complaint.
func (f *Facts) shudderThere(h *Headline) {
	place := PlaceWords(f.Complaint)
	switch there := f.eventsThere(); {
	case there > 0:
		h.Rule = ShudderThere
		h.Reason = sentence(h.Reason, fmt.Sprintf("%d of the %d %s", there, len(f.Events), place))
		if f.Need.Passes > 0 {
			h.Reason += fmt.Sprintf(", in %d of %s there", f.Need.Shudders, passes(f.Need.Passes))
		}
	case f.Need.Judged == 0:
		h.Rule = ShudderElsewhere
		h.Reason = sentence(h.Reason, f.notMet())
	default:
		h.Rule = ShudderElsewhere
		h.Reason = sentence(h.Reason, fmt.Sprintf("none %s in %s usable there", place, prose.Duration(f.Need.Judged)))
	}
}

// eventsThere is how many shudders were seen in the operating conditions of the complaint.
func (f *Facts) eventsThere() (n int) {
	for i := range f.Events {
		if Meets(f.Complaint, &f.Events[i]) {
			n++
		}
	}
	return n
}

// Meets reports whether a shudder came in the operating conditions of a complaint. Its gear is not
// known.
func Meets(box complaint.Box, e *detect.Event) bool {
	return box.Contains(pointOf(e))
}

func pointOf(e *detect.Event) complaint.Point {
	return complaint.Point{SpeedKMH: e.SpeedKMH, LoadPct: e.LoadPct, ThrottlePct: e.ThrottlePct, CoolantC: e.CoolantC}
}

// tapped is how many shakes a release of the converter clutch stopped, of those that were felt or in
// which it was announced.
func (f *Facts) tapped() (n int) {
	for i := range f.Steps {
		s := &f.Steps[i]
		if stopsShake(s) && (s.Armed || slices.ContainsFunc(f.Marks, func(m Mark) bool { return m.stoppedBy(s) })) {
			n++
		}
	}
	return n
}

// tapStopped is the headline of a drive whose shakes were all stopped before they were long enough.
func (f *Facts) tapStopped(h *Headline, felt *FeltCount, tapped int) {
	h.Rule, h.Word = TapStopped, "SHAKE STOPPED BY THE BRAKE TAP "+strings.ToUpper(prose.Times(tapped))
	h.Reason = "engine speed swung and went quiet as the converter clutch opened; no shake went on long enough to be called shudder: tap in every second one only"
	if felt.All > 0 {
		h.Reason = sentence(h.Reason, felt.words())
	}
}

// feltOnly is the headline of a drive in which the shake was felt, or stopped by a brake tap, and shudder
// was not seen.
func (f *Facts) feltOnly(h *Headline, felt *FeltCount) {
	if n := f.tapped(); n > 0 {
		f.tapStopped(h, felt, n)
		return
	}
	times := strings.ToUpper(prose.Times(felt.All))
	visible := ""
	if f.Verdict.SmallestRPM > 0 {
		visible = fmt.Sprintf(", visible here from %.0f rpm", math.Ceil(f.Verdict.SmallestRPM))
	}
	moves := "it"
	if felt.Dark > 0 {
		moves = "engine speed"
	}
	friction := fmt.Sprintf("friction shudder moves %s by %d to %d rpm%s: this drive cannot rule it out", moves, FrictionLeastRPM, FrictionMostRPM, visible)
	if felt.Steady == 0 {
		h.Rule, h.Word = FeltInTheDark, "FELT "+times+", WHERE NOTHING COULD BE SEEN"
		h.Reason = fmt.Sprintf("mostly %s then", felt.Why.Words())
		if felt.All == 1 {
			h.Reason = felt.Why.Words() + " then"
		}
		if f.Verdict.Finding == detect.CannotTell {
			h.Reason = sentence(h.Reason, f.Verdict.Reason)
		}
		return
	}
	h.Rule, h.Word = FeltNotSeen, "FELT "+times+", NOT SEEN"
	h.Reason = "in engine speed; "
	if felt.Dark > 0 {
		h.Reason = fmt.Sprintf("%s with engine speed steady, %s where nothing could be seen; ", prose.Times(felt.Steady), prose.Times(felt.Dark))
	}
	h.Reason += friction
}

// complaint makes the headline of a drive that did not meet the complaint, or met it too little.
func (f *Facts) complaint(h *Headline) bool {
	switch {
	case f.Need.Beyond:
		h.Rule = ComplaintBeyond
		h.Reason = f.Need.Words(f.Complaint)
	case f.Need.Judged == 0:
		h.Rule = ComplaintNotMet
		h.Reason = f.notMet()
	case !f.Need.Enough():
		h.Rule = ComplaintShort
		h.Reason = f.short()
	default:
		return false
	}
	if f.Verdict.Finding == detect.NoShudder {
		h.Reason = sentence(h.Reason, "no shudder elsewhere: "+f.Verdict.Reason)
	} else {
		h.Reason = sentence(h.Reason, f.Verdict.Reason)
	}
	return true
}

func (f *Facts) notMet() string {
	return "the complaint was not met: no usable time " + PlaceWords(f.Complaint)
}

// besides is what else was found, in capitals.
func (f *Facts) besides() (all []string) {
	var counts [8]int
	for i := range f.Observations {
		counts[int(f.Observations[i].Kind)%len(counts)]++
	}
	for kind, n := range counts {
		if n > 0 {
			all = append(all, strings.ToUpper(detect.ObservationKind(kind).Words()+" "+prose.Times(n)))
		}
	}
	if m := f.Misfires; m.By >= manyMisfires {
		all = append(all, fmt.Sprintf("MISFIRES COUNTED, MOST IN CYLINDER %d", m.Cylinder))
	}
	var codes []string
	for i := range f.Codes {
		if c := &f.Codes[i]; c.Misfire() && !slices.Contains(codes, c.Code) {
			codes = append(codes, c.Code)
		}
	}
	slices.Sort(codes)
	if len(codes) > 0 {
		all = append(all, "MISFIRE CODE "+strings.Join(codes, ", "))
	}
	return all
}

// verdict is the detector's verdict with the finding of the headline.
func (h *Headline) verdict(v *detect.Verdict) detect.Verdict {
	whole := *v
	whole.Finding, whole.Reason = h.Finding, h.Reason
	return whole
}

// sentence puts two parts of a reason together.
func sentence(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + "; " + b
}

func passes(n int) string { return prose.Count(n, "pass", "passes") }

// rateWatch is the mean rate of engine speed while it was read.
type rateWatch struct {
	sum  float64
	n    int
	last time.Duration
}

// take takes the rate that the detector sees; once a second is enough.
func (w *rateWatch) take(at time.Duration, rate float64) {
	if at-w.last >= time.Second && rate > 0 {
		w.sum, w.n, w.last = w.sum+rate, w.n+1, at
	}
}

// mean is 0 before the first reading.
func (w *rateWatch) mean() float64 { return w.sum / float64(max(w.n, 1)) }
