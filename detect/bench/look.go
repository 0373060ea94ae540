package bench

import (
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/judder-obd/judder/detect"
)

// What the bench reads from the detector, in one place.

// glance is the detector's state after one look at its window.
type glance struct {
	at    float64 // s
	state detect.State
	look  detect.Look
	rpm   float64 // as read last
}

// ran is what a detector said about a drive.
type ran struct {
	glances  []glance
	told     []float64 // s, when each event was first there
	events   []detect.Event
	spans    []detect.Span
	stops    []detect.Stop
	observed []detect.Observation
	verdict  detect.Verdict
}

func run(d *Drive, change map[string]float64) *ran {
	det, err := detect.NewVariant(change)
	if err != nil {
		panic(err) // a mistake in -change
	}
	r := &ran{}
	rpm := math.NaN()
	last := time.Duration(-1)
	for _, s := range d.Samples {
		det.Push(s)
		if s.Signal == "RPM" {
			rpm = s.Value
		}
		if l := det.Latest(); l.At != last {
			last = l.At
			r.glances = append(r.glances, glance{s.At.Seconds(), det.State(), l, rpm})
		}
		for n := len(det.Events()); n > len(r.told); {
			r.told = append(r.told, s.At.Seconds())
		}
	}
	det.Finish(time.Duration(d.Length * 1e9))
	for n := len(det.Events()); n > len(r.told); {
		r.told = append(r.told, d.Length)
	}
	r.events, r.spans, r.stops, r.observed, r.verdict = det.Events(), det.Spans(), det.Stops(), det.Observations(), det.Verdict()
	return r
}

// words say what a look measured.
func (g *glance) words() string {
	l := &g.look
	return fmt.Sprintf("swing %.0f limit %.0f evidence %.1f and %.1f against %s, %.2f Hz wave %.0f left %.1f usual %.1f now %.1f, %.1f cycles in %.1f s, margin %.1f, passed %v",
		l.SwingRPM, l.LimitRPM, l.Evidence, l.FreeEvidence, l.Healthy, l.Hz, l.WaveRPM, l.LeftRPM, l.UsualRPM, l.RMS, l.Cycles, l.Span, l.Margin, l.Passed)
}

// weight is how near a look came to an alarm, for choosing the one to show.
func (g *glance) weight() float64 {
	if g.look.Hz == 0 {
		return math.Inf(-1)
	}
	return g.look.Margin
}

// chain is what the detector's state was from one time to another, look by look, and the look
// that came nearest to an alarm.
func (r *ran) chain(from, to float64) string {
	var text strings.Builder
	var best *glance
	count, why := 0, ""
	put := func() {
		if count > 0 {
			fmt.Fprintf(&text, "%s ×%d, ", why, count)
		}
	}
	for i := range r.glances {
		g := &r.glances[i]
		if g.at < from || g.at > to {
			continue
		}
		if best == nil || g.weight() > best.weight() {
			best = g
		}
		now := g.state.Reason.String()
		if g.state.Alarmed {
			now = "ALARM"
		}
		if now != why {
			put()
			count, why = 0, now
		}
		count++
	}
	put()
	if best == nil {
		return "no look"
	}
	return fmt.Sprintf("%sbest at %.1f s: %s", text.String(), best.at, best.words())
}

// mostly returns the state that held for most of the looks between two times.
func (r *ran) mostly(from, to float64) string {
	looks := map[string]int{}
	for i := range r.glances {
		if g := &r.glances[i]; g.at >= from && g.at <= to {
			looks[g.state.Reason.String()]++
		}
	}
	best, most := "no look", 0
	for _, why := range keys(looks) {
		if looks[why] > most {
			best, most = why, looks[why]
		}
	}
	return best
}

// most says for how long each reason held, s.
func (r *ran) most() string {
	sum := map[string]float64{}
	for _, s := range r.spans {
		sum[s.Reason.String()] += (s.End - s.Start).Seconds()
	}
	var text strings.Builder
	for _, why := range keys(sum) {
		fmt.Fprintf(&text, "%s %.0f s, ", why, sum[why])
	}
	return text.String()
}
