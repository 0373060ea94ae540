package simcar

import (
	"context"
	"io"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"
)

// took is how long a command takes, in fake time.
func took(h *host, command string) time.Duration {
	h.t.Helper()
	start := time.Now()
	h.ask(command)
	return time.Since(start)
}

// Waits of the ELM327 data sheet (p.27): ST 32h is 200 ms after the last reply with
// adaptive timing off; with the response-count digit there is no wait.
func TestTiming_WaitAfterReply(t *testing.T) {
	const frames = 500 * time.Microsecond // request and reply, 250 µs each
	bubble(t, fixed(known()), func(t *testing.T, h *host) {
		quiet.run(t, h)
		script{{"ATAT0", "OK"}}.run(t, h)
		for _, step := range []struct {
			command string
			want    time.Duration
		}{
			{"010C", 210*time.Millisecond + frames},
			{"010C1", 10*time.Millisecond + frames},
			{"010C2", 210*time.Millisecond + frames}, // the second reply never comes
			{"0108", 200*time.Millisecond + frames/2},
			{"ATST19", 0},
			{"010C", 110*time.Millisecond + frames},
			{"ATST00", 0},
			{"0108", 200*time.Millisecond + frames/2},
		} {
			if got := took(h, step.command); got != step.want {
				t.Errorf("%s took %v, want %v", step.command, got, step.want)
			}
		}
	})
}

func TestTiming_AdaptiveIsShorter(t *testing.T) {
	bubble(t, fixed(known()), func(t *testing.T, h *host) {
		quiet.run(t, h)
		h.ask("010C")
		normal := took(h, "010C")
		h.ask("ATAT2")
		aggressive := took(h, "010C")
		if normal >= 100*time.Millisecond || aggressive >= normal || aggressive <= 10*time.Millisecond {
			t.Errorf("adaptive timing took %v, aggressive %v", normal, aggressive)
		}
	})
	clone, _ := ProfileNamed("v1.5")
	bubble(t, fixed(known(), WithProfile(clone)), func(t *testing.T, h *host) {
		quiet.run(t, h)
		h.ask("010C")
		if got := took(h, "010C"); got < 200*time.Millisecond {
			t.Errorf("an adapter without adaptive timing took %v", got)
		}
	})
}

// A K-line exchange cannot be faster than ISO 9141-2 allows: about 8 a second.
func TestTiming_KLine(t *testing.T) {
	bubble(t, fixed(known(), OnBus(ISO9141)), func(t *testing.T, h *host) {
		script{{"ATE0", "ATE0 / OK"}, {"ATSP3", "OK"}}.run(t, h)
		if got := took(h, "010C1"); got < 2*time.Second || got > 3*time.Second {
			t.Errorf("slow initialisation took %v, want 2–3 s", got)
		}
		start := time.Now()
		for range 20 {
			h.ask("010C1")
		}
		if each := time.Since(start) / 20; each < 110*time.Millisecond || each > 125*time.Millisecond {
			t.Errorf("an exchange takes %v, want about 118.5 ms", each)
		}
	})
}

// 8N1 is ten bits a character: at 38400 the six characters out and eleven back of the
// lean exchange take 4.43 ms.
func TestTiming_Paced(t *testing.T) {
	bubble(t, func() *Sim {
		e := EngineECU()
		e.Delay, e.Jitter = 0, 0
		return New(Steady(known()), WithECUs(e), PacedAt(38400))
	}, func(t *testing.T, h *host) {
		quiet.run(t, h)
		script{{"ATS0", "OK"}, {"010C1", "410C1AF8"}}.run(t, h)
		got := took(h, "010C1") - 500*time.Microsecond // bus
		if want := 4427 * time.Microsecond; got < want-10*time.Microsecond || got > want+10*time.Microsecond {
			t.Errorf("took %v, want %v", got, want)
		}
	})
}

func TestStopped(t *testing.T) {
	bubble(t, fixed(known()), func(t *testing.T, h *host) {
		quiet.run(t, h)
		h.write("010C\r")
		time.Sleep(5 * time.Millisecond) // fake time
		h.write(" ")
		if got := joined(h.read()); got != "STOPPED" {
			t.Errorf("got %q", got)
		}
		script{{"010C", "41 0C 1A F8"}}.run(t, h)
		h.write("010C\r0") // the byte is there before the request is
		if got := joined(h.read()); got != "STOPPED" {
			t.Errorf("got %q", got)
		}
	})
}

func TestHalfCommandIsDropped(t *testing.T) {
	bubble(t, fixed(known()), func(t *testing.T, h *host) {
		quiet.run(t, h)
		h.write("01")
		if got := joined(h.read()); got != "?" {
			t.Errorf("got %q", got)
		}
		script{{"0C", "NO DATA"}, {"010C", "41 0C 1A F8"}}.run(t, h)
	})
}

// The time given for a reading is that at which its line was complete.
func TestGiven(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		rising := CarFunc(func(at time.Duration) Condition {
			c := known()
			c.RPM = at.Seconds() * 1000
			return c
		})
		e := EngineECU()
		e.Delay, e.Jitter = 10*time.Millisecond, 0
		sim := New(rising, WithECUs(e))
		h := dial(t, sim)
		quiet.run(t, h)
		time.Sleep(time.Second)
		asked := sim.Now()
		h.ask("010C1")
		h.ask("010C0D0B1")
		given := sim.Given()
		if len(given) != 4 {
			t.Fatalf("got %d readings, want 4: %v", len(given), given)
		}
		first := given[0]
		if first.At != asked+10500*time.Microsecond || first.ECU != "7E8" || first.PID != 0x0C {
			t.Errorf("got %+v, want PID 0C of 7E8 at %v", first, asked+10500*time.Microsecond)
		}
		if want := 1010.25; first.Value != want { // measured at 1.01025 s
			t.Errorf("got %v rpm, want %v", first.Value, want)
		}
		_ = h.conn.Close()
		synctest.Wait()
	})
}

func TestRefreshHoldsValues(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		rising := CarFunc(func(at time.Duration) Condition {
			c := known()
			c.RPM = at.Seconds() * 1000
			return c
		})
		e := EngineECU()
		e.Delay, e.Jitter, e.Refresh = 10*time.Millisecond, 0, 100*time.Millisecond
		sim := New(rising, WithECUs(e), StartAt(5*time.Second))
		h := dial(t, sim)
		quiet.run(t, h)
		for range 40 {
			h.ask("010C1")
		}
		distinct := map[float64]bool{}
		for _, r := range sim.Given() {
			distinct[r.Value] = true
		}
		if n := len(distinct); n < 4 || n > 6 { // 40 exchanges take 420 ms
			t.Errorf("got %d distinct values in %v, want about 5", n, sim.Now()-5*time.Second)
		}
		_ = h.conn.Close()
		synctest.Wait()
	})
}

func TestServe_EndsWithContext(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		sim := fixed(known())()
		ctx, cancel := context.WithCancel(t.Context())
		conn := sim.Pipe(ctx)
		cancel()
		if _, err := io.ReadAll(conn); err != nil {
			t.Errorf("after cancel: %v", err)
		}
		synctest.Wait()
	})
}

// ELM327 data sheet p.51: OK at the old speed without a prompt, then the version at the
// new one, then a CR within 75 ms.
func TestBaudChange(t *testing.T) {
	for _, agree := range []bool{true, false} {
		var baud atomic.Int64
		baud.Store(38400)
		bubble(t, func() *Sim { return fixed(known(), HostBaud(func() int { return int(baud.Load()) }))() }, func(t *testing.T, h *host) {
			quiet.run(t, h)
			h.write("ATBRD23\r")
			if ok, err := h.r.ReadString('\r'); err != nil || ok != "OK\r" {
				t.Fatalf("got %q %v", ok, err)
			}
			baud.Store(115200)
			if version, err := h.r.ReadString('\r'); err != nil || version != "ELM327 v2.2\r" {
				t.Fatalf("got %q %v", version, err)
			}
			if agree {
				h.write("\r")
				if got := h.read(); got != "OK\r\r>" {
					t.Errorf("got %q", got)
				}
				script{{"010C", "41 0C 1A F8"}}.run(t, h)
				return
			}
			time.Sleep(200 * time.Millisecond) // no CR: back to the old speed, its prompt is junk here
			junk := make([]byte, 2)
			if _, err := io.ReadFull(h.r, junk); err != nil || junk[0] < 0x80 || junk[1] < 0x80 {
				t.Errorf("got % X %v, want junk", junk, err)
			}
			baud.Store(38400)
			script{{"010C", "41 0C 1A F8"}}.run(t, h)
		})
	}
}
