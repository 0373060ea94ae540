package bench

import (
	"fmt"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/simcar/drivetrain"
)

// Figures are the sums over drives that were read in one way.
type Figures struct {
	Change map[string]float64 // to the detector's numbers

	Mid, Big, Short Count            // bursts of 50–100 rpm and above; those of under three cycles where a script has no others
	Oracle          [2]Count         // Mid and Big, found by the oracle
	oracle          bool             // it is asked
	Torn            Count            // found bursts that are more than one event
	Split           map[string]Count // the same by what they have in common
	Why             map[string]int   // missed bursts by the state that held for most of them
	On              map[int]Count    // always-on cars found, by swing
	Timing          Timing
	Hours, Judged   float64
	False           map[string]int // by script and what was under it
	FalseN          int
	Verdicts        Verdicts
	StopsRight      map[detect.StopKind]Count
	StopsInvented   int
	Named           map[string]Count // drives in which something was seen that is no shudder, by script and kind
	Notes           []Note
}

// Verdicts count the verdicts on drives without shudder.
type Verdicts struct {
	Clean  map[detect.Finding]int // cars without fault that were testable
	Faulty map[detect.Finding]int // testable cars with a fault that is no shudder
	Untied map[detect.Finding]int // cars whose engine speed is not tied to road speed
}

// Timing is how well bursts that were found were measured: s, and reported over true swing.
type Timing struct{ Delay, Start, End, Swing, HillSwing []float64 }

// Note is one thing worth a look: a miss, a false alarm, a wrong stop, a verdict.
type Note struct{ What, Text string }

func newFigures(change map[string]float64) *Figures {
	return &Figures{Change: change, Split: map[string]Count{}, Why: map[string]int{}, On: map[int]Count{}, False: map[string]int{},
		Verdicts:   Verdicts{map[detect.Finding]int{}, map[detect.Finding]int{}, map[detect.Finding]int{}},
		StopsRight: map[detect.StopKind]Count{}, Named: map[string]Count{}}
}

func (f *Figures) note(what, format string, a ...any) {
	f.Notes = append(f.Notes, Note{what, fmt.Sprintf(format, a...)})
}

// Score runs the detector over a drive and adds what came of it.
func (f *Figures) Score(d *Drive) {
	r := run(d, f.Change)
	if d.Role == Always {
		f.always(d, r)
		return
	}
	f.Hours += d.Length / 3600
	for _, s := range r.spans {
		if s.Reason == detect.Judged {
			f.Judged += (s.End - s.Start).Seconds() / 3600
		}
	}
	for _, s := range d.Spans {
		if s.Shudder && s.Counts {
			f.burst(d, s, r)
		}
	}
	for _, e := range r.events {
		f.event(d, e, r)
	}
	f.verdict(d, r)
	f.stops(d, r.stops)
	f.named(d, r.observed)
}

func (f *Figures) always(d *Drive, r *ran) {
	c := f.On[int(d.Swing)].add(len(r.events) > 0)
	f.On[int(d.Swing)] = c
	if len(r.events) == 0 {
		f.note("always-on car missed", "%s testable %.0f s in %d: %s", d.Key(), d.Testable, d.Passes, r.most())
	}
}

// slack: an event so near to a burst belongs to it, s.
const slack = 1.0

func near(e detect.Event, s Span) bool {
	return e.Start.Seconds() < s.End+slack && e.End.Seconds() > s.Start-slack
}

// burst scores a burst that must be found. One under a second, or under three cycles in a script of
// such, is counted apart.
func (f *Figures) burst(d *Drive, s Span, r *ran) {
	c, o := &f.Mid, &f.Oracle[0]
	switch {
	case s.SwingRPM < 50:
		return
	case d.Role == Brief:
		c, o = &f.Short, nil
	case s.End-s.Start < 1:
		return
	case s.SwingRPM >= 100:
		c, o = &f.Big, &f.Oracle[1]
	}
	if o != nil && f.oracle {
		*o = o.add(oracle(d, s))
	}
	events := 0
	for i, e := range r.events {
		if !near(e, s) {
			continue
		}
		if events++; events == 1 && d.Role == Shaking {
			f.timing(d, s, e, r.told[i])
		}
	}
	found := events > 0
	*c = c.add(found)
	if found {
		f.Torn = f.Torn.add(events > 1)
	}
	what := "found"
	if !found {
		what = "missed"
		f.Why[r.mostly(s.Start, s.End+0.5)]++
	}
	f.note(what, "%s %.1f–%.1f s %.0f rpm %.1f Hz %.1f cycles: %s", d.Key(), s.Start, s.End, s.SwingRPM, s.Hz, s.Cycles(), r.chain(s.Start-0.5, s.End+slack))
	if d.Role == Brief {
		return
	}
	for _, key := range traits(d, s) {
		f.Split[key] = f.Split[key].add(found)
	}
}

// traits are the splits a burst belongs to.
func traits(d *Drive, s Span) []string {
	list := []string{d.Name}
	switch c := s.Cycles(); {
	case c < 3:
		list = append(list, "under 3 cycles")
	case c < 5:
		list = append(list, "3 to 5 cycles")
	default:
		list = append(list, "over 5 cycles")
	}
	switch {
	case s.Hz < 1.5:
		list = append(list, "under 1.5 Hz")
	case s.Hz >= 4:
		list = append(list, "4 Hz and over")
	}
	if s.SwingRPM >= 200 {
		list = append(list, "200 rpm and over")
	}
	return list
}

// timing notes how well the first event of a burst fits it.
func (f *Figures) timing(d *Drive, s Span, e detect.Event, told float64) {
	t, swing := &f.Timing, e.SwingRPM/s.SwingRPM
	t.Delay, t.Start = append(t.Delay, told-s.Start), append(t.Start, e.Start.Seconds()-s.Start)
	t.End, t.Swing = append(t.End, e.End.Seconds()-d.lastEnd(e)), append(t.Swing, swing)
	if d.Name == string(HillBursts) || d.Name == string(drivetrain.HillShudders) {
		t.HillSwing = append(t.HillSwing, swing)
	}
}

// lastEnd returns when the last shudder that belongs to an event ends, s: bursts close to
// each other are one event.
func (d *Drive) lastEnd(e detect.Event) float64 {
	end := 0.0
	for _, s := range d.Spans {
		if s.Shudder && near(e, s) {
			end = max(end, s.End)
		}
	}
	return end
}

// event counts an event that no shudder belongs to.
func (f *Figures) event(d *Drive, e detect.Event, r *ran) {
	under := "nothing"
	for _, s := range d.Spans {
		if near(e, s) {
			if s.Shudder {
				return
			}
			under = s.Name
		}
	}
	f.FalseN++
	f.False[d.Name+"/"+under]++
	f.note("false", "%s %.1f–%.1f s %.0f rpm %.1f Hz over %s: %s", d.Key(), e.Start.Seconds(), e.End.Seconds(), e.SwingRPM, e.Hz, under,
		r.chain(e.Start.Seconds()-0.5, e.End.Seconds()+0.5))
}

// verdict counts the verdict on a drive that holds no shudder and was testable by the truth.
func (f *Figures) verdict(d *Drive, r *ran) {
	v := r.verdict
	switch {
	case d.Role == NotTied:
		f.Verdicts.Untied[v.Finding]++
		if v.Finding == detect.CannotTell {
			return
		}
	case !d.enough():
		return
	case d.Role == Fine:
		f.Verdicts.Clean[v.Finding]++
		if v.Finding == detect.NoShudder {
			return
		}
	case d.Role == Alike:
		f.Verdicts.Faulty[v.Finding]++
		return
	default:
		return
	}
	f.note("verdict", "%s %v: %s (testable %.0f s in %d)", d.Key(), v.Finding, v.Reason, d.Testable, d.Passes)
}

// stops scores the engine stops: right when one of the same kind overlaps.
func (f *Figures) stops(d *Drive, got []detect.Stop) {
	overlap := func(a, b detect.Stop) bool {
		return a.Start < b.End+2*time.Second && b.Start < a.End+2*time.Second
	}
	for _, want := range d.Stops {
		if want.End.Seconds() >= d.Length-0.5 {
			continue // the drive ends in it: what it would have been cannot be known
		}
		right, was := false, "none"
		for _, g := range got {
			if overlap(want, g) {
				right, was = right || g.Kind == want.Kind, g.Kind.String()
			}
		}
		f.StopsRight[want.Kind] = f.StopsRight[want.Kind].add(right)
		if !right {
			f.note("stop", "%s %.1f–%.1f s %v read as %s", d.Key(), want.Start.Seconds(), want.End.Seconds(), want.Kind, was)
		}
	}
	for _, g := range got {
		invented := true
		for _, want := range d.Stops {
			invented = invented && !overlap(want, g)
		}
		if invented {
			f.StopsInvented++
			f.note("stop", "%s %.1f–%.1f s %v invented", d.Key(), g.Start.Seconds(), g.End.Seconds(), g.Kind)
		}
	}
}

// named counts the drives in which something else than shudder was observed.
func (f *Figures) named(d *Drive, got []detect.Observation) {
	seen := map[string]bool{"drives": true}
	for _, o := range got {
		seen[o.Kind.String()] = true
	}
	for k := range seen {
		key := d.Name + "/" + k
		f.Named[key] = Count{f.Named[key].Hit + 1, f.Named[key].Of}
	}
}
