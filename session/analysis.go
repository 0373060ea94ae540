package session

import (
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/cause"
	"github.com/judder-obd/judder/detect/slip"
	"github.com/judder-obd/judder/detect/steps"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/pids/vehicle"
	"github.com/judder-obd/judder/session/complaint"
	"github.com/judder-obd/judder/session/recording"
	"github.com/judder-obd/judder/session/table"
)

// Analysis decodes a session's entries, each once, and looks for shudder in them. A live session, a
// replay and a review all go through it, so that they agree to the byte. The price: to open an
// hour's drive decodes it again, in under a second.
type Analysis struct {
	decoder  reply.Decoder // of entries that come without what was decoded of them
	damaged  int           // lines and replies dropped
	heard    bool          // the car said something, even if no reading
	detector *detect.Detector
	slip     slipping
	samples  []pids.Sample
	marks    markBook
	link     lossWatch
	checks   checkWatch
	missing  *missingWatch
	answers  answerWatch
	passes   passBook
	codes    codeWatch
	header   recording.Header
	rate     rateWatch
	steps    stepBook
	end      time.Duration
	finished bool
	unread   string // why marks that were made at the bench are not known; "" where they are
}

// NewAnalysis makes an analysis that has seen nothing. profile has the car's
// parameters beyond the standard; nil for none.
func NewAnalysis(profile *vehicle.Profile) *Analysis {
	return &Analysis{decoder: reply.Decoder{Profile: profile}, detector: detect.New(), slip: newSlipping(profile), missing: newMissingWatch(profile), passes: newPassBook(), steps: newStepBook()}
}

// field is the row of a signal in the vehicle profile; nil where it has none.
func (a *Analysis) field(signal pids.Signal) *pids.Field {
	if p := a.decoder.Profile; p != nil {
		for i := range p.Parameters {
			if f := &p.Parameters[i].Field; f.Signal == signal {
				return f
			}
		}
	}
	return nil
}

// About gives name and unit of a signal, from the vehicle profile or the standard's table.
func (a *Analysis) About(signal pids.Signal) (name, unit string) {
	if f := a.field(signal); f != nil {
		return f.Name, f.Unit
	}
	name, unit, _ = pids.About(signal)
	return name, unit
}

// step is the step of a signal, from the vehicle profile or the standard's table; 0 when it is not
// known.
func (a *Analysis) step(signal pids.Signal) float64 {
	if f := a.field(signal); f != nil {
		return f.Step()
	}
	return table.Step(signal)
}

// Take takes the next entry, and returns the readings in it, valid until the next call.
func (a *Analysis) Take(e *recording.Entry) []pids.Sample { return a.take(e, a.decode(e)) }

// decode decodes the exchange of an entry; nil where it has none.
func (a *Analysis) decode(e *recording.Entry) *reply.Decoded {
	if e.Kind != recording.KindExchange {
		return nil
	}
	return a.decoder.Decode(&e.Exchange)
}

// take is Take of an entry whose exchange is decoded already.
func (a *Analysis) take(e *recording.Entry, d *reply.Decoded) []pids.Sample {
	a.end = max(a.end, e.At)
	a.samples = a.samples[:0]
	switch e.Kind {
	case recording.KindLink:
		a.link.change(&e.Link)
	case recording.KindExchange:
		a.samples = append(a.samples, d.Samples...)
		a.damaged += d.Damaged + d.Misfits
		a.heard = a.heard || len(d.Messages)+d.Damaged+d.Unasked > 0
		a.missing.exchange(&e.Exchange, d)
		a.answers.exchange(&e.Exchange, d)
		a.steps.counts.take(d)
		if a.checks.open {
			a.codes.take(&e.Exchange, d)
		}
	case recording.KindReading:
		a.samples = append(a.samples, e.Reading)
		a.missing.readings(a.samples)
	case recording.KindFelt:
		a.marks.press(e.At)
	case recording.KindNote:
		a.marks.note(e.At, e.Mark.Text)
	case recording.KindUndo:
		a.marks.takeBack()
	case recording.KindBlind:
		a.marks.blindPass(e.At, e.Blind)
	case recording.KindArm:
		a.steps.arm(e)
	case recording.KindCheck:
		a.checks.take(e.At, e.Check)
	}
	if len(a.samples) > 0 {
		a.link.reading(e.At)
		a.answers.readings(a.samples)
	}
	for i := range a.samples {
		s := &a.samples[i]
		named := asGear(*s, a.slip.roles[s.Signal])
		a.detector.Push(named)
		a.slip.push(*s, a.detector.State().Reason)
		a.steps.push(named)
		a.passes.push(&named)
		a.passes.follow(a.detector.Spans(), a.swing)
		a.rate.take(s.At, a.detector.State().Rate)
	}
	return a.samples
}

// swing is the latest swing of engine speed, rpm peak to peak; NaN when not measured.
func (a *Analysis) swing() float64 { return a.detector.Latest().SwingRPM }

// phase is what an unfinished live session does: the first reading counts, whatever of the
// adapter is still being set up.
func (a *Analysis) phase() Phase {
	switch {
	case a.link.open() != nil:
		return LinkLost
	case a.link.seen:
		return Running
	}
	return Connecting
}

// Finish ends the drive: what is open is closed.
func (a *Analysis) Finish() {
	a.detector.Finish(a.end)
	a.steps.watch.Finish()
	a.passes.follow(a.detector.Spans(), a.swing)
	a.link.finish(a.end)
	a.checks.finish(a.end)
	a.missing.finished = true
	a.marks.finish(a.end)
	a.finished = true
}

// Recorded is when a drive was recorded and by what; zero where that is not known.
type Recorded struct {
	At      time.Time // wall clock at the start
	Program string    // with its version
	VIN     string    // identification number of the car, in whole or with stars; personal: for comparing, not for showing
}

// Result is what was found in a whole session.
type Result struct {
	Duration     time.Duration
	Verdict      detect.Verdict // the whole finding, with marks and complaint: as Headline
	Headline     Headline
	Events       []detect.Event
	Stops        []detect.Stop
	Observations []detect.Observation
	Spans        []detect.Span
	Coverage     []detect.Band
	Slip         []slip.Swing       // slip, read or apparent, that swung while it should not
	Apparent     []slip.Stretch     // apparent slip where it was sharper than its uncertainty
	Locked       []slip.LockedRatio // ratios of engine to road speed that were held
	Losses       []Loss             // stretches in which the link was lost
	Checks       []CodeCheck        // engine speed was not read meanwhile
	Missing      []Missing          // parameters of the profile that the car did not give
	Marks        []Mark
	MarksUnread  string // why marks made at the bench are not known: the shake may have been felt
	Blind        BlindState
	Complaint    complaint.Box
	Passes       []Pass
	Cover        Coverage
	Need         Need   // of the complaint
	Codes        []Code // trouble codes that a code check inside the drive read
	CodesRead    bool   // stored codes were read in it; false where the car refused or was silent
	Recorded     Recorded
	Rate         float64          // readings of engine speed a second, while it was read; 0 when it was not
	Steps        []steps.Step     // what was done, or the car did, that separates causes
	Contrasts    []steps.Contrast // of the steps that were made in a shake
	Engine       []cause.Engine   // of Events, by index
	Misfire      cause.Counts
	Trims        []cause.Trim
	TrimsRead    bool // some fuel trim was read
	Gear         cause.Gear
	Car          cause.Car
	Damage       string // what is missing or unreadable, in words

	moments []kept // usable time, for a comparison of two drives; shared, never changed
}

// Result is what has been found; call it after Finish.
func (a *Analysis) Result() Result {
	r := Result{
		Duration:     a.end,
		Verdict:      a.detector.Verdict(),
		Events:       a.detector.Events(),
		Stops:        a.detector.Stops(),
		Observations: a.observations(nil),
		Spans:        a.detector.Spans(),
		Coverage:     a.detector.Coverage(),
		Slip:         a.slip.watch.Found(),
		Apparent:     a.slip.apparent.Found(),
		Locked:       a.slip.apparent.Locked(),
		Losses:       a.link.losses,
		Checks:       a.checks.all,
		Missing:      a.missing.list(),
		Marks:        a.marked(nil, a.end),
		MarksUnread:  a.unread,
		Blind:        a.blind(),
		Codes:        a.codes.all,
		CodesRead:    a.codes.read,
		Recorded:     Recorded{a.header.Start, a.header.Program, a.header.VIN},
	}
	r.Rate = a.rate.mean()
	p := &a.passes
	r.Complaint, r.Passes, r.moments = p.box, p.whole(r.Events), p.moments
	p.cover.into(&r.Cover)
	r.Need = needOf(p.box, p.inBox, r.Passes)
	a.steps.into(&r, a.decoder.Profile)
	a.headline(&r)
	return r
}

// headline sets the finding of a whole result.
func (a *Analysis) headline(r *Result) {
	f := Facts{a.detector.Verdict(), r.Events, r.Observations, r.Marks, r.Complaint, r.Need, r.Codes, r.Steps, a.steps.counts.misfires(), r.Rate, a.unread}
	r.Headline = HeadlineOf(&f)
	r.Verdict = r.Headline.verdict(&f.Verdict)
}
