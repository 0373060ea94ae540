//go:build linux || darwin

package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/charmbracelet/x/term"
	"github.com/creack/pty"

	"github.com/judder-obd/judder/session/recording"
	"github.com/judder-obd/judder/simcar"
)

// A signal from outside ends the screen at once: the recording has its end record and the
// terminal is as it was before. The rounds run side by side, as they mostly wait.
func TestScreen_EndsOnSignal(t *testing.T) {
	t.Parallel()
	rounds := 20
	if testing.Short() {
		rounds = 3
	}
	dir := t.TempDir()
	room := make(chan struct{}, 40) // processes at a time
	var all sync.WaitGroup
	for _, by := range endings {
		for _, command := range []string{"demo", "drive"} {
			for n := range by.of(rounds) {
				all.Go(func() {
					room <- struct{}{}
					defer func() { <-room }()
					round := fmt.Sprintf("%s-%s-%d", command, by.name, n)
					if err := by.endRound(t, command, filepath.Join(dir, round+".jsonl")); err != nil {
						t.Errorf("%s: %v", round, err)
					}
				})
			}
		}
	}
	all.Wait()
}

// ending is one way to end a program from outside.
type ending struct {
	name   string
	signal syscall.Signal // 0: the window is closed, so that the kernel sends SIGHUP
	why    string         // as it is recorded
}

var endings = []ending{
	{"interrupt", syscall.SIGINT, recording.WhyUser}, {"terminate", syscall.SIGTERM, recording.WhyTerminated},
	{"hang-up", syscall.SIGHUP, recording.WhyHangUp}, {"closed-window", 0, recording.WhyHangUp},
}

// of is how many of so many rounds are worth their time: closing a window is SIGHUP once more.
func (by ending) of(rounds int) int {
	if by.signal == 0 {
		return (rounds + 3) / 4
	}
	return rounds
}

func (by ending) endRound(t *testing.T, command, out string) error {
	args := []string{command, "--out", out}
	if command == "drive" {
		addr, _, err := simcar.New(simcar.CarFunc(swinging), simcar.Instant()).ListenTCP(t.Context(), "127.0.0.1:0")
		if err != nil {
			return err
		}
		args = append(args, "--port", "tcp://"+addr.String())
	}
	s, err := openScreen()
	if err != nil {
		return err
	}
	defer s.close()
	if err := s.start(args); err != nil {
		return err
	}
	defer func() { _ = s.child.Process.Kill() }() // it has ended, or the round has failed
	if err := s.pastCaution(); err != nil {
		return err
	}
	if err := errors.Join(s.wait("rpm"), readings(out, 20)); err != nil { // a unit on the page of pictures, and the car is being read
		return err
	}
	if by.signal == 0 {
		s.close()
	} else if err := s.child.Process.Signal(by.signal); err != nil {
		return err
	}
	if err := s.ends(10 * time.Second); err != nil {
		return err
	}
	if by.signal != 0 {
		err = s.isGivenBack()
	}
	return errors.Join(err, endsBy(out, by.why))
}

// A drive that was started with SIGHUP ignored, as under nohup, goes on when its window is closed.
func TestDemo_IgnoresHangUp(t *testing.T) {
	t.Parallel()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	out := filepath.Join(t.TempDir(), "demo.jsonl")
	child := exec.CommandContext(t.Context(), "sh", "-c", `trap '' HUP; exec "$0"`, self)
	child.Env = append(os.Environ(), asJudder+"=demo\n--headless\n--for\n10s\n--out\n"+out)
	if err := child.Start(); err != nil {
		t.Fatal(err)
	}
	waitForReadings(t, out)
	if err := child.Process.Signal(syscall.SIGHUP); err != nil {
		t.Fatal(err)
	}
	if err := child.Wait(); err != nil {
		t.Error(err)
	}
	if err := endsBy(out, recording.WhyTime); err != nil {
		t.Error(err)
	}
}

// A command that holds no port ends at once too, here one that waits for its input, and leaves no file.
func TestImport_EndsOnSignal(t *testing.T) {
	t.Parallel()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range []syscall.Signal{syscall.SIGINT, syscall.SIGTERM} {
		out := filepath.Join(t.TempDir(), "a.jsonl")
		child := exec.CommandContext(t.Context(), self)
		child.Env = append(os.Environ(), asJudder+"=import\n-\n--out\n"+out)
		in, err := child.StdinPipe()
		if err != nil {
			t.Fatal(err)
		}
		var said bytes.Buffer
		child.Stderr = &said
		if err := child.Start(); err != nil {
			t.Fatal(err)
		}
		// More than a pipe holds (pipe(7): 64 KiB): once it is written the program reads, and has its signals.
		if _, err := io.WriteString(in, "time_s,RPM\n"+strings.Repeat("0,800\n", 50000)); err != nil {
			t.Fatal(err)
		}
		if err := child.Process.Signal(s); err != nil {
			t.Fatal(err)
		}
		ended := make(chan struct{})
		go func() {
			_ = child.Wait() // its exit code is looked at below
			close(ended)
		}()
		select {
		case <-ended:
		case <-time.After(time.Minute):
			t.Fatalf("still running a minute after %v", s)
		}
		if code := child.ProcessState.ExitCode(); code != exitFailed || !strings.Contains(said.String(), "ended before it was done") {
			t.Errorf("%v: exit code %d, %s", s, code, said.String())
		}
		if _, err := os.Stat(out); err == nil {
			t.Errorf("%v: a recording is left", s)
		}
		_ = in.Close()
	}
}

// screen is the program on a pseudo-terminal of its own.
type screen struct {
	child         *exec.Cmd
	window, inner *os.File // the two ends of the terminal
	before        *term.State

	mu    sync.Mutex
	seen  bytes.Buffer  // what the window was sent
	drawn chan struct{} // a token after each read
}

func openScreen() (*screen, error) {
	s := &screen{drawn: make(chan struct{}, 1)}
	var err error
	if s.window, s.inner, err = pty.Open(); err != nil {
		return nil, err
	}
	sized := pty.Setsize(s.window, &pty.Winsize{Rows: 24, Cols: 80})
	s.before, err = term.GetState(s.inner.Fd())
	return s, errors.Join(sized, err)
}

// close closes both ends of the terminal; more than once does no harm.
func (s *screen) close() { _ = errors.Join(s.inner.Close(), s.window.Close()) }

func (s *screen) start(args []string) error {
	self, err := os.Executable()
	if err != nil {
		return err
	}
	s.child = exec.Command(self)
	s.child.Env = append(os.Environ(), "TERM=xterm-256color", asJudder+"="+strings.Join(args, "\n"))
	s.child.Stdin, s.child.Stdout, s.child.Stderr = s.inner, s.inner, s.inner
	s.child.SysProcAttr = &syscall.SysProcAttr{Setsid: true, Setctty: true}
	go s.read()
	return s.child.Start()
}

func (s *screen) read() {
	buf := make([]byte, 4096)
	for {
		n, err := s.window.Read(buf)
		s.mu.Lock()
		s.seen.Write(buf[:n])
		s.mu.Unlock()
		select {
		case s.drawn <- struct{}{}:
		default:
		}
		if err != nil {
			return
		}
	}
}

func (s *screen) text() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.seen.String()
}

// pastCaution closes the caution, which any key does; this one does nothing else. The keys are read
// once the program has taken the whole window.
func (s *screen) pastCaution() error {
	if err := s.wait("\x1b[?1049h"); err != nil {
		return err
	}
	_, err := s.window.WriteString(".")
	return err
}

// wait waits until the window has been sent text.
func (s *screen) wait(text string) error {
	late := time.After(time.Minute)
	for !strings.Contains(s.text(), text) {
		select {
		case <-s.drawn:
		case <-late:
			return fmt.Errorf("no %q on the screen; it was sent %q", text, s.text())
		}
	}
	return nil
}

func (s *screen) ends(within time.Duration) error {
	ended := make(chan error, 1)
	go func() { ended <- s.child.Wait() }()
	select {
	case err := <-ended:
		var exit *exec.ExitError
		if errors.As(err, &exit) && exit.Exited() { // a closed window takes no words, so that the command fails
			return nil
		}
		return err
	case <-time.After(within):
		return fmt.Errorf("still running %v after it was ended", within)
	}
}

// isGivenBack wants the terminal's modes as they were, the usual screen and a cursor.
func (s *screen) isGivenBack() error {
	after, err := term.GetState(s.inner.Fd())
	if err != nil {
		return err
	}
	if *after != *s.before {
		return fmt.Errorf("the terminal's modes are %+v, before they were %+v", *after, *s.before)
	}
	return errors.Join(s.wait("\x1b[?1049l"), s.wait("\x1b[?25h"))
}

// endsBy wants a whole recording with an end record that says why.
func endsBy(path, why string) error {
	r, err := recording.Open(path)
	if err != nil {
		return err
	}
	defer func() { _ = r.Close() }() // read only
	for r.Next() {
	}
	if d := r.Damage(); !d.Ended || d.Why != why || d.Any() {
		return fmt.Errorf("the recording's end: %+v", d)
	}
	return nil
}
