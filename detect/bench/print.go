package bench

import (
	"fmt"
	"io"
	"strings"

	"github.com/judder-obd/judder/detect"
)

// Print writes the figures of one way of reading.
func (f *Figures) Print(w io.Writer) error {
	var b strings.Builder
	low, high := RateInterval(f.FalseN)
	fmt.Fprintf(&b, "  50–100: %v  100+: %v\n", f.Mid, f.Big)
	if f.oracle {
		fmt.Fprintf(&b, "  oracle: %v  %v\n", f.Oracle[0], f.Oracle[1])
	}
	fmt.Fprintf(&b, "  false/h %.2f (%d in %.1f h, %.2f–%.2f)  judged %.1f h  under three cycles: %v\n",
		float64(f.FalseN)/f.Hours, f.FalseN, f.Hours, low/f.Hours, high/f.Hours, f.Judged, f.Short)
	fmt.Fprintf(&b, "  always on 100: %v  60: %v\n", f.On[100], f.On[60])
	f.Timing.print(&b)
	fmt.Fprintf(&b, "  bursts in more than one event: %v\n", f.Torn)
	fmt.Fprintf(&b, "  faultless, testable: %s  faulty: %s  untied: %s\n", findings(f.Verdicts.Clean), findings(f.Verdicts.Faulty), findings(f.Verdicts.Untied))
	fmt.Fprintf(&b, "  stops:")
	for k := detect.StopAutomatic; k <= detect.StopUnseen; k++ {
		if c, ok := f.StopsRight[k]; ok {
			fmt.Fprintf(&b, " %v %v", k, c)
		}
	}
	fmt.Fprintf(&b, " invented %d\n", f.StopsInvented)
	if f.FalseN > 0 {
		fmt.Fprintf(&b, "  false by script:")
		for _, k := range keys(f.False) {
			fmt.Fprintf(&b, " %s %d,", k, f.False[k])
		}
		b.WriteByte('\n')
	}
	fmt.Fprintf(&b, "  missed, by what held for most of them:")
	for _, k := range keys(f.Why) {
		fmt.Fprintf(&b, " %s %d,", k, f.Why[k])
	}
	fmt.Fprintf(&b, "\n  bursts found:")
	for _, k := range keys(f.Split) {
		fmt.Fprintf(&b, " %s %d/%d,", k, f.Split[k].Hit, f.Split[k].Of)
	}
	b.WriteByte('\n')
	_, err := io.WriteString(w, b.String())
	return err
}

func (t *Timing) print(b *strings.Builder) {
	q := Quantile
	fmt.Fprintf(b, "  delay %.2f s  start %+.2f s (|%.2f|, 90%% %.2f)  end %+.2f s (|%.2f|, 90%% %.2f)  swing ×%.2f (%.2f–%.2f, off by %.0f %%; hills ×%.2f, off by %.0f %%)\n",
		q(t.Delay, .5), q(t.Start, .5), q(absolute(t.Start), .5), q(absolute(t.Start), .9),
		q(t.End, .5), q(absolute(t.End), .5), q(absolute(t.End), .9),
		q(t.Swing, .5), q(t.Swing, .1), q(t.Swing, .9), 100*q(offBy(t.Swing), .5), q(t.HillSwing, .5), 100*q(offBy(t.HillSwing), .5))
}

// offBy is by how much reported swings miss the true ones, as a share.
func offBy(swing []float64) []float64 {
	out := make([]float64, len(swing))
	for i, x := range swing {
		out[i] = x - 1
	}
	return absolute(out)
}

func findings(m map[detect.Finding]int) string {
	return fmt.Sprintf("no shudder %d, cannot tell %d, shudder %d;", m[detect.NoShudder], m[detect.CannotTell], m[detect.Shudder])
}

// PrintNamed writes in how many drives of each script something else than shudder was seen.
func (f *Figures) PrintNamed(w io.Writer) error {
	var b strings.Builder
	b.WriteString("  seen beside shudder, drives:")
	for _, k := range keys(f.Named) {
		if script, kind, _ := strings.Cut(k, "/"); kind != "drives" {
			fmt.Fprintf(&b, " %s in %d of %d %s,", kind, f.Named[k].Hit, f.Named[script+"/drives"].Hit, script)
		}
	}
	b.WriteByte('\n')
	_, err := io.WriteString(w, b.String())
	return err
}

// PrintNotes writes up to so many notes of each kind whose name is among the wanted; "all" wants all.
func (f *Figures) PrintNotes(w io.Writer, most int, wanted string) error {
	shown := map[string]int{}
	for _, n := range f.Notes {
		if shown[n.What] >= most || wanted != "all" && !strings.Contains(wanted, n.What) {
			continue
		}
		shown[n.What]++
		if _, err := fmt.Fprintf(w, "    %s %s\n", n.What, n.Text); err != nil {
			return err
		}
	}
	return nil
}
