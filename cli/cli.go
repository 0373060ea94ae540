// Package cli is the command line: one file a command, and the only place that wires the
// rooms together.
package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"reflect"
	"syscall"
	"time"

	"github.com/alecthomas/kong"

	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/recording"
)

// The exit codes.
const (
	exitOK     = 0
	exitFailed = 1 // the command could not do what it was asked to; standard error says why
	exitUsage  = 2 // the command line is not understood
)

const description = `Finds shudder: engine speed that swings at a steady throttle. It reads the car through the
diagnostic socket (SAE J1979) with an ELM327-style adapter, and looks for shudder while you
drive, or later in the recording.

A second person watches the screen; the driver watches the road. Obey traffic law. The
maker's procedure comes before anything said here.

Exit codes: 0 done, 1 failed (standard error says what, where and what to do next),
2 the command line is not understood.`

// grammar is the whole command line.
type grammar struct {
	Demo    demoCommand    `cmd:"" help:"Watch a simulated car drive a road test; needs no adapter."`
	Drive   driveCommand   `cmd:"" help:"Record a drive through an adapter and look for shudder."`
	Replay  replayCommand  `cmd:"" help:"Play a recording on the screen, like the drive itself."`
	Picture pictureCommand `cmd:"" help:"Draw a shudder, a moment or a whole drive as SVG."`
	Import  importCommand  `cmd:"" help:"Make a recording from a table of readings (CSV)."`
	Review  reviewCommand  `cmd:"" help:"Report on recordings: the finding, what happened when, damage."`
	Export  exportCommand  `cmd:"" help:"Write the readings of recordings as CSV or Parquet."`
	Check   checkCommand   `cmd:"" help:"Code check: read the stored codes of every module that answers. Erases nothing."`
	Compare compareCommand `cmd:"" help:"Compare two code checks (new, gone, unchanged), or two drives before and after a repair."`
	Clear   clearCommand   `cmd:"" help:"Clear codes; destroys evidence, so it checks and asks first."`
	Adapter adapterCommand `cmd:"" help:"Test what an adapter can do, and how fast it reads this car."`
	Case    caseCommand    `cmd:"" help:"One car's case in a folder: complaint, inspection, drives, checks, photos, repair."`
	Report  reportCommand  `cmd:"" help:"Make a paper of a case, before or after the work: HTML, PDF, or 20 lines of text."`
	Ports   portsCommand   `cmd:"" help:"List the serial ports of this computer."`
	Forget  forgetCommand  `cmd:"" help:"Forget the last port, profile, folder and bell."`
	Version versionCommand `cmd:"" help:"Print the version."`

	Completion completionCommand `cmd:"" help:"Print what makes a shell complete judder's commands, flags and ports."`
	Complete   completeCommand   `cmd:"" hidden:"" help:"Print what could follow on a command line; the completion scripts call it."`
	Man        manCommand        `cmd:"" hidden:"" help:"Print the manual page, for the makers of packages."`

	ShowVersion kong.VersionFlag `name:"version" help:"Print the version."`
}

// Main runs one command and returns its exit code.
func Main(args []string, stdout, stderr io.Writer) int {
	ctx, stop := untilSignal()
	defer stop()
	return run(ctx, thisComputer, args, os.Stdin, stdout, stderr)
}

// run runs one command with a computer's ports, until it is done or ctx is.
func run(ctx context.Context, c computer, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	ascii := asciiOnly(os.Getenv)
	e := &env{ctx: ctx, started: time.Now(), out: people(stdout, ascii), err: people(stderr, ascii),
		raw: stdout, rawErr: stderr, ascii: ascii, in: stdin, computer: c}
	if len(args) == 0 && e.onTerminal() {
		return startPage(e)
	}
	code, err := execute(e, args)
	if err != nil {
		e.say("%s", err)
	}
	return code
}

// execute runs one command. The error is what is still to be said.
func execute(e *env, args []string) (code int, err error) {
	var g grammar
	exited := -1
	parser, err := kong.New(&g, kong.Name("judder"), kong.Description(description), kong.UsageOnError(),
		kong.Writers(e.raw, e.rawErr), kong.Exit(func(code int) { exited = code }), kong.ConfigureHelp(kong.HelpOptions{Compact: true, NoExpandSubcommands: true}),
		kong.Vars{"version": "judder " + version()}, kong.KindMapper(reflect.String, kong.MapperFunc(asGiven)))
	if err != nil {
		return exitFailed, err
	}
	switch {
	case len(args) == 0:
		args = []string{"--help"}
	case args[0] == "help":
		args = append(args[1:len(args):len(args)], "--help")
	}
	command, err := parser.Parse(args)
	if exited >= 0 { // --help has been printed
		return exited, nil
	}
	if err != nil {
		return exitUsage, errors.New(misunderstood(err))
	}
	err = refuse(command.Path)
	switch {
	case err != nil:
	case endsAtOnce(command.Command()):
		err = e.atOnce(func() error { return command.Run(e) })
	default:
		err = command.Run(e)
	}
	var usage usageError
	switch {
	case errors.As(err, &usage):
		return exitUsage, err
	case err != nil:
		return exitFailed, err
	}
	return exitOK, nil
}

// asGiven takes a text as it was given. The library's own way goes through JSON, which changes the name of a
// file that is not UTF-8.
func asGiven(ctx *kong.DecodeContext, target reflect.Value) error {
	t, err := ctx.Scan.PopValue("string")
	if err != nil {
		return err
	}
	target.SetString(fmt.Sprint(t.Value))
	return nil
}

// untilSignal is a context that a signal ends, with why as its cause.
func untilSignal() (context.Context, func()) {
	ctx, cancel := context.WithCancelCause(context.Background())
	signals := make(chan os.Signal, 1)
	signal.Notify(signals, endSignals()...)
	go func() {
		select {
		case s := <-signals:
			cancel(session.EndedBy(endWords(s)))
		case <-ctx.Done():
		}
	}()
	return ctx, func() {
		signal.Stop(signals)
		cancel(context.Canceled)
	}
}

// endWords are why a recording ended, by the signal that ended it.
func endWords(s os.Signal) string {
	switch s {
	case syscall.SIGHUP:
		return recording.WhyHangUp
	case syscall.SIGTERM:
		return recording.WhyTerminated
	}
	return recording.WhyUser
}

// endSignals are the signals that end a command as the user does. A closed window or a lost
// connection sends SIGHUP; where it is ignored from the start, as under nohup, it stays so.
func endSignals() []os.Signal {
	ends := []os.Signal{os.Interrupt, syscall.SIGTERM}
	if !signal.Ignored(syscall.SIGHUP) {
		ends = append(ends, syscall.SIGHUP)
	}
	return ends
}

// usageError is a command line that parses and makes no sense.
type usageError string

func (u usageError) Error() string { return string(u) }
