//go:build linux || darwin

package simcar

import (
	"context"
	"errors"
	"fmt"

	"github.com/charmbracelet/x/term"
	"github.com/creack/pty"
)

// OpenPTY makes a pseudo-terminal, serves the adapter on it until ctx ends, and returns
// the path that a host opens as if it were a serial port. The host may close and open it
// again. The channel gives the reason when serving ends.
func (s *Sim) OpenPTY(ctx context.Context) (path string, ended <-chan error, err error) {
	control, line, err := pty.Open()
	if err != nil {
		return "", nil, fmt.Errorf("simcar: pseudo-terminal: %w", err)
	}
	// Without this the line discipline would echo and translate until the host sets it.
	if _, err := term.MakeRaw(line.Fd()); err != nil {
		return "", nil, errors.Join(fmt.Errorf("simcar: pseudo-terminal: set raw: %w", err), control.Close(), line.Close())
	}
	done := make(chan error, 1)
	go func() {
		err := s.Serve(ctx, control)
		// Held open until here: else the first host that leaves would end the terminal.
		done <- errors.Join(err, line.Close())
	}()
	return line.Name(), done, nil
}
