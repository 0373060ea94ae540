package cli

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// restOf is what the page leaves out: what happened in order of time, then how the time was spent.
func restOf(r *session.Result) string {
	var b strings.Builder
	v := &r.Verdict
	if hs := happenings(r); len(hs) > 0 {
		b.WriteString("\n  what happened:\n")
		for _, h := range hs {
			fmt.Fprintf(&b, "  %s  %s\n", prose.Clock(h.at), h.words)
		}
	}
	writeSteps(&b, r)
	b.WriteString("\n  how the time was spent:\n")
	for _, m := range masks(r) {
		fmt.Fprintf(&b, "    %10s  %s\n", prose.Duration(m.length), m.words)
	}
	if shuddered(r) > v.Testable {
		b.WriteString("  a shudder counts from its first swing, which may come before the usable time\n")
	}
	head := "\n  usable time by road speed:\n"
	for _, c := range r.Coverage {
		if c.Judged > 0 {
			b.WriteString(head)
			head = ""
			fmt.Fprintf(&b, "    %10s  %.0f to %.0f km/h, smallest visible swing %.0f rpm\n",
				prose.Duration(c.Judged), c.FromKMH, c.ToKMH, math.Ceil(c.SmallestRPM))
		}
	}
	if lines := coverageLines(&r.Cover, r.Complaint); len(lines) > 0 {
		b.WriteString("\n" + strings.Join(lines, "\n") + "\n")
	}
	writePasses(&b, r)
	writeApparent(&b, r)
	return b.String()
}

// writePasses lists the steady stretches.
func writePasses(b *strings.Builder, r *session.Result) {
	if len(r.Passes) > 0 {
		fmt.Fprintf(b, "\n  passes of %.0f s and more at steady throttle and speed:\n", session.PassLeast.Seconds())
	}
	for i := range r.Passes {
		p := &r.Passes[i]
		fmt.Fprintf(b, "  %s  %s at %s km/h, load %s %%", prose.Clock(p.Start), prose.Duration(p.Judged), whole(p.SpeedKMH), whole(p.LoadPct))
		if p.Gear > 0 {
			fmt.Fprintf(b, ", gear %d", p.Gear)
		}
		if p.InComplaint {
			b.WriteString(", as complained of")
		}
		if p.Shudder {
			b.WriteString(", shudder")
		}
		b.WriteString("\n")
	}
}

// shuddered is how long all shudders lasted together.
func shuddered(r *session.Result) (sum time.Duration) {
	for _, ev := range r.Events {
		sum += ev.End - ev.Start
	}
	return sum
}

// writeApparent prints the ratios that were held, and how long estimated slip was larger than its
// uncertainty.
func writeApparent(b *strings.Builder, r *session.Result) {
	if len(r.Locked) > 0 {
		b.WriteString("\n  engine speed with the converter clutch locked, by gear, as this drive shows it:\n")
	}
	for _, l := range r.Locked {
		fmt.Fprintf(b, "    %10s  %.0f rpm at 100 km/h\n", prose.Duration(l.Held), 100*l.RPMPerKMH)
	}
	var total time.Duration
	var high, doubt float64
	for _, a := range r.Apparent {
		total += a.End - a.Start
		if a.HighRPM > high {
			high, doubt = a.HighRPM, a.PlusMinusRPM
		}
	}
	if total > 0 {
		fmt.Fprintf(b, "    %10s  estimated slip, up to %.0f ± %.0f rpm\n", prose.Duration(total), high, doubt)
	}
}

// happening is one thing that happened in a drive, in words.
type happening struct {
	at    time.Duration
	words string
}

// happenings are in order of time, so that a felt mark is next to what was found then.
func happenings(r *session.Result) []happening {
	var hs []happening
	add := func(at time.Duration, format string, args ...any) {
		hs = append(hs, happening{at, fmt.Sprintf(format, args...)})
	}
	for i, ev := range r.Events {
		words := fmt.Sprintf("shudder %d, %s, %s at %.0f km/h",
			i+1, ev.Size(), prose.Duration(ev.End-ev.Start), ev.SpeedKMH)
		if ev.CoolantC < detect.WarmFromC {
			words += fmt.Sprintf(", coolant at %.0f °C", ev.CoolantC)
		}
		if rose := riseWords(r, i); rose != "" {
			words += "\n           " + rose
		}
		add(ev.Start, "%s", words)
	}
	for i := range r.Steps {
		if s := &r.Steps[i]; telling(s) {
			add(s.Start, "%s", stepWords(s))
		}
	}
	for _, w := range r.Slip {
		if w.ApparentRPM > 0 {
			add(w.Start, "estimated slip swung %.0f rpm peak to peak about %.0f ± %.0f rpm, %s; from engine speed and gear",
				w.SwingRPM, w.MeanRPM, w.ApparentRPM, prose.Duration(w.End-w.Start))
			continue
		}
		add(w.Start, "converter slip swung %.0f rpm peak to peak about %.0f rpm, %s; the strongest evidence",
			w.SwingRPM, w.MeanRPM, prose.Duration(w.End-w.Start))
	}
	for _, o := range r.Observations {
		add(o.Start, "%s, %s; not counted as shudder", o.Kind.Words(), prose.Duration(o.End-o.Start))
	}
	for _, s := range r.Stops {
		add(s.Start, "%s, %s", s.Words(), prose.Duration(s.End-s.Start))
	}
	for _, l := range r.Losses {
		add(l.Start, "link lost, %s: %s", prose.Duration(l.End-l.Start), l.Words())
	}
	for _, c := range r.Checks {
		add(c.Start, "%s", checkWords(&c))
	}
	for _, m := range r.Marks {
		add(m.At, "%s", markWords(&m))
	}
	slices.SortStableFunc(hs, func(a, b happening) int { return int(a.at - b.at) })
	return hs
}

// markWords keep a note on its line: a recording may come from anywhere.
func markWords(m *session.Mark) string {
	if m.Note != "" {
		return "note: " + strings.Join(strings.Fields(m.Note), " ")
	}
	text := m.Answer()
	if m.Strength > 1 {
		text += fmt.Sprintf(", strength %d of 3", m.Strength)
	}
	if m.Lasted > 0 {
		text += ", for " + prose.Duration(m.Lasted)
	}
	if m.Blind {
		text += ", made blind"
	}
	return text
}

// checkWords are the row of a code check inside the drive.
func checkWords(c *session.CodeCheck) string {
	text := "code check, " + prose.Duration(c.End-c.Start)
	if c.Broke {
		text += "; it broke off"
	}
	if c.Kept != "" {
		text += "; result in " + c.Kept
	}
	return text
}
