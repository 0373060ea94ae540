package cli

import (
	"context"
	"fmt"
	"os/exec"
	"strings"
	"sync"
	"time"

	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/tui"
)

// sayFlag is the command that says the large word.
type sayFlag struct {
	Say string `placeholder:"CMD" help:"At each change of the large word run CMD with the word as its last argument, such as --say espeak. No shell: CMD is a program and its arguments, separated by spaces."`
}

func (f *sayFlag) check() error {
	if f.Say == "" {
		return nil
	}
	words := strings.Fields(f.Say)
	if len(words) == 0 {
		return usageError("--say: give a command, such as --say espeak")
	}
	if _, err := exec.LookPath(words[0]); err != nil {
		return usageError(fmt.Sprintf("--say: %v; give a program that is installed, such as --say espeak", err))
	}
	return nil
}

// speaker runs the command; nil when none was given.
func (f *sayFlag) speaker(ctx context.Context) tui.Speaker {
	if f.Say == "" {
		return nil
	}
	return &speaker{ctx: ctx, command: strings.Fields(f.Say)}
}

// sayMost is how long a word may take to be said.
const sayMost = 10 * time.Second

// speaker runs a command for a word, one at a time. Of the words that come while it runs only the last
// is said: the others hold no longer.
type speaker struct {
	ctx     context.Context
	command []string

	mu      sync.Mutex
	running bool
	next    string // the word to be said after the one that is being said; "" for none
	failed  bool   // it was reported already
	trouble string // still to be reported
}

// Say has a word said.
func (s *speaker) Say(word string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.running {
		s.next = word
		return
	}
	s.running = true
	go s.run(word)
}

// run says a word, and those that came meanwhile.
func (s *speaker) run(word string) {
	for word != "" {
		err := s.once(word)
		s.mu.Lock()
		if err != nil && !s.failed && s.ctx.Err() == nil {
			s.failed, s.trouble = true, err.Error()
		}
		word, s.next = s.next, ""
		s.running = word != ""
		s.mu.Unlock()
	}
}

func (s *speaker) once(word string) error {
	ctx, cancel := context.WithTimeout(s.ctx, sayMost)
	defer cancel()
	args := append(s.command[1:len(s.command):len(s.command)], word)
	c := exec.CommandContext(ctx, s.command[0], args...)
	c.WaitDelay = time.Second
	out, err := c.CombinedOutput()
	switch {
	case ctx.Err() == context.DeadlineExceeded:
		return fmt.Errorf("--say: %s took longer than %v and was ended", s.command[0], sayMost)
	case err != nil:
		first, _, _ := strings.Cut(strings.TrimSpace(string(out)), "\n")
		return fmt.Errorf("--say: %s: %w %s", s.command[0], err, prose.Clean(first))
	}
	return nil
}

// Trouble is why a word could not be said, once.
func (s *speaker) Trouble() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	trouble := s.trouble
	s.trouble = ""
	return trouble
}
