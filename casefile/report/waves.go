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

func eventPicture(d *casefile.DriveFile, ev *detect.Event, id string) (Picture, float64) {
	cut := wave.Around(ev.Start, ev.End, ev.LimitRPM, ev.Hz)
	step := endedBy(&d.Result, ev)
	if step != nil {
		cut.To = max(cut.To, step.End+wave.AroundLeast)
	}
	title := fmt.Sprintf("shudder at %s: %s, %s, %.0f km/h", prose.Clock(ev.Start), ev.Size(), prose.Duration(ev.End-ev.Start), ev.SpeedKMH)
	p, reach := draw(d, cut, title, id, 0)
	if step != nil {
		p.Caption += fmt.Sprintf(" It ended with a %s at %s: engine speed %+.0f rpm, the swing fell to half within %.1f s.", step.Kind, prose.Clock(step.Start), step.RPMStep, step.Stopped.Seconds())
	}
	return p, reach
}

// draw draws a cut; reach is the value axis, rpm, 0 for the one that fits.
func draw(d *casefile.DriveFile, cut wave.Cut, title, id string, reach float64) (Picture, float64) {
	wave.Fill(&cut, d.Course.RPM, d.Course.Throttle, d.Course.Speed)
	var trace wave.Trace
	trace.Follow(&cut)
	if reach <= 0 {
		reach = wave.RoundReach(trace.Reach, cut.AlarmRPM)
	}
	var b bytes.Buffer
	err := trace.SVG(&b, &cut, reach, &wave.About{Title: title, Text: trace.Words(&cut, prose.Clock), Clock: prose.Clock, ID: id})
	if err != nil { // a buffer takes everything
		b.Reset()
	}
	caption := strings.ToUpper(title[:1]) + title[1:] + ". Recording " + d.File.Name + "."
	for _, s := range trace.Steps {
		caption += fmt.Sprintf(" The upright dotted line at %s is a step of %+.0f rpm.", prose.Clock(s.At), s.RPM)
	}
	return Picture{SVG: template.HTML(b.String()), Alt: title, Caption: caption}, reach
}
