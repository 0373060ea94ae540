package session

import (
	"math"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/slip"
	"github.com/judder-obd/judder/pids"
)

// fill copies what the analysis and the board hold.
func fill(dst *Snapshot, a *Analysis, b *board) {
	b.fill(dst, dst.Now)
	dst.Link.Damaged, dst.Link.Silent, dst.Link.Waited = a.damaged, a.answers.silent, a.answers.waited
	dst.Unread = a.answers.unread(dst.Now)
	dst.Marks, dst.Blind = a.marked(dst.Marks, dst.Now), a.blind()
	d := a.detector
	p := &a.passes
	dst.Complaint, dst.Passes = p.box, p.all(dst.Passes, d.Events())
	p.cover.into(&dst.Cover)
	dst.Need = needOf(p.box, p.inBox, dst.Passes)
	dst.Codes = append(dst.Codes[:0], a.codes.all...)
	dst.Detector = d.State()
	dst.Events = append(dst.Events[:0], d.Events()...)
	dst.Stops = append(dst.Stops[:0], d.Stops()...)
	dst.Observations = a.observations(dst.Observations)
	dst.Slip = append(dst.Slip[:0], a.slip.watch.Found()...)
	dst.Apparent = a.slip.apparent.Now()
	dst.Losses = append(dst.Losses[:0], a.link.losses...)
	dst.Checks = append(dst.Checks[:0], a.checks.all...)
	dst.Missing = append(dst.Missing[:0], a.missing.list()...)
	dst.Spans = append(dst.Spans[:0], d.Spans()...)
	dst.Steps = append(dst.Steps[:0], a.steps.watch.Found()...)
	dst.conclude(a)
	dst.showRenewal()
	if b.lost || d.Unread(dst.Now) || a.answers.never(dst.Now) {
		dst.blank()
	}
	dst.Arming = a.arming(dst)
}

// conclude sets the finding of what the snapshot holds.
func (s *Snapshot) conclude(a *Analysis) {
	f := Facts{a.detector.Verdict(), s.Events, s.Observations, s.Marks, s.Complaint, s.Need, s.Codes, s.Steps, a.steps.counts.misfires(), a.rate.mean(), a.unread}
	s.Headline = HeadlineOf(&f)
	s.Verdict = s.Headline.verdict(&f.Verdict)
}

// blank takes away the values of an earlier moment: engine speed is not read.
func (s *Snapshot) blank() {
	nan := math.NaN()
	d := &s.Detector
	d.Reason, d.Alarmed, d.Shaking, d.Slow, d.SteadyFor, d.Rate = detect.LinkGap, false, false, false, 0, 0
	d.SwingRPM, d.LimitRPM, d.SmallestRPM, d.SpeedKMH = nan, nan, nan, nan
	s.Apparent = slip.ApparentSlip{SlipRPM: nan, PlusMinusRPM: nan, LockedRPM: nan}
}

// showRenewal gives the lane of engine speed the rate at which the car renews it, where that is
// clearly lower than the rate at which it is read: repeats show nothing new.
func (s *Snapshot) showRenewal() {
	const clearly = 0.6
	for i := range s.Lanes {
		l := &s.Lanes[i]
		if l.Signal == pids.RPM && l.Value > 0 && s.Detector.Rate > 0 && s.Detector.Rate < clearly*l.Rate {
			l.Rate, l.Repeats = s.Detector.Rate, true
		}
	}
}
