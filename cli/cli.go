// Package cli is the command line: one file a command, and the only place that wires the
// rooms together.
package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"judder/obd/elm"
	"os"
	"os/signal"
	"runtime/debug"
	"strings"
	"syscall"
	"time"

	"github.com/alecthomas/kong"

	"judder/obd/link"
	"judder/prose"
	"judder/tui"
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
	Import  importCommand  `cmd:"" help:"Make a recording from a CSV file of readings (time_s,signal,value)."`
	Review  reviewCommand  `cmd:"" help:"Report on recordings: verdict, shudder, engine stops, damage."`
	Export  exportCommand  `cmd:"" help:"Write the readings of a recording as CSV to standard output."`
	Check   checkCommand   `cmd:"" help:"Code check: read the stored codes in all modules. Erases nothing."`
	Compare compareCommand `cmd:"" help:"Compare two code checks: new, gone, unchanged."`
	Clear   clearCommand   `cmd:"" help:"Clear codes; destroys evidence, so it checks and asks first."`
	Adapter adapterCommand `cmd:"" help:"Test what an adapter can do, and how fast it reads this car."`
	Ports   portsCommand   `cmd:"" help:"List the serial ports of this computer."`
	Version versionCommand `cmd:"" help:"Print the version."`
}

// env is what every command gets.
type env struct {
	ctx     context.Context
	started time.Time // of the command
	out     io.Writer // cleaned: no control characters from a car or a file
	err     io.Writer // cleaned
	raw     io.Writer // standard output for a screen, which cleans what it draws
	rawErr  io.Writer // standard error, to ask how wide it is
	in      io.Reader // where a typed word comes from

	open opener
}

// opener gives what opens a port as often as it is called.
type opener func(port string) func(ctx context.Context, baud int) (elm.Link, error)

// openPort opens real ports, under another path when the same adapter is plugged in elsewhere.
func openPort(port string) func(context.Context, int) (elm.Link, error) {
	r := link.NewReopener(port)
	return func(ctx context.Context, baud int) (elm.Link, error) { return r.Open(ctx, baud) }
}

// say writes a line of progress for people; on a terminal it is broken between words.
func (e *env) say(format string, args ...any) {
	const name = "judder: "
	text := name + fmt.Sprintf(format, args...)
	if width := tui.TextWidth(e.rawErr, 0); width > 0 {
		first, more, _ := strings.Cut(text[len(name):], "\n")
		lines := prose.WrapText(first, width-len(name))
		text = name + strings.Join(lines, "\n"+strings.Repeat(" ", len(name)))
		if more != "" {
			text += "\n" + strings.Join(prose.Wrap(strings.Split(more, "\n"), width), "\n")
		}
	}
	_, _ = fmt.Fprintln(e.err, text)
}

// dated is a file name with the date and time of the command in it that no file has yet.
func (e *env) dated(before, after string) string {
	name := before + e.started.Format("2006-01-02-150405")
	for n := 1; ; n++ {
		path := name + after
		if n > 1 {
			path = fmt.Sprintf("%s-%d%s", name, n, after)
		}
		if _, err := os.Lstat(path); err != nil {
			return path
		}
	}
}

// Main runs one command and returns its exit code.
func Main(args []string, stdout, stderr io.Writer) int {
	ctx, stop := signal.NotifyContext(context.Background(), endSignals()...)
	defer stop()
	return run(ctx, openPort, args, os.Stdin, stdout, stderr)
}

// run runs one command on ports that open opens, until it is done or ctx is.
func run(ctx context.Context, open opener, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	e := &env{ctx: ctx, started: time.Now(), out: prose.NewWriter(stdout), err: prose.NewWriter(stderr),
		raw: stdout, rawErr: stderr, in: stdin, open: open}
	var g grammar
	exited := -1
	parser, err := kong.New(&g, kong.Name("judder"), kong.Description(description), kong.UsageOnError(),
		kong.Writers(stdout, stderr), kong.Exit(func(code int) { exited = code }), kong.ConfigureHelp(kong.HelpOptions{Compact: true}))
	if err != nil {
		e.say("%v", err)
		return exitFailed
	}
	if len(args) == 0 {
		args = []string{"--help"}
	}
	command, err := parser.Parse(args)
	if exited >= 0 { // --help has been printed
		return exited
	}
	if err != nil {
		if strings.Contains(err.Error(), "--port=PORT") {
			e.say("%v: give the adapter's port; judder ports lists them", err)
			return exitUsage
		}
		e.say("%s; judder --help shows the commands, judder COMMAND --help their flags", parseWords(err))
		return exitUsage
	}
	err = refuse(command.Path)
	if err == nil {
		err = command.Run(e)
	}
	if err != nil {
		var usage usageError
		e.say("%s", err)
		if errors.As(err, &usage) {
			return exitUsage
		}
		return exitFailed
	}
	return exitOK
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

// parseWords say what is wrong with a command line, without the parser's words for programmers.
func parseWords(err error) string {
	text := err.Error()
	flag, _, found := strings.Cut(text, ": expected ")
	switch {
	case found && strings.Contains(text, `got "EOL"`):
		return flag + ": its value is missing"
	case found && strings.Contains(text, "(short flag)"):
		return flag + ": a value that begins with a minus is written --flag=-1"
	case found && strings.Contains(text, "bit uint"):
		return flag + ": give a whole number"
	}
	return text
}

// usageError is a command line that parses and makes no sense.
type usageError string

func (u usageError) Error() string { return string(u) }

type versionCommand struct{}

func (versionCommand) Run(e *env) error {
	_, err := fmt.Fprintln(e.out, "judder", version())
	return err
}

// version is the module's version, or the commit it was built from.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" && len(s.Value) >= 12 && info.Main.Version == "(devel)" {
			return s.Value[:12]
		}
	}
	return info.Main.Version
}
