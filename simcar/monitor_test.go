package simcar

import (
	"strings"
	"testing"
	"testing/synctest"
	"time"
)

// three frames a second and a half, one of them of diagnostics.
var threeFrames = Recorded([]BusFrame{
	{At: 0, ID: 0x123, Data: []byte{0x03, 1, 2, 3}},
	{At: 10 * time.Millisecond, ID: 0x2A0, Data: []byte{0x7F, 0x11}},
	{At: 20 * time.Millisecond, ID: 0x7E8, Data: []byte{0x10, 0x14, 0x49, 0x02, 1, 2, 3, 4}},
}, 500*time.Millisecond)

// fullBus is 2000 frames a second of eight bytes.
func fullBus() Traffic {
	var frames []BusFrame
	for i := range 200 {
		frames = append(frames, BusFrame{At: time.Duration(i) * 500 * time.Microsecond, ID: uint32(0x100 + i), Data: []byte{0xFF, 1, 2, 3, 4, 5, 6, 7}})
	}
	return Recorded(frames, 100*time.Millisecond)
}

// listened is what AT MA shows for a time, stopped with a character.
func (h *host) listened(d time.Duration, stop string) string {
	h.t.Helper()
	h.write("ATMA\r")
	synctest.Wait()
	read := make(chan string)
	go func() { read <- h.read() }() // a pipe holds nothing: somebody must read
	time.Sleep(d)
	h.write(stop)
	return joined(<-read)
}

// What AT MA shows, and how it ends: ELM327 data sheet, "Monitoring the bus" and the error texts.
func TestMonitor(t *testing.T) {
	var s *Sim
	sim := func() *Sim {
		s = New(Steady(known()), WithTraffic(threeFrames))
		return s
	}
	bubble(t, sim, func(t *testing.T, h *host) {
		quiet.run(t, h)
		script{{"ATTP6", "OK"}, {"ATH1", "OK"}}.run(t, h)
		all := "123 03 01 02 03 / 2A0 7F 11 <DATA ERROR / 7E8 10 14 49 02 01 02 03 04 / STOPPED"
		time.Sleep(400 * time.Millisecond) // to just before the next round
		for _, stop := range []string{" ", "X", "\r"} {
			if got := h.listened(490*time.Millisecond, stop); !strings.Contains(got, all[:20]) || !strings.HasSuffix(got, "STOPPED") || strings.Count(got, " / ") != 3 {
				t.Errorf("stopped with %q: %s\nwant %s", stop, got, all)
			}
		}
		for _, c := range []struct {
			filter [][2]string
			want   string
		}{
			{[][2]string{{"ATCM700", "OK"}, {"ATCF200", "OK"}}, "2A0 7F 11 <DATA ERROR / STOPPED"},
			{[][2]string{{"ATCM7FF", "OK"}, {"ATCF124", "OK"}}, "STOPPED"},
			{[][2]string{{"ATCRA123", "OK"}}, "123 03 01 02 03 / STOPPED"},
			{[][2]string{{"ATCRA", "OK"}, {"ATS0", "OK"}, {"ATCRA2A0", "OK"}}, "2A07F11<DATA ERROR / STOPPED"},
		} {
			script(c.filter).run(t, h)
			if got := h.listened(500*time.Millisecond, " "); got != c.want {
				t.Errorf("%v: %s, want %s", c.filter, got, c.want)
			}
		}
		if n := len(s.Transmissions()); n != 0 {
			t.Errorf("%d transmissions while listening", n)
		}
	})
}

// On a slow line a full bus fills the buffer after 10 to 60 ms (a study of public captures with the data
// sheet's buffer of 512 characters), and the text stands on the line of the frame that was cut.
func TestMonitor_BufferFull(t *testing.T) {
	var s *Sim
	sim := func() *Sim {
		s = New(Steady(known()), WithTraffic(fullBus()), PacedAt(38400))
		return s
	}
	bubble(t, sim, func(t *testing.T, h *host) {
		quiet.run(t, h)
		script{{"ATTP6", "OK"}, {"ATH1", "OK"}, {"ATS0", "OK"}}.run(t, h)
		begun := s.Now()
		got := joined(h.ask("ATMA"))
		took := s.Now() - begun
		lines := strings.Split(got, " / ")
		last := lines[len(lines)-1]
		frames := time.Duration(len(lines)) * 500 * time.Microsecond
		if !strings.HasSuffix(last, "BUFFER FULL") || last == "BUFFER FULL" || frames < 5*time.Millisecond || frames > 60*time.Millisecond {
			t.Errorf("%d lines in %v, the last %q", len(lines), took, last)
		}
	})
}

// With an automatic protocol a quiet bus has the chip search, which transmits; with a fixed one
// nothing goes out. CSM0 acknowledges what it hears (ELM327 data sheet).
func TestMonitor_Transmits(t *testing.T) {
	for _, c := range []struct {
		name     string
		commands [][2]string
		traffic  Traffic
		gateway  bool
		want     TransmissionKind
		none     bool
	}{
		{"automatic, quiet", [][2]string{{"ATTP0", "OK"}}, nil, false, BusSearch, false},
		{"automatic, behind a gateway", [][2]string{{"ATTP0", "OK"}}, threeFrames, true, BusSearch, false},
		{"fixed, quiet", [][2]string{{"ATTP6", "OK"}}, nil, false, 0, true},
		{"fixed, traffic", [][2]string{{"ATTP6", "OK"}, {"ATCSM1", "OK"}}, threeFrames, false, 0, true},
		{"fixed, not silent", [][2]string{{"ATTP6", "OK"}, {"ATCSM0", "OK"}}, threeFrames, false, Acknowledgement, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			var s *Sim
			sim := func() *Sim {
				options := []Option{WithTraffic(c.traffic)}
				if c.gateway {
					options = append(options, BehindGateway())
				}
				s = New(Steady(known()), options...)
				return s
			}
			bubble(t, sim, func(t *testing.T, h *host) {
				quiet.run(t, h)
				script(c.commands).run(t, h)
				got := h.listened(time.Second, " ")
				sent := s.Transmissions()
				if c.none != (len(sent) == 0) || !c.none && sent[0].What != c.want {
					t.Errorf("%v sent while it showed %s", sent, got)
				}
				if c.gateway && strings.Contains(got, "123") {
					t.Errorf("the gateway lets through %s", got)
				}
			})
		})
	}
}

// Listening closes the protocol: with an automatic one the next request searches.
func TestMonitor_ClosesTheProtocol(t *testing.T) {
	sim := func() *Sim { return New(Steady(known()), WithTraffic(threeFrames)) }
	bubble(t, sim, func(t *testing.T, h *host) {
		quiet.run(t, h)
		script{{"ATTP0", "OK"}, {"010C", "SEARCHING... / 41 0C 1A F8"}, {"010C", "41 0C 1A F8"}}.run(t, h)
		h.listened(100*time.Millisecond, " ")
		script{{"010C", "SEARCHING... / 41 0C 1A F8"}, {"ATTP6", "OK"}}.run(t, h)
		h.listened(100*time.Millisecond, " ")
		script{{"010C", "41 0C 1A F8"}}.run(t, h)
	})
}

// The frames of a recording come again and again, those of a simulated car as often as their rows say.
func TestTraffic(t *testing.T) {
	next := threeFrames.From(505 * time.Millisecond)
	for _, want := range []time.Duration{510, 520, 1000, 1010} {
		if f, ok := next(); !ok || f.At != want*time.Millisecond {
			t.Errorf("%v, want %d ms", f, want)
		}
	}
	if _, ok := Recorded(nil, 0).From(0)(); ok {
		t.Error("an empty recording has a frame")
	}
	for _, extended := range []bool{false, true} {
		next, seen, before := Broadcasts(Steady(known()), extended).From(3*time.Second), map[uint32]int{}, time.Duration(0)
		for {
			f, _ := next()
			if f.At < before || f.At < 3*time.Second || len(f.Data) != 8 || f.Extended != extended {
				t.Fatalf("%+v after %v", f, before)
			}
			if before = f.At; f.At >= 13*time.Second {
				break
			}
			seen[f.ID]++
		}
		if len(seen) != len(broadcasts) {
			t.Errorf("%d ids, want %d", len(seen), len(broadcasts))
		}
		if id := map[bool]uint32{false: 0x0A4, true: 0x0C00A421}[extended]; seen[id] < 999 || seen[id] > 1001 {
			t.Errorf("engine speed came %d times in 10 s", seen[id])
		}
	}
}

// What candump logs (SocketCAN's can-utils), and what it does not.
func TestReadCandump(t *testing.T) {
	frames, err := ReadCandump(strings.NewReader("(0.000013) can0 2C1#0014DF14BBCA3A91\n(1.5) vcan0 18FEF100#01\n(2) can0 123#\n"))
	if err != nil || len(frames) != 3 {
		t.Fatal(frames, err)
	}
	if f := frames[0]; f.At != 13*time.Microsecond || f.ID != 0x2C1 || f.Extended || string(f.Data) != "\x00\x14\xDF\x14\xBB\xCA\x3A\x91" {
		t.Errorf("%+v", f)
	}
	if f := frames[1]; !f.Extended || f.ID != 0x18FEF100 || len(f.Data) != 1 || len(frames[2].Data) != 0 {
		t.Errorf("%+v, %+v", f, frames[2])
	}
	for _, bad := range []string{"x", "(x) can0 123#00", "(1) can0 XYZ#00", "(1) can0 123#0", "(1) can0 123#000000000000000000", "(1) can0 FFFFFFFF#00"} {
		if _, err := ReadCandump(strings.NewReader("(1) can0 123#00\n" + bad)); err == nil || !strings.Contains(err.Error(), "line 2") {
			t.Errorf("%q: %v", bad, err)
		}
	}
}
