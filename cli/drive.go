package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"judder/obd/adapter"
	"judder/obd/elm"
	"os"
	"sync"
	"time"

	"judder/obd/drive"
	"judder/obd/link"
	"judder/pids/vehicle"
	"judder/prose"
	"judder/session"
	"judder/session/recording"
	"judder/tui"
)

// bauds are tried in this order when none is given: the adapter family's default first
// (ELM327 data sheet, p. 9), then the speeds that adapters are sold with (common practice,
// no source).
var bauds = []int{38400, 115200, 9600, 230400, 500000}

type driveCommand struct {
	Port string `required:"" placeholder:"PORT" help:"A serial port (judder ports lists them), or tcp://host:port."`
	Baud int    `placeholder:"N" help:"Serial speed. Default: 38400, 115200, 9600, 230400 and 500000 are tried."`
	sessionFlags
	Out     string `placeholder:"FILE" help:"Where to record; never overwrites. Default: a file here, named by date and time."`
	Profile string `placeholder:"FILE" help:"Vehicle profile (TOML): what this car offers beyond the standard."`
	VIN     bool   `help:"Keep the vehicle identification number in the recording."`
}

// sessionFlags are those of every live session.
type sessionFlags struct {
	Headless bool          `help:"No screen; report events as they happen."`
	For      time.Duration `placeholder:"45s" help:"Stop after this time, counted from the start of the command."`
	JSON     bool          `help:"Print the result at the end, like review --json."`
	Bell     bool          `default:"true" negatable:"" help:"Ring the terminal bell at a new event."`
	FPS      int           `default:"15" help:"Frames per second of the screen; fewer for a slow connection."`
}

func (f *sessionFlags) check() error {
	if f.For < 0 {
		return usageError("--for: give a time such as 45s or 20m")
	}
	if f.FPS < 1 || f.FPS > 60 {
		return usageError("--fps: give 1 to 60")
	}
	return nil
}

func (c *driveCommand) Run(e *env) error {
	if err := c.check(); err != nil {
		return err
	}
	if c.Out == "" {
		c.Out = e.dated("judder-", ".jsonl")
	}
	profile, text, err := loadProfile(c.Profile)
	if err != nil {
		return err
	}
	l := live{flags: &c.sessionFlags, out: c.Out, port: c.Port, keepVIN: c.VIN, bauds: e.speeds(c.Port, c.Baud), profile: profile, profileText: text,
		open: e.opener(c.Port)}
	return l.run(e)
}

// loadProfile reads a vehicle profile, and its text for the recording.
func loadProfile(path string) (*vehicle.Profile, string, error) {
	if path == "" {
		return nil, "", nil
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, "", fmt.Errorf("vehicle profile: %w; check the file's name and permissions, or leave --profile out", err)
	}
	profile, err := vehicle.ParseProfile(path, text)
	return profile, string(text), err
}

// opener is what opens a port; it says beforehand what the port's driver costs.
func (e *env) opener(port string) func(context.Context, int) (elm.Link, error) {
	if timer, ok := link.Latency(port); ok && timer.Advice() != "" {
		e.say("%s: %s", port, timer.Advice())
	}
	return e.open(port)
}

// speeds are the serial speeds to try; it says so when one is given for nothing.
func (e *env) speeds(port string, baud int) []int {
	if baud > 0 && link.OnNetwork(port) {
		e.say("--baud %d is ignored: a network address has no serial speed", baud)
	}
	return speeds(port, baud)
}

// speeds are the serial speeds to try: the one that was given, or all; a network has none.
func speeds(port string, baud int) []int {
	switch {
	case link.OnNetwork(port):
		return []int{0}
	case baud > 0:
		return []int{baud}
	}
	return bauds
}

// live is a live session being wired: port, recording, screen.
type live struct {
	flags   *sessionFlags
	port    string
	bauds   []int
	open    func(context.Context, int) (elm.Link, error)
	out     string // "": no recording
	keepVIN bool

	profile     *vehicle.Profile
	profileText string
}

func (l *live) run(e *env) error {
	ctx := e.ctx
	if l.flags.For > 0 {
		var cancel context.CancelFunc
		ctx, cancel = context.WithDeadline(ctx, e.started.Add(l.flags.For))
		defer cancel()
	}
	since := clockFrom(e.started).since
	var rec session.Recorder
	if l.out != "" {
		header := recording.Header{Start: e.started, Port: l.port, Program: "judder " + version()}
		w, err := recording.Create(l.out, session.WithProfile(header, l.profileText))
		if err != nil {
			return err
		}
		rec = w
	}
	poller := drive.New(adapter.Config{Open: l.open, Bauds: l.bauds, Name: l.port, Since: since, AskVIN: l.keepVIN, Profile: l.profile})
	s := session.NewLive(poller, since, l.port, rec, l.out)
	err := l.drive(ctx, e, s)
	return l.conclude(e, s, err)
}

// drive runs the session, with or without a screen, until it ends.
func (l *live) drive(ctx context.Context, e *env, s *session.Live) error {
	if !l.flags.Headless {
		options := l.flags.options(e)
		options.Beside = s.Run
		return tui.Run(ctx, s, options)
	}
	ended := make(chan struct{})
	var following sync.WaitGroup
	following.Go(func() { follow(e, s, ended) })
	err := s.Run(ctx)
	close(ended)
	following.Wait()
	return err
}

func (f *sessionFlags) options(e *env) tui.Options {
	return tui.Options{Bell: f.Bell, FPS: f.FPS, Output: e.raw}
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
		return fmt.Errorf("%s: no adapter answers there, or it hung up: %w; check host and port (an adapter has a port of its own, not that of a web page), and that no other program is connected", l.port, err)
	}
	return err
}

// conclude reports what was found. A drive that recorded something has succeeded, whatever happened
// on the way.
func (l *live) conclude(e *env, s *session.Live, err error) error {
	r, o := s.Result(), s.Outcome()
	if o.Answered == 0 {
		return l.nothingRead(s, &r, err)
	}
	if r.Damage != "" && !l.flags.Headless { // else it has been said as it happened
		e.say("%s", r.Damage)
	}
	if err := printResult(e, l.out, &r, l.flags.JSON); err != nil {
		return err
	}
	if l.out != "" {
		if o.Recorded == 0 {
			return fmt.Errorf("nothing was recorded in %s: %s", l.out, r.Damage)
		}
		e.say("%s", recordedWords(l.out, o.Stop))
	}
	return nil
}

// recordedWords say where a drive was recorded, and up to when where that is not all of it.
func recordedWords(path string, stop session.RecordingStop) string {
	if stop.Cause != "" {
		return fmt.Sprintf("recorded in %s only until %s, then recording stopped: %s; judder replay %s plays what was recorded", path, prose.Clock(stop.At), stop.Cause, path)
	}
	return fmt.Sprintf("recorded in %s; judder replay %s plays it", path, path)
}
