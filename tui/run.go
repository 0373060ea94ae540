package tui

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime/debug"
	"sync"

	tea "github.com/charmbracelet/bubbletea"

	"github.com/judder-obd/judder/prose"
)

// Options are how the screen runs. The zero value is the terminal, with the bell off.
type Options struct {
	Bell     bool // ring the terminal's bell at a new event
	FPS      int  // frames a second, 1 to 60; 0 for the usual 15
	NoColor  bool // no styles at all, as with NO_COLOR in the environment
	Sunlight bool // black on white, for a screen in the sun

	Switch  string   // key of a foot switch that marks; "" where none was learnt
	Export  Exporter // of a window of a replay; nil where there is none
	Speaker Speaker  // says the large word at each change; nil for silence

	// Beside, when set, runs beside the screen, with a context that ends with it: the pump
	// of the session. An error or a panic in it ends the screen and gives the terminal back,
	// and is returned, a panic with its stack.
	Beside func(ctx context.Context) error

	// Output is where the screen is drawn; nil for standard output. When it is not a file,
	// nothing is read but Input: for tests.
	Output io.Writer
	ASCII  bool      // the terminal shows nothing else: look-alikes are drawn
	Input  io.Reader // keys; nil for the terminal
}

const usualFPS = 15

func (o *Options) fps() int {
	if o.FPS <= 0 {
		return usualFPS
	}
	return min(o.FPS, 60)
}

// RunDrive shows a drive until the user ends it or ctx is done, then gives the terminal back and
// calls End. It returns nil for both, and otherwise what went wrong with the terminal or in
// Beside. Signals are the caller's: it ends ctx.
func RunDrive(ctx context.Context, d Drive, o Options) error { return run(ctx, driving(d), o) }

// RunReplay shows a replay as [RunDrive] shows a drive.
func RunReplay(ctx context.Context, r Replay, o Options) error { return run(ctx, replaying(r), o) }

func run(ctx context.Context, src shown, o Options, more ...tea.ProgramOption) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	if o.Output == nil {
		o.Output = os.Stdout
	}
	out, isFile := newTerminal(o.Output, o.ASCII)
	m := newModel(src, o, themes(o.Output, o.NoColor))
	m.done = ctx.Done()
	m.ring = func() { _, _ = out.Write([]byte{'\a'}) }

	program := newProgram(ctx, m, &o, out, isFile, more...)

	// What runs beside ends after the screen, also by a signal: a note may still come.
	pump, stop := context.WithCancelCause(context.WithoutCancel(ctx))
	defer stop(nil)
	var beside sync.WaitGroup
	var besideErr error
	if o.Beside != nil {
		beside.Go(func() {
			besideErr = guarded(pump, o.Beside, program.Quit)
		})
	}
	_, err := program.Run()
	if keepNote(m); ctx.Err() != nil { // the session learns what ended it
		stop(context.Cause(ctx))
		beside.Wait()
	}
	if !m.ended {
		src.End()
	}
	stop(nil)
	beside.Wait()
	if errors.Is(err, tea.ErrProgramPanic) {
		return errors.Join(fmt.Errorf("the screen failed: %w", err), besideErr)
	}
	if err = endedAsAsked(err); err != nil {
		err = fmt.Errorf("the screen needs a terminal: %w; without one use --headless, or review for a recording", err)
	}
	return errors.Join(err, besideErr)
}

// guarded runs work; an error or a panic in it calls stop, and the panic becomes an error.
func guarded(ctx context.Context, work func(context.Context) error, stop func()) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("panic beside the screen: %v\n%s", p, debug.Stack())
			stop()
		}
	}()
	if err = work(ctx); err != nil {
		stop()
	}
	return err
}

// newTerminal wraps the output so that a frame and the bell do not mix; isFile reports whether
// it may be a terminal.
func newTerminal(w io.Writer, ascii bool) (out io.Writer, isFile bool) {
	if f, ok := w.(*os.File); ok {
		return &terminal{File: f, ascii: ascii}, true
	}
	return &lockedWriter{w: w}, false
}

// terminal is a terminal's file. Each write is bracketed as one synchronised update (DEC
// private mode 2026), which terminals that know it show at once and others ignore.
type terminal struct {
	*os.File
	ascii bool
	mu    sync.Mutex
	buf   []byte
}

const beginUpdate, endUpdate = "\x1b[?2026h", "\x1b[?2026l"

func (t *terminal) Write(p []byte) (int, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.buf = append(t.buf[:0], beginUpdate...)
	if t.ascii {
		t.buf = prose.AppendASCII(t.buf, p)
	} else {
		t.buf = append(t.buf, p...)
	}
	t.buf = append(t.buf, endUpdate...)
	if _, err := t.File.Write(t.buf); err != nil {
		return 0, err
	}
	return len(p), nil
}

// WriteString is Write: the file's own would go past the lock.
func (t *terminal) WriteString(s string) (int, error) { return t.Write([]byte(s)) }

type lockedWriter struct {
	mu sync.Mutex
	w  io.Writer
}

func (l *lockedWriter) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.w.Write(p)
}
