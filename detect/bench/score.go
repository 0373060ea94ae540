package bench

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"judder/detect"
)

// Count is hits among tries.
type Count struct{ Hit, Of int }

// String gives share, count and the exact 95 % interval.
func (c Count) String() string {
	if c.Of == 0 {
		return "–"
	}
	lo, hi := Interval(c.Hit, c.Of)
	return fmt.Sprintf("%.3f (%d/%d, %.2f–%.2f)", float64(c.Hit)/float64(c.Of), c.Hit, c.Of, lo, hi)
}

// Interval returns the exact two-sided 95 % interval of a share (Clopper and Pearson 1934).
func Interval(hit, of int) (low, high float64) {
	low, high = 0, 1
	if hit > 0 {
		low = distuv.Beta{Alpha: float64(hit), Beta: float64(of - hit + 1)}.Quantile(0.025)
	}
	if hit < of {
		high = distuv.Beta{Alpha: float64(hit + 1), Beta: float64(of - hit)}.Quantile(0.975)
	}
	return low, high
}

// Figures are the sums of one rate.
type Figures struct {
	Mid, Big      Count // spans of 50–100 and above 100 rpm
	Delay, Start  []float64
	End           []float64 // s, the last event's end less the span's
	Swing         []float64 // told swing over the true one
	Hours         float64
	False         map[string]int // by drive and what was under it
	FalseN        int
	Judged        float64
	Change        map[string]float64 // to the detector's numbers
	Missed        []string
	Found         []string
	StopsRight    map[detect.StopKind]Count
	StopsInvented int
	Observed      map[string]int // by drive and kind
	StopsWrong    []string
	FalseAt       []string
}

// Add scores one drive.
func (f *Figures) Add(d *Drive) []detect.Event {
	if f.False == nil {
		f.False = map[string]int{}
	}
	det, err := detect.NewVariant(f.Change)
	if err != nil {
		panic(err)
	}
	alarms := map[int]float64{} // event → when it was first told
	var looks []detect.Look
	for _, s := range d.Samples {
		det.Push(s)
		if l := det.Latest(); len(looks) == 0 || looks[len(looks)-1].At != l.At {
			looks = append(looks, l)
		}
		if n := len(det.Events()); n > 0 {
			if _, ok := alarms[n-1]; !ok {
				alarms[n-1] = s.At.Seconds()
			}
		}
	}
	det.Finish(time.Duration(d.Length * 1e9))
	f.Hours += d.Length / 3600
	for _, s := range det.Spans() {
		if s.Reason == detect.Judged {
			f.Judged += (s.End - s.Start).Seconds()
		}
	}
	f.stops(d, det.Stops())
	f.observed(d, det.Observations())
	events := det.Events()
	for _, s := range d.Spans {
		if s.Shudder && s.Counts {
			before := len(f.Missed)
			f.span(d, s, events, alarms, looks)
			if len(f.Missed) > before {
				f.Missed[before] += reasons(s, det.Spans()) + best(s, looks)
			}
		}
	}
	for _, e := range events {
		f.event(d, e, looks)
	}
	return events
}

const slack = 1.0 // s, an event so near to a span belongs to it

func (f *Figures) span(d *Drive, s Span, events []detect.Event, alarms map[int]float64, looks []detect.Look) {
	c := &f.Mid
	if s.SwingRPM >= 100 {
		c = &f.Big
	} else if s.SwingRPM < 50 {
		return
	}
	c.Of++
	for i, e := range events {
		if e.Start.Seconds() < s.End+slack && e.End.Seconds() > s.Start-slack {
			c.Hit++
			f.Delay = append(f.Delay, alarms[i]-s.Start)
			f.Start = append(f.Start, e.Start.Seconds()-s.Start)
			f.End = append(f.End, e.End.Seconds()-d.lastEnd(e))
			f.Swing = append(f.Swing, e.SwingRPM/s.SwingRPM)
			f.Found = append(f.Found, fmt.Sprintf("%s %.1f–%.1f %.0f rpm %.1f Hz delay %.2f %s", d.Name, s.Start, s.End, s.SwingRPM, s.Hz, alarms[i]-s.Start, strongest(looks, s.Start, s.End+1)))
			return
		}
	}
	f.Missed = append(f.Missed, fmt.Sprintf("%s %.1f–%.1f %.0f rpm %.1f Hz", d.Name, s.Start, s.End, s.SwingRPM, s.Hz))
}

func (f *Figures) event(d *Drive, e detect.Event, looks []detect.Look) {
	under := "nothing"
	for _, s := range d.Spans {
		if e.Start.Seconds() < s.End+slack && e.End.Seconds() > s.Start-slack {
			if s.Shudder {
				return
			}
			under = s.Name
		}
	}
	f.FalseN++
	f.False[d.Name+"/"+under]++
	told := strongest(looks, e.Start.Seconds(), e.End.Seconds()+1)
	f.FalseAt = append(f.FalseAt, fmt.Sprintf("%s %.1f–%.1f %.0f rpm %.1f Hz over %.0f %s", d.Name, e.Start.Seconds(), e.End.Seconds(), e.SwingRPM, e.Hz, e.LimitRPM, told))
}

// lastEnd returns when the last shudder that belongs to an event ends, s: bursts close to
// each other are one event.
func (d *Drive) lastEnd(e detect.Event) float64 {
	end := 0.0
	for _, s := range d.Spans {
		if s.Shudder && s.Start < e.End.Seconds()+slack && s.End > e.Start.Seconds()-slack {
			end = max(end, s.End)
		}
	}
	return end
}

// strongest tells the look between two times that had the most evidence.
func strongest(looks []detect.Look, from, to float64) string {
	var top detect.Look
	for _, l := range looks {
		if t := l.At.Seconds(); t >= from && t <= to && l.Evidence > top.Evidence && l.SwingRPM > 0.9*l.LimitRPM {
			top = l
		}
	}
	return fmt.Sprintf("evidence %.1f %.1f Hz swing %.0f wave %.0f left %.0f scatter %.1f limit %.0f", top.Evidence, top.Hz, top.SwingRPM, top.WaveRPM, top.LeftRPM, top.ScatterRPM, top.LimitRPM)
}

// Quantile returns the q-quantile of x; NaN of none.
func Quantile(x []float64, q float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	x = slices.Clone(x)
	slices.Sort(x)
	return x[int(q*float64(len(x)-1)+0.5)]
}

// Print writes the figures of a rate.
func (f *Figures) Print(w io.Writer, rate float64) error {
	abs := make([]float64, len(f.Start))
	for i, x := range f.Start {
		abs[i] = math.Abs(x)
	}
	text := fmt.Sprintf("%4.0f/s  50–100: %v  100+: %v  false/h %.3f (%d in %.0f h)  delay %.2f  start %+.2f |%.2f| 90%% %.2f  end %+.2f (%+.2f to %+.2f)  swing ×%.2f (%.2f–%.2f)  judged %.1f h\n",
		rate, f.Mid, f.Big, float64(f.FalseN)/f.Hours, f.FalseN, f.Hours, Quantile(f.Delay, .5), Quantile(f.Start, .5), Quantile(abs, .5), Quantile(abs, .9), Quantile(f.End, .5), Quantile(f.End, .1), Quantile(f.End, .9), Quantile(f.Swing, .5), Quantile(f.Swing, .1), Quantile(f.Swing, .9), f.Judged/3600)
	var names []string
	for n := range f.False {
		names = append(names, n)
	}
	slices.Sort(names)
	for i, n := range names {
		names[i] = fmt.Sprintf("%s %d", n, f.False[n])
	}
	if len(names) > 0 {
		text += fmt.Sprintf("        false: %s\n", strings.Join(names, ", "))
	}
	_, err := io.WriteString(w, text)
	return err
}

// reasons tells how the seconds of a missed span were masked.
func reasons(s Span, spans []detect.Span) string {
	sum := map[detect.Reason]float64{}
	for _, x := range spans {
		if o := min(x.End.Seconds(), s.End) - max(x.Start.Seconds(), s.Start); o > 0 {
			sum[x.Reason] += o
		}
	}
	return fmt.Sprintf(" reasons %.2v", sum)
}

// best tells how near a missed span came.
func best(s Span, looks []detect.Look) string {
	over, evidence, both, floor := 0.0, 0.0, 0.0, 0.0
	for _, l := range looks {
		if t := l.At.Seconds(); t < s.Start || t > s.End+1 || math.IsNaN(l.SwingRPM) {
			continue
		}
		over, evidence, floor = max(over, l.SwingRPM/l.LimitRPM), max(evidence, l.Evidence), max(floor, l.LimitRPM)
		if l.SwingRPM > l.LimitRPM {
			both = max(both, l.Evidence)
		}
	}
	return fmt.Sprintf(" swing/limit %.2f limit %.0f evidence %.1f, when over %.1f", over, floor, evidence, both)
}

// stops scores the engine stops: right when one of the same kind overlaps.
func (f *Figures) stops(d *Drive, got []detect.Stop) {
	if f.StopsRight == nil {
		f.StopsRight = map[detect.StopKind]Count{}
	}
	overlap := func(a, b detect.Stop) bool {
		return a.Start < b.End+2*time.Second && b.Start < a.End+2*time.Second
	}
	for _, want := range d.Stops {
		if want.End.Seconds() >= d.Length-0.5 {
			continue // the drive ends in it: what it would have been cannot be known
		}
		c := f.StopsRight[want.Kind]
		c.Of++
		kind := -1
		for _, g := range got {
			if overlap(want, g) {
				if kind = int(g.Kind); g.Kind == want.Kind {
					c.Hit++
					break
				}
			}
		}
		if kind != int(want.Kind) {
			f.StopsWrong = append(f.StopsWrong, fmt.Sprintf("%s %v–%v kind %d told as %d", d.Name, want.Start, want.End, want.Kind, kind))
		}
		f.StopsRight[want.Kind] = c
	}
	if d.Stops == nil && len(d.Spans) > 0 && d.Name == "" {
		return
	}
	for _, g := range got {
		if !slices.ContainsFunc(d.Stops, func(w detect.Stop) bool { return overlap(w, g) }) {
			f.StopsInvented++
			f.StopsWrong = append(f.StopsWrong, fmt.Sprintf("%s %v–%v kind %d invented", d.Name, g.Start, g.End, g.Kind))
		}
	}
}

// observed counts observations by drive and kind.
func (f *Figures) observed(d *Drive, got []detect.Observation) {
	if f.Observed == nil {
		f.Observed = map[string]int{}
	}
	kinds := [...]string{"slow swing", "lock-up cycling", "gear hunting", "irregular scatter"}
	seen := map[string]bool{}
	for _, o := range got {
		if k := d.Name + "/" + kinds[o.Kind]; !seen[k] {
			seen[k] = true
			f.Observed[k]++
		}
	}
}
