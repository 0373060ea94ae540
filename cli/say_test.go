package cli

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net"
	"os"
	"strings"
	"testing"
	"testing/synctest"

	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/tui"
)

// asSpeaker makes the test binary a command that says a word: to the address that it holds, until the
// far end hangs up.
const asSpeaker = "JUDDER_TEST_SPEAKER"

// speak is that command.
func speak(address string, words []string) int {
	conn, err := net.Dial("tcp", address)
	if err != nil {
		fmt.Fprintln(os.Stderr, "no voice\nsecond line")
		return 3
	}
	if _, err := fmt.Fprintf(conn, "%q\n", words); err != nil {
		return 4
	}
	_, _ = io.Copy(io.Discard, conn) // until it is hung up
	return 0
}

// A word is said by a command without a shell, one at a time; of those that come meanwhile only the
// last is said.
func TestSpeaker(t *testing.T) {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = listener.Close() }()
	t.Setenv(asSpeaker, listener.Addr().String())
	f := sayFlag{Say: os.Args[0] + "  -s $(id) "}
	if err := f.check(); err != nil {
		t.Fatal(err)
	}
	s := f.speaker(t.Context())
	heard := func() (net.Conn, string) {
		t.Helper()
		conn, err := listener.Accept()
		if err != nil {
			t.Fatal(err)
		}
		line, err := bufio.NewReader(conn).ReadString('\n')
		if err != nil {
			t.Fatal(err)
		}
		return conn, strings.TrimSpace(line)
	}
	s.Say("QUIET")
	first, line := heard()
	if want := `["-s" "$(id)" "QUIET"]`; line != want {
		t.Errorf("the command got %s, want %s", line, want)
	}
	s.Say("WAIT")
	s.Say("SHUDDER")
	_ = first.Close()
	second, line := heard()
	if want := `["-s" "$(id)" "SHUDDER"]`; line != want {
		t.Errorf("then it got %s, want %s: a word that no longer holds is not said", line, want)
	}
	_ = second.Close()
	if trouble := s.Trouble(); trouble != "" {
		t.Errorf("trouble %q", trouble)
	}
}

// A command that fails is reported once.
func TestSpeaker_Fails(t *testing.T) {
	t.Setenv(asSpeaker, "127.0.0.1:1")
	s := &speaker{ctx: t.Context(), command: []string{os.Args[0]}}
	for range 2 {
		s.run("QUIET") // as Say does, and waited for
	}
	if got := s.Trouble(); !strings.HasSuffix(got, "exit status 3 no voice") {
		t.Errorf("trouble %q", got)
	}
	if got := s.Trouble(); got != "" {
		t.Errorf("reported again: %q", got)
	}
}

func TestSayFlag(t *testing.T) {
	for _, f := range []sayFlag{{Say: "  "}, {Say: "no-such-program-here"}} {
		if err := f.check(); err == nil || !strings.Contains(err.Error(), "espeak") {
			t.Errorf("%q: %v", f.Say, err)
		}
	}
	if f := (sayFlag{}); f.check() != nil || f.speaker(context.Background()) != nil {
		t.Error("no command speaks")
	}
}

// listenerOf notes what it is to say.
type listenerOf struct{ words []string }

func (l *listenerOf) Say(word string) { l.words = append(l.words, word) }
func (l *listenerOf) Trouble() string { return "" }

// Without a screen the same words are said: steady ones, each once.
func TestWordsWithoutAScreen(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var heard listenerOf
		words := tui.NewWords(&heard)
		var s session.Snapshot
		for i := range 40 {
			s.Now += 250e6
			s.Phase = session.Running
			s.Detector.Alarmed = i >= 20 && i < 24
			words.Follow(&s)
		}
		if got, want := fmt.Sprint(heard.words), "[QUIET SHUDDER QUIET]"; got != want {
			t.Errorf("said %s, want %s", got, want)
		}
	})
}
