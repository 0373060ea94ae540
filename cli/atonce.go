package cli

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"
)

// endAtOnce are the commands that a signal ends at once, whatever they do: they hold no port, and most of
// them never look at the context. The others end by themselves, with what they record whole.
var endAtOnce = []string{"review", "export", "import", "picture", "compare", "report"}

// endsAtOnce reports whether a command, as the parser names it, ends at once.
func endsAtOnce(command string) bool {
	name, _, _ := strings.Cut(command, " ")
	return slices.Contains(endAtOnce, name)
}

// ownEnd is how long a command may take to end by itself, as one that waits for another program does.
const ownEnd = 500 * time.Millisecond

// atOnce runs a command until it is done or a signal comes. A file that is not whole by then is taken away.
func (e *env) atOnce(run func() error) error {
	done := make(chan error, 1)
	go func() { done <- run() }()
	select {
	case err := <-done:
		return err
	case <-e.ctx.Done():
	}
	late := time.NewTimer(ownEnd)
	defer late.Stop()
	select {
	case err := <-done:
		return err
	case <-late.C:
	}
	e.halves.end()
	return e.ended()
}

// ended is the error of a command that a signal has ended; nil where none has.
func (e *env) ended() error {
	if cause := context.Cause(e.ctx); cause != nil {
		return fmt.Errorf("ended before it was done: %w", cause)
	}
	return nil
}
