package simcar

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"io"
	"net"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/simcar/drivetrain"
)

func newReader(c net.Conn) *bufio.Reader { return bufio.NewReader(c) }

func TestListenTCP(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	sim := fixed(known())()
	addr, ended, err := sim.ListenTCP(ctx, "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	for range 2 { // one connection after the other, settings are kept
		conn, err := net.Dial("tcp", addr.String())
		if err != nil {
			t.Fatal(err)
		}
		h := &host{t, conn, bufio.NewReader(conn)}
		if got := h.lines("ATSP6"); got != "ATSP6 / OK" && got != "OK" {
			t.Errorf("got %q", got)
		}
		h.ask("ATE0")
		script{{"010C1", "41 0C 1A F8"}}.run(t, h)
		if err := conn.Close(); err != nil {
			t.Error(err)
		}
	}
	cancel()
	if err := <-ended; err != nil {
		t.Error(err)
	}
}

func TestListenTCP_StaysAway(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	sim := New(Steady(known()), Instant(), WithFaults(Fault{Kind: LineDrop, At: 0, For: time.Hour}))
	addr, _, err := sim.ListenTCP(ctx, "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	for range 2 { // the first is dropped, the second not let in
		conn, err := net.Dial("tcp", addr.String())
		if err != nil {
			t.Fatal(err)
		}
		if n, err := conn.Read(make([]byte, 1)); err == nil {
			t.Errorf("read %d bytes of an adapter that is away", n)
		}
		_ = conn.Close()
	}
}

func TestOpenPTY(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	sim := fixed(known())()
	path, ended, err := sim.OpenPTY(ctx)
	if err != nil {
		t.Skipf("no pseudo-terminal: %v", err)
	}
	for i := range 2 { // a host may come again
		f, err := os.OpenFile(path, os.O_RDWR, 0)
		if err != nil {
			t.Fatal(err)
		}
		r := bufio.NewReader(f)
		if _, err := f.WriteString("ATSP6\r"); err != nil {
			t.Fatal(err)
		}
		want := "ATSP6\rOK\r\r>"
		if i == 1 {
			want = "OK\r\r>"
		}
		if got, err := r.ReadString('>'); err != nil || got != want {
			t.Errorf("got %q %v, want %q", got, err, want)
		}
		if _, err := f.WriteString("ATE0\r"); err != nil {
			t.Fatal(err)
		}
		if _, err := r.ReadString('>'); err != nil {
			t.Fatal(err)
		}
		if err := f.Close(); err != nil {
			t.Error(err)
		}
	}
	cancel()
	select {
	case err := <-ended:
		if err != nil && !errors.Is(err, context.Canceled) {
			t.Error(err)
		}
	case <-time.After(5 * time.Second):
		t.Error("serving the pseudo-terminal did not end with its context")
	}
}

func TestFromDrive(t *testing.T) {
	drive := drivetrain.New(drivetrain.Spec{Seed: 3})
	car := FromDrive(drive)
	moved := false
	for at := time.Duration(0); at < 3*time.Minute; at += time.Second {
		c, s := car.At(at), drive.At(at)
		if c.SpeedKMH != s.SpeedKMH || c.MAPkPa != s.MAPkPa || !c.Ignition {
			t.Fatalf("at %v: got %+v of %+v", at, c, s)
		}
		if d := c.RPM - s.RPM; d > 150 || d < -150 {
			t.Errorf("at %v: %v rpm measured, %v true", at, c.RPM, s.RPM)
		}
		moved = moved || c.SpeedKMH > 20
	}
	if !moved {
		t.Error("the car never drove")
	}
}

// BenchmarkExchange is the whole way: bytes in, ECU, frames, bytes out, on a pipe.
func BenchmarkExchange(b *testing.B) {
	for name, command := range map[string]string{"single": "010C1", "bundle": "010C0D1104050B1"} {
		b.Run(name, func(b *testing.B) {
			h := dial(b, New(Steady(known()), Instant(), Keep(1000)))
			h.ask("ATE0")
			h.ask("ATS0")
			h.ask("ATSP6")
			h.ask("ATH1")
			request := []byte(command + "\r")
			b.ReportAllocs()
			b.ResetTimer()
			for b.Loop() {
				if _, err := h.conn.Write(request); err != nil {
					b.Fatal(err)
				}
				if _, err := h.r.ReadSlice('>'); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "exchanges/s")
		})
	}
}

// Whatever a host sends, the adapter lives and comes back to its prompt.
func FuzzServe(f *testing.F) {
	for _, seed := range []string{"ATZ\r010C1\r", "0902\r\r", "AT SH 7E0\rAT CRA\r", "\x00\xff\x1b[2J\r", "ATCAF0\r0201\r00\r10080102\r",
		"ATSP5\r03\rATFCSD3000\rATFCSM2\r0902\r", "ATPP\rATPP00\rAT@3", "22F190F18A\r1902FF\r06A2\r09\r7F\r",
		"ATSP6\rATSH760\rATCRA768\rATFCSH760\rATFCSD300000\rATFCSM1\r1904C03511FF\r1906C03511FF\r1903\r1914\r", "ATSP6\r194233081E\r195533\r190A\r14FFFF33\r04\r"} {
		f.Add([]byte(seed), uint8(0))
		f.Add([]byte(seed), uint8(3))
	}
	f.Add([]byte("ATE0\rdd"), uint8('8')) // the request dd is under way when the next byte comes and stops it
	f.Fuzz(func(t *testing.T, data []byte, profile uint8) {
		for _, slow := range []string{"ATMA", "ATMR", "ATMT", "ATBRD", "ATLP"} { // these wait or sleep by design
			if containsCommand(data, slow) {
				t.Skip()
			}
		}
		ctx, cancel := context.WithCancel(t.Context())
		defer cancel()
		engine := EngineECU()
		engine.Stored, engine.Freeze = Codes("P0304", "P0741"), &Freeze{Codes("P0741")[0], known()}
		sim := New(Steady(known()), Instant(), WithECUs(engine, BrakesModule()), WithProfile(Profiles[int(profile)%len(Profiles)]),
			WithFaults(Fault{Kind: LostFrame, Chance: 0.1}, Fault{Kind: WrongLength, Chance: 0.1}, Fault{Kind: CutReply, Chance: 0.1}))
		conn := sim.Pipe(ctx)
		if err := conn.SetDeadline(time.Now().Add(5 * time.Second)); err != nil {
			t.Fatal(err)
		}
		seen := make(chan bool)
		go func() { // reads on to the end, so that the adapter is never held up
			found := false
			r := bufio.NewReader(conn)
			for !found {
				b, err := r.ReadByte()
				if err != nil {
					break
				}
				found = b == 'Q' // no reply holds it, and the data no longer do
			}
			seen <- found
			_, _ = io.Copy(io.Discard, r)
		}()
		data = bytes.Map(func(r rune) rune {
			if r == 'Q' || r == 'q' {
				return '0'
			}
			return r
		}, data)
		// A request under way eats the next byte (STOPPED), hence more than one ATE1.
		if _, err := conn.Write(append(data, "\rATE1\rATE1\rATE1\rQ\r"...)); err != nil {
			t.Fatalf("the adapter does not take what is sent: %v", err)
		}
		if !<-seen {
			t.Fatalf("no answer after %q", data)
		}
	})
}

// containsCommand finds a command as the adapter would, spaces and case aside.
func containsCommand(data []byte, name string) bool {
	var typed []byte
	for _, b := range data {
		if b > ' ' {
			typed = append(typed, b)
		}
	}
	return len(typed) >= len(name) && strings.Contains(upper(typed), name)
}
