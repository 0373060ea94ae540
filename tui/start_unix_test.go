//go:build unix

package tui

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/creack/pty"
)

// tinyProgram shows a screen of a session that never has anything to show, as any command
// of this program would.
const tinyProgram = `package main

import (
	"context"
	"fmt"
	"os"
	"os/signal"

	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/tui"
)

type nothing struct{ tui.Drive } // no key is pressed, so nothing else is called

func (nothing) Snapshot(*session.Snapshot) {}
func (nothing) End()                       { fmt.Println("session ended") }

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := tui.RunDrive(ctx, nothing{}, tui.Options{}); err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
}
`

// startTime is how soon the first frame must be there: a screen that asks the terminal for
// its colours first waits five seconds for one that does not answer.
const startTime = 3 * time.Second

// TestTerminalIsNotAsked builds a program around the screen and runs it on a terminal that
// answers nothing: no question is put to it, the first frame comes at once, and a signal ends
// it with the terminal given back.
func TestTerminalIsNotAsked(t *testing.T) {
	if testing.Short() {
		t.Skip("builds a program")
	}
	cmd := exec.Command(buildTiny(t))
	cmd.Env = append(os.Environ(), "TERM=xterm-256color", "NO_COLOR=", "CI=")
	began := time.Now()
	tty, err := pty.StartWithSize(cmd, &pty.Winsize{Rows: 24, Cols: 80})
	if err != nil {
		t.Skipf("no pseudo-terminal here: %v", err)
	}
	defer func() { _ = tty.Close() }()
	var seen bytes.Buffer
	if !readUntil(t, tty, &seen, "C O N N E C T I N G") {
		t.Fatalf("no frame; the terminal was sent %q", seen.String())
	}
	took := time.Since(began)
	if !strings.Contains(seen.String(), "\x1b[1m") {
		t.Error("no styles on a terminal that has them")
	}
	t.Logf("first frame after %v", took.Round(time.Millisecond))
	if took > startTime {
		t.Errorf("first frame after %v, wanted within %v", took, startTime)
	}
	if err := cmd.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	if !readUntil(t, tty, &seen, "session ended") {
		t.Errorf("not ended by a signal; the terminal was sent %q", seen.String())
	}
	_ = cmd.Wait()
	for _, question := range []string{"]11;?", "]10;?", "[6n", "[c"} {
		if strings.Contains(seen.String(), "\x1b"+question) {
			t.Errorf("the terminal was asked %q", question)
		}
	}
	for _, back := range []string{"\x1b[?1049l", "\x1b[?25h"} {
		if !strings.Contains(seen.String(), back) {
			t.Errorf("the terminal was not given back with %q", back)
		}
	}
}

func buildTiny(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("testdata", "start-") // inside the module, so that its imports resolve
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.RemoveAll(dir) })
	if err := os.WriteFile(filepath.Join(dir, "main.go"), []byte(tinyProgram), 0o600); err != nil {
		t.Fatal(err)
	}
	program := filepath.Join(t.TempDir(), "tiny")
	if out, err := exec.Command("go", "build", "-o", program, "./"+dir).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	return program
}

// readUntil reads from the terminal until it has been sent text, ten seconds at most.
func readUntil(t *testing.T, tty *os.File, seen *bytes.Buffer, text string) bool {
	t.Helper()
	found := make(chan bool, 1)
	go func() {
		buf := make([]byte, 4096)
		for !strings.Contains(seen.String(), text) {
			n, err := tty.Read(buf)
			seen.Write(buf[:n])
			if err != nil {
				break
			}
		}
		found <- strings.Contains(seen.String(), text)
	}()
	select {
	case ok := <-found:
		return ok
	case <-time.After(10 * time.Second):
		_ = tty.Close()
		<-found
		return false
	}
}
