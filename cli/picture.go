package cli

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/tui/wave"
)

type pictureCommand struct {
	File  string `arg:"" name:"FILE" help:"A recording."`
	Event int    `placeholder:"N" help:"Draw shudder number N of the drive, counted from 1. Default: the largest."`
	At    string `placeholder:"TIME" help:"Draw this time of the drive, such as 0:05:26, 5:26 or 326; a shudder there is drawn whole."`
	Strip bool   `help:"Draw the whole drive as a strip."`
	Out   string `placeholder:"FILE" help:"Where to write the picture (SVG); never overwrites. Default: standard output."`
}

// Run draws engine speed about its slow trend, or the whole drive.
func (c *pictureCommand) Run(e *env) error {
	if err := c.check(); err != nil {
		return err
	}
	samples, analysis, damage, err := session.Readings(c.File)
	if err != nil {
		return err
	}
	if damage != "" {
		e.say("%s: %s", c.File, damage)
	}
	result, course := analysis.Result(), session.CourseOf(samples)
	var picture bytes.Buffer
	if c.Strip {
		err = drawStrip(&picture, c.File, &result, &course)
	} else {
		err = c.draw(&picture, &result, &course)
	}
	if err != nil {
		return err
	}
	if c.Out == "" {
		_, err := e.out.Write(picture.Bytes())
		return err
	}
	return e.halves.writeNew(c.Out, given(picture.Bytes()))
}

func (c *pictureCommand) check() error {
	asked := 0
	for _, is := range []bool{c.Event != 0, c.At != "", c.Strip} {
		if is {
			asked++
		}
	}
	if asked > 1 {
		return usageError("give one of --event, --at and --strip")
	}
	if c.At != "" {
		if _, err := timeOfDrive(c.At); err != nil {
			return usageError("--at: " + err.Error())
		}
	}
	return nil
}

// timeOfDrive reads a time as the screen shows it, or in seconds.
func timeOfDrive(text string) (time.Duration, error) {
	sum := 0.0
	parts := strings.Split(strings.TrimSuffix(text, "s"), ":")
	for _, part := range parts {
		v, err := strconv.ParseFloat(part, 64)
		if err != nil || len(parts) > 3 || !(v >= 0) || v > 1e6 {
			return 0, errors.New("give a time such as 0:05:26, 5:26 or 326")
		}
		sum = sum*60 + v
	}
	return time.Duration(sum * float64(time.Second)), nil
}

// momentSpan is what is drawn where there is no event.
const momentSpan = 8 * time.Second

// draw draws the wave of one event or one moment.
func (c *pictureCommand) draw(w *bytes.Buffer, r *session.Result, course *session.Course) error {
	cut, title, err := c.cut(r)
	if err != nil {
		return err
	}
	return c.drawCut(w, course, cut, title)
}

// drawCut draws a cut that has no readings yet.
func (c *pictureCommand) drawCut(w *bytes.Buffer, course *session.Course, cut wave.Cut, title string) error {
	wave.Fill(&cut, course.RPM, course.Throttle, course.Speed)
	var trace wave.Trace
	trace.Follow(&cut)
	if len(trace.Points) == 0 {
		return fmt.Errorf("%s: engine speed was not read from %s to %s; judder review %s says when it was", c.File, prose.Clock(cut.From), prose.Clock(cut.To), prose.Quoted(c.File))
	}
	return trace.SVG(w, &cut, wave.RoundReach(trace.Reach, cut.AlarmRPM), &wave.About{Title: title + " · " + filepath.Base(c.File), Text: trace.Words(&cut, prose.Clock), Clock: prose.Clock})
}

// cut is what is to be drawn, without its readings.
func (c *pictureCommand) cut(r *session.Result) (wave.Cut, string, error) {
	if c.At != "" {
		at, _ := timeOfDrive(c.At) // checked before
		if at > r.Duration {
			return wave.Cut{}, "", fmt.Errorf("%s ends at %s; give an earlier time to --at", c.File, prose.Clock(r.Duration))
		}
		for i := range r.Events {
			if e := &r.Events[i]; at >= e.Start-time.Second && at <= e.End+time.Second {
				cut, title := cutOfEvent(e, i+1)
				return cut, title, nil
			}
		}
		from := max(at-momentSpan/2, 0)
		return wave.Cut{From: from, To: from + momentSpan}, "engine speed at " + prose.Clock(at), nil
	}
	n := c.Event
	if len(r.Events) == 0 {
		return wave.Cut{}, "", fmt.Errorf("%s has no shudder; --at TIME draws any moment, --strip the whole drive", c.File)
	}
	if n > len(r.Events) {
		return wave.Cut{}, "", fmt.Errorf("%s has %s, no number %d; judder review %s lists them", c.File, prose.Count(len(r.Events), "shudder", "shudders"), n, prose.Quoted(c.File))
	}
	if n == 0 {
		n = 1
		for i := range r.Events {
			if r.Events[i].SwingRPM > r.Events[n-1].SwingRPM {
				n = i + 1
			}
		}
	}
	cut, title := cutOfEvent(&r.Events[n-1], n)
	return cut, title, nil
}

// cutOfEvent is the cut of shudder n of a drive, and its title.
func cutOfEvent(e *detect.Event, n int) (wave.Cut, string) {
	title := fmt.Sprintf("shudder %d at %s: %s, %s, %.0f km/h", n, prose.Clock(e.Start), e.Size(), prose.Duration(e.End-e.Start), e.SpeedKMH)
	return wave.Around(e.Start, e.End, e.LimitRPM, e.Hz), title
}

// drawStrip draws the whole drive.
func drawStrip(w *bytes.Buffer, file string, r *session.Result, course *session.Course) error {
	all := func(pts []session.Point) []wave.Reading { return wave.Between(pts, 0, math.MaxInt64) }
	d := wave.Drive{Length: r.Duration, RPM: all(course.RPM), Throttle: all(course.Throttle), Speed: all(course.Speed)}
	for _, s := range r.Spans {
		if s.Reason == detect.Judged {
			d.Stretches = append(d.Stretches, wave.Stretch{Start: s.Start, End: s.End, Kind: wave.Usable})
		}
	}
	for _, e := range r.Events {
		d.Stretches = append(d.Stretches, wave.Stretch{Start: e.Start, End: e.End, Kind: wave.Shudder})
	}
	felt := 0
	for _, m := range r.Marks {
		s := wave.Stretch{Start: m.At, End: m.At, Kind: wave.Note, Label: strings.Join(strings.Fields(m.Note), " ")}
		if m.Note == "" {
			s.Kind = wave.Felt
			felt++
		}
		d.Stretches = append(d.Stretches, s)
	}
	about := wave.About{Clock: prose.Clock,
		Title: fmt.Sprintf("whole drive, %s: %s · %s", prose.Clock(r.Duration), r.Verdict.Finding, filepath.Base(file)),
		Text:  fmt.Sprintf("Engine speed in rpm, throttle in %% and road speed in km/h against the time of the drive. Shudder was seen %d times, felt marks %d. Green is the time in which shudder would have shown.", len(r.Events), felt)}
	return wave.Strip(w, &d, &about)
}
