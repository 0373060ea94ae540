package simcar

import (
	"bufio"
	"context"
	"net"
	"strings"
	"testing"
	"testing/synctest"
	"time"
)

// host is the tester's end of a dialogue.
type host struct {
	t    testing.TB
	conn net.Conn
	r    *bufio.Reader
}

// dial serves sim on a pipe and ends it with the test.
func dial(t testing.TB, sim *Sim) *host {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	conn := sim.Pipe(ctx)
	t.Cleanup(func() {
		cancel()
		_ = conn.Close()
	})
	return &host{t, conn, bufio.NewReader(conn)}
}

// write sends text as it is.
func (h *host) write(text string) {
	h.t.Helper()
	if _, err := h.conn.Write([]byte(text)); err != nil {
		h.t.Fatalf("write %q: %v", text, err)
	}
}

// read takes everything up to and with the prompt.
func (h *host) read() string {
	h.t.Helper()
	text, err := h.r.ReadString('>')
	if err != nil {
		h.t.Fatalf("no prompt after %q: %v", text, err)
	}
	return text
}

// ask sends a command and returns the raw reply.
func (h *host) ask(command string) string {
	h.t.Helper()
	h.write(command + "\r")
	return h.read()
}

// lines is ask, cut into lines: " / " between them, prompt and empty lines left out.
func (h *host) lines(command string) string {
	h.t.Helper()
	return joined(h.ask(command))
}

func joined(raw string) string {
	var out []string
	for _, line := range strings.FieldsFunc(raw, func(r rune) bool { return r == '\r' || r == '\n' || r == '>' }) {
		if line = strings.TrimSpace(line); line != "" {
			out = append(out, line)
		}
	}
	return strings.Join(out, " / ")
}

// bubble runs f under fake time with the sim that make returns.
func bubble(t *testing.T, build func() *Sim, f func(t *testing.T, h *host)) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		sim := build()
		h := dial(t, sim)
		f(t, h)
		_ = h.conn.Close()
		synctest.Wait()
	})
}

// script is a dialogue: what is sent, and the lines that must come.
type script [][2]string

func (s script) run(t *testing.T, h *host) {
	t.Helper()
	for _, step := range s {
		if got := h.lines(step[0]); got != step[1] {
			t.Errorf("%q\n got %s\nwant %s", step[0], got, step[1])
		}
	}
}

// known is a car with values whose coding can be worked out by hand.
func known() Condition {
	c := WarmIdle()
	c.RPM, c.SpeedKMH, c.CoolantC = 1726, 100, 83
	c.LoadPct, c.MAPkPa, c.IntakeC = 24.71, 33, 28
	c.RunTime = 600 * time.Second
	return c
}

// fixed is a Sim whose ECUs answer after exactly 10 ms.
func fixed(c Condition, opts ...Option) func() *Sim {
	return func() *Sim {
		e := EngineECU()
		e.Delay, e.Jitter = 10*time.Millisecond, 0
		return New(Steady(c), append([]Option{WithECUs(e)}, opts...)...)
	}
}
