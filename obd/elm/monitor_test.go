package elm

import (
	"errors"
	"io"
	"net"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/obd"
)

// listening is an adapter that answers OK to its own commands, with a reply to requests, and to AT MA
// with frames: what comes of itself, and what after a character.
type listening struct {
	*Terminal
	frames []bite // of themselves
	stop   string // after a character; "" where it does not stop

	mu    sync.Mutex
	wrote strings.Builder // every byte that came
	over  bool            // the session
}

func onListening(t *testing.T, l *listening, test func(t *testing.T, l *listening)) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		near, far := net.Pipe()
		started := time.Now()
		l.Terminal = New(near, Clock{
			Now:  func() time.Duration { return time.Since(started) },
			Over: func() bool { l.mu.Lock(); defer l.mu.Unlock(); return l.over },
		})
		var adapter sync.WaitGroup
		adapter.Go(func() { l.serve(far) })
		test(t, l)
		_ = near.Close()
		_ = far.Close()
		adapter.Wait()
	})
}

func (l *listening) serve(far io.ReadWriter) {
	var frames sync.WaitGroup
	defer frames.Wait()
	command, monitors := "", false
	for b := make([]byte, 1); ; {
		if _, err := far.Read(b); err != nil {
			return
		}
		l.mu.Lock()
		l.wrote.Write(b)
		l.mu.Unlock()
		answer := ""
		switch {
		case monitors && l.stop == "":
		case monitors:
			monitors, answer = false, l.stop
		case b[0] != '\r':
			command += string(b)
		case strings.TrimSpace(command) == MonitorRequest:
			monitors, command = true, ""
			frames.Go(func() {
				for _, f := range l.frames {
					time.Sleep(f.after) // simulated
					if _, err := io.WriteString(far, f.text); err != nil {
						return
					}
				}
			})
		case strings.HasPrefix(strings.TrimSpace(command), "AT"):
			command, answer = "", "OK\r\r>"
		default:
			command, answer = "", rpmLine+"\r\r>"
		}
		if answer == "" {
			continue
		}
		if _, err := io.WriteString(far, answer); err != nil {
			return
		}
	}
}

// fix has the protocol fixed and proved.
func (l *listening) fix(t *testing.T) {
	t.Helper()
	for _, command := range []string{"ATTP6", "010C"} {
		if _, err := l.Exchange(command, WaitReply); err != nil {
			t.Fatal(err)
		}
	}
	l.mu.Lock()
	l.wrote.Reset()
	l.mu.Unlock()
}

// Listening sends AT MA and one space, and nothing else; what came is a line a frame.
func TestMonitor(t *testing.T) {
	l := &listening{frames: []bite{{40 * time.Millisecond, "1C40011\r"}, {40 * time.Millisecond, "1C40"}}, stop: "012\rSTOPPED\r\r>"}
	onListening(t, l, func(t *testing.T, l *listening) {
		l.fix(t)
		m, err := l.Monitor(250 * time.Millisecond)
		if got := strings.Join(texts(m.Exchange), "/"); err != nil || got != "1C40011/1C40012/STOPPED" || m.Ending != obd.EndPrompt {
			t.Errorf("%s, %v, %v", got, m.Ending, err)
		}
		if d := m.Listened(); d != 250*time.Millisecond || l.guard.busy {
			t.Errorf("listened for %v, busy %v", d, l.guard.busy)
		}
		if got := l.wrote.String(); got != "ATMA\r " {
			t.Errorf("%q was written", got)
		}
	})
}

// An adapter that ends by itself is not sent the character that would stop it.
func TestMonitor_EndsByItself(t *testing.T) {
	for _, text := range []string{"1C40BUFFER FULL\r\r>", "OK\r\r>", "?\r\r>"} {
		l := &listening{frames: []bite{{20 * time.Millisecond, text}}, stop: "never"}
		onListening(t, l, func(t *testing.T, l *listening) {
			l.fix(t)
			m, err := l.Monitor(250 * time.Millisecond)
			if err != nil || m.Stopped != 0 || m.Listened() != 20*time.Millisecond || l.wrote.String() != "ATMA\r" {
				t.Errorf("%q: %+v, %v, written %q", text, m, err, l.wrote.String())
			}
		})
	}
}

// A prompt alone ends it too. One that does not come leaves the adapter busy: it is freed first.
func TestMonitor_Stops(t *testing.T) {
	for stop, ending := range map[string]obd.Ending{"\r>": obd.EndPrompt, "": obd.EndSilence} {
		onListening(t, &listening{stop: stop}, func(t *testing.T, l *listening) {
			l.fix(t)
			m, err := l.Monitor(250 * time.Millisecond)
			if err != nil || m.Ending != ending || l.guard.busy != (ending == obd.EndSilence) {
				t.Errorf("stopped by %q: %v, %v, busy %v", stop, m.Ending, err, l.guard.busy)
			}
			var refused *RefusedError
			if _, err := l.Monitor(time.Second); l.guard.busy && !errors.As(err, &refused) {
				t.Errorf("a busy adapter is to listen: %v", err)
			}
		})
	}
}

// A session that ends stops the adapter first.
func TestMonitor_Over(t *testing.T) {
	onListening(t, &listening{stop: "STOPPED\r\r>"}, func(t *testing.T, l *listening) {
		l.fix(t)
		time.AfterFunc(100*time.Millisecond, func() { l.mu.Lock(); defer l.mu.Unlock(); l.over = true })
		if _, err := l.Monitor(time.Hour); !errors.Is(err, ErrOver) || l.wrote.String() != "ATMA\r " {
			t.Errorf("%v, written %q", err, l.wrote.String())
		}
	})
}

// Listening is refused where it might transmit: while the protocol is not fixed (AT TP 0 and AT TP A6
// may search, a reset brings that back), or not proved by a reply.
func TestMonitor_Refused(t *testing.T) {
	ok := func(request string) obd.Exchange { return ended(request, obd.EndPrompt, "OK") }
	reply := func(lines ...string) obd.Exchange { return ended("010C", obd.EndPrompt, lines...) }
	for _, c := range []struct {
		name string
		came []obd.Exchange
		may  bool
	}{
		{"nothing", nil, false},
		{"fixed and proved", []obd.Exchange{ok("ATTP6"), reply(rpmLine)}, true},
		{"settings between", []obd.Exchange{ok("ATTP7"), reply(rpmLine), ok("ATCM7FF"), ok("ATCF123"), ok("ATD0"), ended("ATDPN", obd.EndPrompt, "6")}, true},
		{"a request without data after it", []obd.Exchange{ok("ATTP6"), reply(rpmLine), reply("NO DATA")}, true},
		{"not proved", []obd.Exchange{ok("ATTP6")}, false},
		{"proved before", []obd.Exchange{reply(rpmLine), ok("ATTP6")}, false},
		{"no data", []obd.Exchange{ok("ATTP6"), reply("NO DATA")}, false},
		{"searching", []obd.Exchange{ok("ATTP6"), reply("CAN ERROR")}, false},
		{"refused", []obd.Exchange{ended("ATTP6", obd.EndPrompt, "?"), reply(rpmLine)}, false},
		{"without a prompt", []obd.Exchange{ended("ATTP6", obd.EndSilence, "OK"), reply(rpmLine)}, false},
		{"automatic", []obd.Exchange{ok("ATTP0"), reply(rpmLine)}, false},
		{"automatic again", []obd.Exchange{ok("ATTP6"), reply(rpmLine), ok("ATTPA6")}, false},
		{"reset", []obd.Exchange{ok("ATTP6"), reply(rpmLine), ended("ATZ", obd.EndPrompt, "ELM327 v1.5")}, false},
		{"defaults", []obd.Exchange{ok("ATTP6"), reply(rpmLine), ok("ATD")}, false},
		{"still automatic", []obd.Exchange{ok("ATTP6"), reply(rpmLine), ended("ATDPN", obd.EndPrompt, "A6")}, false},
		{"still automatic, in words", []obd.Exchange{ok("ATTP6"), ended("ATDP", obd.EndPrompt, "AUTO, ISO 15765-4 (CAN 11/500)"), reply(rpmLine)}, false},
		{"named", []obd.Exchange{ok("ATTP6"), ended("ATDP", obd.EndPrompt, "ISO 15765-4 (CAN 11/500)"), reply(rpmLine)}, true},
		{"restarted by itself", []obd.Exchange{ok("ATTP6"), reply(rpmLine), ended("ATCF100", obd.EndPrompt, "LV RESET")}, false},
		{"link lost", []obd.Exchange{ok("ATTP6"), reply(rpmLine), ended("010C", obd.EndLost)}, false},
	} {
		var f fixed
		for i := range c.came {
			f.note(&c.came[i], false)
		}
		var refused *RefusedError
		if err := f.mayMonitor(); c.may != (err == nil) || err != nil && !errors.As(err, &refused) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	for _, c := range []struct {
		fixing, later, may bool // it echoes
	}{{false, false, true}, {true, true, true}, {true, false, true}, {false, true, false}} {
		var f fixed
		fix, asked, filter := ok("ATTP6"), reply(rpmLine), ok("ATCF100")
		f.note(&fix, c.fixing)
		f.note(&asked, c.fixing)
		f.note(&filter, c.later)
		if (f.mayMonitor() == nil) != c.may {
			t.Errorf("%+v: %v", c, f.mayMonitor())
		}
	}
	onListening(t, &listening{}, func(t *testing.T, l *listening) {
		if _, err := l.Monitor(time.Second); err == nil || l.wrote.Len() > 0 {
			t.Errorf("%v, written %q", err, l.wrote.String())
		}
	})
}
