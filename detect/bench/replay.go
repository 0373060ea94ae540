package bench

import (
	"fmt"
	"io"
	"strings"

	"github.com/judder-obd/judder/pids"
)

// Replay writes what the detector thinks of one drive, look by look, from one time to another (s).
func Replay(w io.Writer, s Scene, a Asking, change map[string]float64, from, to float64) (*Drive, error) {
	d := s.lay().Read(a)
	r := run(d, change)
	var b strings.Builder
	fmt.Fprintf(&b, "%s read %v, testable %.0f s in %d passes\n", s.Key(), a, d.Testable, d.Passes)
	for _, x := range d.Spans {
		if x.End >= from && x.Start <= to {
			fmt.Fprintf(&b, "truth: %s %.1f–%.1f s %.0f rpm %.1f Hz, counts: %v\n", x.Name, x.Start, x.End, x.SwingRPM, x.Hz, x.Counts)
		}
	}
	last := map[pids.Signal]float64{}
	next := 0
	for i := range r.glances {
		g := &r.glances[i]
		for ; next < len(d.Samples) && d.Samples[next].At.Seconds() <= g.at; next++ {
			last[d.Samples[next].Signal] = d.Samples[next].Value
		}
		if g.at < from || g.at > to {
			continue
		}
		why := g.state.Reason.String()
		if g.state.Alarmed {
			why = "ALARM, " + why
		}
		fmt.Fprintf(&b, "%7.2f s %4.0f rpm %3.0f km/h throttle %4.1f pedal %4.1f load %3.0f coolant %3.0f  [%s]  %s: %s\n", g.at, g.rpm,
			last[pids.VSS], last[pids.TP], last[pids.APPD], last[pids.LoadPct], last[pids.ECT], d.truthAt(g.at), why, g.words())
	}
	for _, e := range r.events {
		fmt.Fprintf(&b, "event: %.1f–%.1f s %.0f rpm %.1f Hz\n", e.Start.Seconds(), e.End.Seconds(), e.SwingRPM, e.Hz)
	}
	fmt.Fprintf(&b, "verdict: %v: %s\n", r.verdict.Finding, r.verdict.Reason)
	_, err := io.WriteString(w, b.String())
	return d, err
}

// truthAt names what really goes on at a time.
func (d *Drive) truthAt(t float64) string {
	var names []string
	for _, s := range d.Spans {
		if t >= s.Start && t <= s.End {
			names = append(names, s.Name)
		}
	}
	return strings.Join(names, ", ")
}
