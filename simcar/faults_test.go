package simcar

import (
	"context"
	"errors"
	"net"
	"strings"
	"testing"
	"testing/synctest"
	"time"
)

// Each fault strikes one exchange, leaves its mark there, and the next is sound again.
func TestFaults_EachAndRecovery(t *testing.T) {
	const sound = "41 0C 1A F8"
	for _, row := range []struct {
		name  string
		fault Fault
		want  func(reply string) bool
	}{
		{"lost", Fault{Kind: LostReply}, is("NO DATA")},
		{"data error", Fault{Kind: DataError}, is(sound + " <DATA ERROR")},
		{"zero bytes", Fault{Kind: NulBytes}, func(s string) bool {
			return strings.Contains(s, "\x00") && strings.HasPrefix(strings.ReplaceAll(s, "\x00", ""), sound)
		}},
		{"damaged", Fault{Kind: DamagedReply}, func(s string) bool { return s != "" && s != sound }},
		{"stopped", Fault{Kind: StoppedByItself}, is("STOPPED")},
		{"buffer full", Fault{Kind: BufferFull}, is("41 0C 1A / BUFFER FULL")},
		{"CAN error", Fault{Kind: CANError}, is("CAN ERROR")},
		{"bus busy", Fault{Kind: BusBusy}, is("BUS BUSY")},
		{"bus init", Fault{Kind: BusInitError}, is("BUS INIT: ...ERROR")},
		{"endless", Fault{Kind: EndlessLine, Count: 5000}, func(s string) bool { return len(s) >= 4990 && !strings.Contains(s, "/") }},
	} {
		t.Run(row.name, func(t *testing.T) {
			row.fault.At = time.Second
			bubble(t, fixed(known(), WithFaults(row.fault)), func(t *testing.T, h *host) {
				quiet.run(t, h)
				script{{"010C", sound}}.run(t, h)
				time.Sleep(2 * time.Second)
				if got := h.lines("010C"); !row.want(got) {
					t.Errorf("got %q", got)
				}
				script{{"010C", sound}}.run(t, h)
			})
		})
	}
}

func is(want string) func(string) bool { return func(s string) bool { return s == want } }

func TestFaults_NoiseWhileIdle(t *testing.T) {
	bubble(t, fixed(known(), WithFaults(Fault{Kind: Noise, At: time.Second})), func(t *testing.T, h *host) {
		quiet.run(t, h)
		time.Sleep(2 * time.Second)
		if got := h.ask("010C"); got != string(noise)+"41 0C 1A F8 \r\r>" {
			t.Errorf("got %q", got)
		}
	})
}

// A late reply comes after the prompt, while nothing is asked or in the midst of another
// request. It does not count as given.
func TestFaults_LateReply(t *testing.T) {
	for _, row := range []struct{ late, pause time.Duration }{
		{300 * time.Millisecond, time.Second},
		{205 * time.Millisecond, 200 * time.Millisecond},
	} {
		synctest.Test(t, func(t *testing.T) {
			sim := fixed(known(), WithFaults(Fault{Kind: LateReply, For: row.late}))()
			h := dial(t, sim)
			quiet.run(t, h)
			script{{"010C1", "NO DATA"}}.run(t, h)
			time.Sleep(row.pause)
			script{{"010D1", "41 0C 1A F8 / 41 0D 64"}}.run(t, h)
			if given := sim.Given(); len(given) != 1 || given[0].PID != 0x0D {
				t.Errorf("got %v, want the speed alone", given)
			}
			_ = h.conn.Close()
			synctest.Wait()
		})
	}
}

// A brown-out and a reset lose all settings: echo is back, the text is that of the
// ELM327 data sheet.
func TestFaults_Resets(t *testing.T) {
	for kind, want := range map[FaultKind]string{
		AdapterReset: "ELM327 v2.2",
		LowVoltage:   "LV RESET",
		ERR94:        "ERR94",
	} {
		bubble(t, fixed(known(), WithFaults(Fault{Kind: kind, Chance: 1, Until: time.Second})), func(t *testing.T, h *host) {
			quiet.run(t, h)
			if got := h.lines("010C"); !strings.HasSuffix(got, want) {
				t.Errorf("kind %d: got %q, want %q at its end", kind, got, want)
			}
			time.Sleep(time.Second)
			if kind == ERR94 {
				script{{"ATSP0", "ATSP0 / OK"}, {"0100", "0100 / SEARCHING... / UNABLE TO CONNECT"}, {"ATFE", "ATFE / OK"}}.run(t, h)
			}
			if got := h.lines("ATI"); got != "ATI / ELM327 v2.2" {
				t.Errorf("kind %d: echo is still off: %q", kind, got)
			}
		})
	}
}

// A reset also comes while nothing is asked.
func TestFaults_ResetWhileIdle(t *testing.T) {
	bubble(t, fixed(known(), WithFaults(Fault{Kind: LowVoltage, At: time.Minute})), func(t *testing.T, h *host) {
		quiet.run(t, h)
		if got := h.read(); got != "\rLV RESET\r\r>" {
			t.Errorf("got %q", got)
		}
	})
}

// A reset in mid-stream breaks the line off.
func TestFaults_ResetInMidLine(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		sim := fixed(known())()
		h := dial(t, sim)
		quiet.run(t, h)
		sim.Inject(Fault{Kind: AdapterReset, Chance: 1, Until: sim.Now() + time.Millisecond})
		if got, want := h.lines("010C"), "41 0C / ELM327 v2.2"; got != want {
			t.Errorf("got %q, want %q", got, want)
		}
		if s := sim.Strikes(); len(s) != 1 || s[0].Kind != AdapterReset {
			t.Errorf("strikes: %v", s)
		}
		if g := sim.Given(); len(g) != 0 {
			t.Errorf("a broken line counts as given: %v", g)
		}
		_ = h.conn.Close()
		synctest.Wait()
	})
}

func TestFaults_Silence(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		sim := fixed(known())()
		h := dial(t, sim)
		quiet.run(t, h)
		sim.Inject(Fault{Kind: Silence, For: 5 * time.Second})
		synctest.Wait()
		h.write("010C\r")
		if err := h.conn.SetReadDeadline(time.Now().Add(4 * time.Second)); err != nil {
			t.Fatal(err)
		}
		if b, err := h.r.ReadByte(); err == nil {
			t.Errorf("got byte %q during silence", b)
		}
		if err := h.conn.SetReadDeadline(time.Time{}); err != nil {
			t.Fatal(err)
		}
		time.Sleep(2 * time.Second)
		script{{"010C", "41 0C 1A F8"}}.run(t, h)
		_ = h.conn.Close()
		synctest.Wait()
	})
}

func TestFaults_LineDrop(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		sim := fixed(known(), WithFaults(Fault{Kind: LineDrop, At: time.Second}))()
		near, far := net.Pipe()
		ended := make(chan error, 1)
		go func() { ended <- sim.Serve(t.Context(), far) }()
		if _, err := near.Read(make([]byte, 1)); err == nil {
			t.Error("the connection did not close")
		}
		if err := <-ended; !errors.Is(err, ErrDropped) {
			t.Errorf("got %v, want ErrDropped", err)
		}
		h := dial(t, sim) // it can be served again, and has kept its settings
		script{{"ATSP6", "ATSP6 / OK"}, {"010C", "010C / 41 0C 1A F8"}}.run(t, h)
		_ = h.conn.Close()
		synctest.Wait()
	})
}

func TestFaults_IgnitionAndStale(t *testing.T) {
	rising := CarFunc(func(at time.Duration) Condition {
		c := known()
		c.SpeedKMH = at.Seconds()
		return c
	})
	bubble(t, func() *Sim {
		return New(rising, WithFaults(Fault{Kind: IgnitionOff, At: 10 * time.Second, For: 10 * time.Second},
			Fault{Kind: StaleValues, At: 40 * time.Second, For: 10 * time.Second}))
	}, func(t *testing.T, h *host) {
		quiet.run(t, h)
		at := func(second int, want string) {
			t.Helper()
			if got := h.lines("010D1"); got != want {
				t.Errorf("at %d s: got %q, want %q", second, got, want)
			}
		}
		time.Sleep(5 * time.Second)
		at(5, "41 0D 05")
		time.Sleep(10 * time.Second)
		at(15, "NO DATA")
		time.Sleep(10 * time.Second)
		at(25, "41 0D 19")
		time.Sleep(20 * time.Second)
		at(45, "41 0D 28") // held at 40
		time.Sleep(10 * time.Second)
		at(55, "41 0D 37")
	})
}

// The same seed gives the same accidents.
func TestFaults_Seeded(t *testing.T) {
	play := func(seed uint64) (got []Strike) {
		synctest.Test(t, func(t *testing.T) {
			sim := New(Steady(known()), Seed(seed), WithFaults(
				Fault{Kind: LostReply, Chance: 0.2}, Fault{Kind: DamagedReply, Chance: 0.2}))
			ctx, cancel := context.WithCancel(t.Context())
			h := &host{t: t, conn: sim.Pipe(ctx)}
			h.r = newReader(h.conn)
			quiet.run(t, h)
			for range 100 {
				h.ask("010C1")
			}
			got = sim.Strikes()
			cancel()
			synctest.Wait()
		})
		return got
	}
	a, b, c := play(7), play(7), play(8)
	if len(a) < 20 || len(a) > 55 { // 36 expected
		t.Errorf("%d of 100 exchanges struck, want about 36", len(a))
	}
	if !equal(a, b) || equal(a, c) {
		t.Error("strikes do not follow the seed")
	}
}

func equal(a, b []Strike) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}
