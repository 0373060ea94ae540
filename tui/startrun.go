package tui

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"

	tea "github.com/charmbracelet/bubbletea"
)

// RunStart shows the start page until something is chosen, the page is left, or ctx is done. It returns
// what was chosen, and what went wrong with the terminal.
func RunStart(ctx context.Context, s Start, o Options) (Choice, error) {
	if o.Output == nil {
		o.Output = os.Stdout
	}
	out, isFile := newTerminal(o.Output, o.ASCII)
	m := newStartModel(s, o, themes(o.Output, o.NoColor))
	m.ring = func() { _, _ = out.Write([]byte{'\a'}) }
	_, err := newProgram(ctx, m, &o, out, isFile).Run()
	if err = endedAsAsked(err); err != nil {
		return Choice{}, fmt.Errorf("the start page needs a terminal: %w; judder --help shows the commands", err)
	}
	return m.choice, nil
}

// newProgram makes a program whose frames and bell go to out.
func newProgram(ctx context.Context, m tea.Model, o *Options, out io.Writer, isFile bool, more ...tea.ProgramOption) *tea.Program {
	// Bubble Tea's own signal handler would race with the caller's: once ctx has ended the event
	// loop, the handler blocks on its message, and the program hangs with the terminal in raw mode.
	opts := []tea.ProgramOption{tea.WithContext(ctx), tea.WithoutSignalHandler(), tea.WithAltScreen(), tea.WithOutput(out), tea.WithFPS(60)}
	if o.Input != nil || !isFile {
		opts = append(opts, tea.WithInput(o.Input))
	}
	return tea.NewProgram(m, append(opts, more...)...)
}

// endedAsAsked drops the errors that a program gives when its context ends it.
func endedAsAsked(err error) error {
	if !errors.Is(err, tea.ErrProgramPanic) && (errors.Is(err, tea.ErrInterrupted) || errors.Is(err, tea.ErrProgramKilled)) {
		return nil
	}
	return err
}
