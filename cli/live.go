package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"sync"
	"time"

	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/drive"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/pids/vehicle"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/recording"
	"github.com/judder-obd/judder/tui"
)

// live is a live session being wired: port, recording, screen.
type live struct {
	flags   *sessionFlags
	port    string
	bauds   []int
	open    func(context.Context, int) (elm.Link, error)
	out     string // "": no recording
	keepVIN bool

	answered func() // called at the end when the car gave readings; nil does nothing

	profile     *vehicle.Profile
	profileText string
}

// sessionFlags are those of every live session.
type sessionFlags struct {
	complaintFlag
	sayFlag
	Headless bool          `help:"No screen; report events as they happen."`
	For      time.Duration `placeholder:"45s" help:"Stop after this time, counted from the start of the command."`
	JSON     bool          `help:"Print the result at the end, like review --json."`
	Bell     *bool         `negatable:"" help:"Ring the terminal bell at a new event. Default: as chosen last, at first yes."`
	Sunlight bool          `help:"Black on white, for a screen in the sun; the key s changes it."`
	Switch   string        `placeholder:"KEY" help:"Key of a foot switch or presenter that marks, as the key f in a drive names it, such as f5 or pgup."`
	FPS      int           `default:"15" help:"Frames per second of the screen; fewer for a slow connection."`
}

func (f *sessionFlags) check() error {
	if err := f.sayFlag.check(); err != nil {
		return err
	}
	return f.complaintFlag.check()
}

func (f *sessionFlags) options(e *env) tui.Options {
	return tui.Options{Bell: e.bell(f.Bell), FPS: f.FPS, Sunlight: f.Sunlight, Switch: f.Switch, Output: e.raw, ASCII: e.ascii}
}

func (l *live) run(e *env) error {
	if why := e.screenless(); why != "" && !l.flags.Headless {
		e.say("no screen, for %s: events are printed as they happen", why)
		l.flags.Headless = true
	}
	ctx := e.ctx
	if l.flags.For > 0 {
		var cancel context.CancelFunc
		ctx, cancel = context.WithDeadline(ctx, e.started.Add(l.flags.For))
		defer cancel()
	}
	since := clockFrom(e.started).since
	header := session.WithProfile(recording.Header{Start: e.started, Port: l.port, Program: "judder " + version()}, l.profileText)
	var rec session.Recorder
	if l.out != "" {
		w, err := recording.Create(l.out, header)
		if err != nil {
			return err
		}
		rec = w
	}
	poller := drive.New(adapter.Config{Open: l.open, Bauds: l.bauds, Name: l.port, Since: since, AskVIN: l.keepVIN, Profile: l.profile})
	s := session.NewLive(poller, since, l.port, rec, l.out)
	s.Describe(header)
	s.SetComplaint(l.flags.box)
	err := l.drive(ctx, e, s)
	return l.conclude(e, s, err)
}

// drive runs the session, with or without a screen, until it ends.
func (l *live) drive(ctx context.Context, e *env, s *session.Live) error {
	if !l.flags.Headless {
		options := l.flags.options(e)
		options.Beside, options.Speaker = s.Run, l.flags.speaker(ctx)
		return tui.RunDrive(ctx, s, options)
	}
	ended := make(chan struct{})
	var following sync.WaitGroup
	following.Go(func() { follow(e, s, l.flags.speaker(ctx), ended) })
	err := s.Run(ctx)
	close(ended)
	following.Wait()
	return err
}

// nothingRead is the error of a drive without a single reading. Replies and marks are kept; a
// recording of silence is not: it would only block its name.
func (l *live) nothingRead(s *session.Live, r *session.Result, err error) error {
	o, kept := s.Outcome(), ""
	switch {
	case l.out == "":
	case o.Heard || len(r.Marks) > 0:
		kept = " " + l.out + " holds replies and marks, but no readings."
	default:
		kept = " Nothing was recorded."
		if os.Remove(l.out) != nil {
			kept += " " + l.out + " can be deleted."
		}
	}
	switch {
	case err == nil:
		return fmt.Errorf("no readings from the car: %s.%s", o.LastText, kept)
	case errors.Is(err, io.EOF):
		return &adapter.HungUpError{Port: l.port, Bauds: l.bauds, Err: err}
	}
	return err
}

// conclude reports what was found. A drive that is recorded whole has succeeded, whatever happened on
// the way.
func (l *live) conclude(e *env, s *session.Live, err error) error {
	r, o := s.Result(), s.Outcome()
	if o.Answered == 0 {
		return l.nothingRead(s, &r, err)
	}
	if l.answered != nil {
		l.answered()
	}
	if errors.Is(err, adapter.ErrLoses) { // it ended before its time
		e.say("%v", err)
	}
	if !l.flags.Headless && !l.flags.JSON {
		return l.sayEnding(e, &r, &o)
	}
	if r.Damage != "" && !l.flags.Headless { // else it has been said as it happened
		e.say("%s", r.Damage)
	}
	if err := printResult(e, l.out, &r, l.flags.JSON, false); err != nil {
		return err
	}
	if err := l.unrecorded(&r, &o); err != nil || l.out == "" {
		return err
	}
	e.say("%s", recordedWords(l.out, &o.Stop))
	return nil
}

// unrecorded is the error of a drive that was to be recorded and is not, or not all of it.
func (l *live) unrecorded(r *session.Result, o *session.Outcome) error {
	switch {
	case l.out == "":
		return nil
	case o.Recorded == 0:
		return fmt.Errorf("nothing was recorded in %s: %s", l.out, r.Damage)
	case o.Stop.Cause != "" || o.Stop.Lost():
		return errors.New(recordedWords(l.out, &o.Stop))
	}
	return nil
}

// sayEnding prints in the shell what the last page of the screen said.
func (l *live) sayEnding(e *env, r *session.Result, o *session.Outcome) error {
	ending := tui.EndingOf(r, l.out, o.Stop)
	lines := ending.Lines(tui.TextWidth(e.raw, prose.PageWidth))
	if _, err := fmt.Fprintln(e.out, strings.Join(lines, "\n")); err != nil {
		return err
	}
	return l.unrecorded(r, o)
}

// recordedWords say where a drive was recorded, and up to when where that is not all of it.
func recordedWords(path string, stop *session.RecordingStop) string {
	again := ""
	switch {
	case stop.Lost():
		return fmt.Sprintf("the recording is no longer in %s: it, or its folder, was removed or moved during the drive; if it was moved, it is whole where it is now", path)
	case stop.Rewritten():
		again = ", written again whole after it was removed or moved"
	case stop.Cause != "":
		return fmt.Sprintf("recorded in %s only until %s, then recording stopped: %s; judder replay %s plays what was recorded", path, prose.Clock(stop.At), stop.Cause, prose.Quoted(path))
	}
	return fmt.Sprintf("recorded in %s%s; judder replay %s plays it", path, again, prose.Quoted(path))
}
