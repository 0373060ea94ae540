package report

import (
	"bytes"
	"fmt"
	"html/template"
	"strings"
	"time"

	"github.com/judder-obd/judder/casefile"
	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/steps"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/tui/wave"
)

// pictures are the waves of a paper.
type pictures struct{ *writer }

// clearest is the event that a picture shows: the largest swing of those that a touch of the brake
// ended or, without one, of all of a stage.
func (w *pictures) clearest(stage casefile.Stage) (d *casefile.DriveFile, ev *detect.Event) {
	ended := false
	for i := range w.e.Drives {
		one := &w.e.Drives[i]
		if one.File.Stage != stage || one.Err != nil {
			continue
		}
		for k := range one.Result.Events {
			x := &one.Result.Events[k]
			step := endedBy(&one.Result, x)
			better := ev == nil || x.SwingRPM > ev.SwingRPM
			if byTap := step != nil && step.Kind == steps.ClutchRelease; byTap && !ended || byTap == ended && better {
				d, ev, ended = one, x, byTap
			}
		}
	}
	return d, ev
}

// endedBy is the valid step that a shudder ended with; nil for none.
func endedBy(r *session.Result, ev *detect.Event) *steps.Step {
	for i := range r.Steps {
		if s := &r.Steps[i]; s.Fault == steps.Valid && s.Calmed() && s.Belongs(ev) {
			return s
		}
	}
	return nil
}

// wave is the picture of the clearest shudder; in the paper after the work also a pass after it, on
// the same axis.
func (w *pictures) wave() (Section, bool) {
	s := Section{Title: "The clearest shudder"}
	reach, hz := 0.0, 0.0
	if d, ev := w.clearest(casefile.Before); ev != nil {
		var p Picture
		p, reach = eventPicture(d, ev, "e1")
		if len(ev.Hz) > 0 {
			hz = ev.Hz[0]
		}
		s.Pictures = append(s.Pictures, p)
	}
	if w.o.Stage == casefile.After {
		s.Title = "Before and after, on the same axis"
		if d, ev := w.clearest(casefile.After); ev != nil {
			p, _ := eventPicture(d, ev, "e2")
			s.Pictures = append(s.Pictures, p)
		} else if p, ok := w.quietPicture(reach, hz); ok {
			s.Pictures = append(s.Pictures, p)
		}
	}
	return s, s.Pictures != nil
}

// quietPicture is a piece of a pass after the work, where one is in the conditions that count, drawn as
// a swing of the frequency before it would be.
func (w *pictures) quietPicture(reach, hz float64) (Picture, bool) {
	for i := range w.e.Drives {
		d := &w.e.Drives[i]
		if d.File.Stage != casefile.After || d.Err != nil {
			continue
		}
		for k := range d.Result.Passes {
			p := &d.Result.Passes[k]
			if !w.answer.In.hold(p) {
				continue
			}
			const shown = 8 * time.Second
			middle := (p.Start + p.End) / 2
			cut := wave.Cut{From: middle - shown/2, To: middle + shown/2, Hz: hz}
			title := fmt.Sprintf("a pass after the work at %s: no shudder, %.0f km/h", prose.Clock(p.Start), p.SpeedKMH)
			pic, _ := draw(d, cut, title, "e2", reach)
			return pic, true
		}
	}
	return Picture{}, false
}

// around is how much is drawn before and after an event.
const around = 1500 * time.Millisecond

func eventPicture(d *casefile.DriveFile, ev *detect.Event, id string) (Picture, float64) {
	more := max(around, (ev.End-ev.Start)/4)
	cut := wave.Cut{From: max(ev.Start-more, 0), To: ev.End + more, Start: ev.Start, End: ev.End, AlarmRPM: max(ev.LimitRPM, 0)}
	if len(ev.Hz) > 0 {
		cut.Hz = ev.Hz[0]
	}
	step := endedBy(&d.Result, ev)
	if step != nil {
		cut.To = max(cut.To, step.End+around)
	}
	title := fmt.Sprintf("shudder at %s: %.0f rpm peak to peak%s, %s, %.0f km/h", prose.Clock(ev.Start), ev.SwingRPM, hertz(ev.Hz), prose.Duration(ev.End-ev.Start), ev.SpeedKMH)
	p, reach := draw(d, cut, title, id, 0)
	if step != nil {
		p.Caption += fmt.Sprintf(" It ended with a %s at %s: engine speed %+.0f rpm, the swing fell to half within %.1f s.", step.Kind, prose.Clock(step.Start), step.RPMStep, step.Stopped.Seconds())
	}
	return p, reach
}

// draw draws a cut; reach is the value axis, rpm, 0 for the one that fits.
func draw(d *casefile.DriveFile, cut wave.Cut, title, id string, reach float64) (Picture, float64) {
	const trend = 3 * time.Second
	cut.RPM = readings(d.Course.RPM, cut.From-trend, cut.To+trend)
	cut.Throttle, cut.Speed = readings(d.Course.Throttle, cut.From, cut.To), readings(d.Course.Speed, cut.From, cut.To)
	var trace wave.Trace
	trace.Follow(&cut)
	if reach <= 0 {
		reach = wave.RoundReach(trace.Reach, cut.AlarmRPM)
	}
	text := fmt.Sprintf("Engine speed about its own slow trend from %s to %s, in rpm, against time. Throttle and road speed below it.", prose.Clock(cut.From), prose.Clock(cut.To))
	for _, s := range trace.Steps {
		text += fmt.Sprintf(" Engine speed steps by %+.0f rpm at %s.", s.RPM, prose.Clock(s.At))
	}
	var b bytes.Buffer
	err := trace.SVG(&b, &cut, reach, &wave.About{Title: title, Text: text, Clock: prose.Clock, ID: id})
	if err != nil { // a buffer takes everything
		b.Reset()
	}
	caption := strings.ToUpper(title[:1]) + title[1:] + ". Recording " + d.File.Name + "."
	for _, s := range trace.Steps {
		caption += fmt.Sprintf(" The upright dotted line at %s is a step of %+.0f rpm.", prose.Clock(s.At), s.RPM)
	}
	return Picture{SVG: template.HTML(b.String()), Alt: title, Caption: caption}, reach
}

func readings(pts []session.Point, from, to time.Duration) (rs []wave.Reading) {
	for _, p := range pts {
		if p.At >= from && p.At <= to {
			rs = append(rs, wave.Reading{At: p.At, Value: p.Value})
		}
	}
	return rs
}

// hertz is the frequency, with those that it may be the alias of.
func hertz(hz []float64) string {
	words := make([]string, len(hz))
	for i, f := range hz {
		words[i] = fmt.Sprintf("%.1f Hz", f)
	}
	if len(words) == 0 {
		return ""
	}
	return ", " + strings.Join(words, " or ")
}
