package elm

import (
	"errors"
	"io"
	"net"
	"os"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/obd"
)

// bite is something an adapter puts out, and how long after what came before.
type bite struct {
	after time.Duration
	text  string
}

// rig is a terminal and the adapter's end of its cable.
type rig struct {
	*Terminal
	far     net.Conn
	started time.Time
	ended   atomic.Bool // the session
	heard   []string    // commands as they came, carriage return cut off; read after synctest.Wait
}

// onRig runs a test under simulated time. The adapter answers the n-th command with the n-th
// reply and is silent after the last; opening is what it says unasked.
func onRig(t *testing.T, opening []bite, replies [][]bite, test func(t *testing.T, r *rig)) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		near, far := net.Pipe()
		r := &rig{far: far, started: time.Now()}
		r.Terminal = New(near, Clock{Now: func() time.Duration { return time.Since(r.started) }, Over: func() bool { return r.ended.Load() }})
		var adapter sync.WaitGroup
		adapter.Go(func() { r.say(opening) })
		adapter.Go(func() { r.serve(replies) })
		test(t, r)
		_ = near.Close()
		_ = far.Close()
		adapter.Wait()
	})
}

// Exchange is that of a terminal whose adapter has just shown that it is free.
func (r *rig) Exchange(command string, wait time.Duration) (obd.Exchange, error) {
	r.guard.quiet = true
	return r.Terminal.Exchange(command, wait)
}

func (r *rig) say(bites []bite) {
	for _, b := range bites {
		time.Sleep(b.after) // simulated
		if _, err := io.WriteString(r.far, b.text); err != nil {
			return
		}
	}
}

func (r *rig) serve(replies [][]bite) {
	var command []byte
	for b := make([]byte, 1); ; {
		if _, err := r.far.Read(b); err != nil {
			return
		}
		if b[0] != '\r' {
			command = append(command, b[0])
			continue
		}
		r.heard = append(r.heard, string(command))
		command = command[:0]
		if n := len(r.heard); n <= len(replies) {
			r.say(replies[n-1])
		}
	}
}

func texts(x obd.Exchange) (out []string) {
	for _, l := range x.Lines {
		out = append(out, l.Text)
	}
	return out
}

const rpmLine, speedLine = "7E804410C1AF8", "7E803410D64"

func byteByByte(s string) (out []bite) {
	for i := range len(s) {
		out = append(out, bite{time.Millisecond, s[i : i+1]})
	}
	return out
}

func TestTerminal_Exchange(t *testing.T) {
	both := []string{rpmLine, "7E904410C1AF4"}
	for _, c := range []struct {
		name  string
		reply []bite
		want  []string
		end   obd.Ending
		done  time.Duration // at the latest, after the request
	}{
		{"plain", []bite{{0, rpmLine + "\r\r>"}}, both[:1], obd.EndPrompt, time.Millisecond},
		{"line feeds too", []bite{{0, rpmLine + "\r\n\r\n>"}}, both[:1], obd.EndPrompt, time.Millisecond},
		{"two lines", []bite{{0, both[0] + "\r"}, {time.Millisecond, both[1] + "\r\r>"}}, both, obd.EndPrompt, 2 * time.Millisecond},
		{"prompt without a line end", []bite{{0, rpmLine + ">"}}, both[:1], obd.EndPrompt, time.Millisecond},
		{"a prompt left over before it", []bite{{0, ">" + rpmLine + "\r\r>"}}, both[:1], obd.EndPrompt, time.Millisecond},
		{"left over, and long before", []bite{{0, "\r\r>"}, {100 * time.Millisecond, rpmLine + "\r\r>"}}, both[:1], obd.EndPrompt, 101 * time.Millisecond},
		{"zero bytes", []bite{{0, "\x007E8\x0004410C\x00\x001AF8\r\x00\r\x00>\x00"}}, both[:1], obd.EndPrompt, time.Millisecond},
		{"echo", []bite{{0, "010C\r" + rpmLine + "\r\r>"}}, both[:1], obd.EndPrompt, time.Millisecond},
		{"byte by byte", byteByByte(rpmLine + "\r\r>"), both[:1], obd.EndPrompt, 20 * time.Millisecond},
		{"silence", nil, nil, obd.EndSilence, 401 * time.Millisecond},
		{"silence in the middle of a line", []bite{{0, both[0] + "\r7E904"}}, both[:1], obd.EndSilence, 401 * time.Millisecond},
		{"nothing but a prompt", []bite{{0, "\r\r>"}}, nil, obd.EndSilence, 401 * time.Millisecond},
		{"nothing but its echo", []bite{{0, "010C\r\r>"}}, nil, obd.EndSilence, 401 * time.Millisecond},
		{"status text", []bite{{0, "NO DATA\r\r>"}}, []string{"NO DATA"}, obd.EndPrompt, time.Millisecond},
		{"reply to something else, then its own", []bite{{0, speedLine + "\r\r>"}, {60 * time.Millisecond, rpmLine + "\r\r>"}},
			[]string{speedLine, rpmLine}, obd.EndPrompt, 61 * time.Millisecond},
		{"both in one piece", []bite{{0, speedLine + "\r\r>" + rpmLine + "\r\r>"}}, []string{speedLine, rpmLine}, obd.EndPrompt, time.Millisecond},
		{"reply to something else alone: a quarter of the wait", []bite{{0, speedLine + "\r\r>"}}, []string{speedLine}, obd.EndPrompt, 101 * time.Millisecond},
	} {
		t.Run(c.name, func(t *testing.T) {
			onRig(t, nil, [][]bite{c.reply}, func(t *testing.T, r *rig) {
				x, err := r.Exchange("010C", 400*time.Millisecond)
				if err != nil || x.Request != "010C" || !slices.Equal(texts(x), c.want) || x.Ending != c.end {
					t.Errorf("%q, ending %d, %v; want %q, %d", texts(x), x.Ending, err, c.want, c.end)
				}
				if took := x.Done - x.Sent; took > c.done {
					t.Errorf("took %v, want at most %v", took, c.done)
				}
				for _, l := range x.Lines {
					if l.At < x.Sent || l.At > x.Done {
						t.Errorf("line at %v, exchange from %v to %v", l.At, x.Sent, x.Done)
					}
				}
				synctest.Wait()
				if !slices.Equal(r.heard, []string{"010C"}) {
					t.Errorf("the adapter heard %q", r.heard)
				}
			})
		})
	}
}

// A prompt that came twice does not end the next exchange before its time.
func TestTerminal_DoublePrompt(t *testing.T) {
	replies := [][]bite{{{0, rpmLine + "\r>>"}}, {{10 * time.Millisecond, ">\r>" + speedLine + "\r>\r>"}}, {{5 * time.Millisecond, rpmLine + "\r\r>"}}}
	onRig(t, nil, replies, func(t *testing.T, r *rig) {
		for i, request := range []string{"010C", "010D", "010C"} {
			x, err := r.Exchange(request, time.Second)
			if want := []string{rpmLine, speedLine, rpmLine}[i : i+1]; err != nil || !slices.Equal(texts(x), want) || x.Ending != obd.EndPrompt {
				t.Errorf("%s: %q, ending %d, %v", request, texts(x), x.Ending, err)
			}
		}
	})
}

// A reply that comes when the wait is over stands before the lines of the next exchange, and
// its prompt does not end that.
func TestTerminal_LateReply(t *testing.T) {
	for _, late := range []time.Duration{205 * time.Millisecond, 230 * time.Millisecond} {
		replies := [][]bite{{{late, rpmLine + "\r\r>"}}, {{10 * time.Millisecond, speedLine + "\r\r>"}}}
		onRig(t, nil, replies, func(t *testing.T, r *rig) {
			if x, err := r.Exchange("010C", 200*time.Millisecond); err != nil || x.Ending != obd.EndSilence {
				t.Fatalf("ending %d, %v", x.Ending, err)
			}
			x, err := r.Exchange("010D", 200*time.Millisecond)
			if err != nil || !slices.Equal(texts(x), []string{rpmLine, speedLine}) || x.Ending != obd.EndPrompt {
				t.Errorf("%q, ending %d, %v", texts(x), x.Ending, err)
			}
			if x.Lines[0].At >= x.Sent {
				t.Error("the late line came after the request")
			}
		})
	}
}

// A late reply that comes whole before the link closes is not lost with it.
func TestTerminal_LateThenClosed(t *testing.T) {
	onRig(t, nil, [][]bite{{{210 * time.Millisecond, rpmLine + "\r\r>"}}}, func(t *testing.T, r *rig) {
		if x, err := r.Exchange("010C", 200*time.Millisecond); err != nil || x.Ending != obd.EndSilence {
			t.Fatalf("ending %d, %v", x.Ending, err)
		}
		time.AfterFunc(30*time.Millisecond, func() { _ = r.far.Close() })
		x, err := r.Exchange("010D", 200*time.Millisecond)
		if err == nil || !slices.Equal(texts(x), []string{rpmLine}) {
			t.Errorf("%q, %v", texts(x), err)
		}
	})
}

// What the adapter said before it was asked is kept, and the echo behind it is still known
// for an echo.
func TestTerminal_OpeningTextAndEcho(t *testing.T) {
	onRig(t, []bite{{0, "\x00?\r\r>"}}, [][]bite{{{5 * time.Millisecond, "ATI\rELM327 v1.5\r\r>"}}}, func(t *testing.T, r *rig) {
		x, err := r.Exchange("ATI", time.Second)
		if err != nil || !slices.Equal(texts(x), []string{"?", "ELM327 v1.5"}) {
			t.Errorf("%q, %v", texts(x), err)
		}
	})
}

func TestTerminal_RefusedIsNotWritten(t *testing.T) {
	onRig(t, nil, nil, func(t *testing.T, r *rig) {
		x, err := r.Exchange("04", time.Second)
		if !errors.As(err, new(*RefusedError)) || x.Ending == obd.EndPrompt {
			t.Errorf("ending %d, %v", x.Ending, err)
		}
		synctest.Wait()
		if len(r.heard) != 0 {
			t.Errorf("the adapter heard %q", r.heard)
		}
	})
}

func TestTerminal_LinkLost(t *testing.T) {
	for name, after := range map[string]time.Duration{"at once": 0, "while waiting": 70 * time.Millisecond} {
		t.Run(name, func(t *testing.T) {
			onRig(t, nil, nil, func(t *testing.T, r *rig) {
				time.AfterFunc(after, func() { _ = r.far.Close() })
				x, err := r.Exchange("010C", time.Second)
				if err == nil || x.Ending != obd.EndLost || x.Done > after+time.Millisecond {
					t.Errorf("ending %d at %v, %v", x.Ending, x.Done, err)
				}
				if !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrClosedPipe) {
					t.Errorf("the link's own error is gone: %v", err)
				}
			})
		})
	}
}

// An adapter that takes nothing in (its cable is a full pipe) is a lost link, not a wait
// without end.
func TestTerminal_WriteNeverTaken(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		near, far := net.Pipe()
		defer far.Close() //nolint:errcheck // in memory
		start := time.Now()
		term := New(near, Clock{Now: func() time.Duration { return time.Since(start) }, Over: func() bool { return false }})
		term.guard.quiet = true
		x, err := term.Exchange("010C", time.Second)
		if !errors.Is(err, os.ErrDeadlineExceeded) || x.Ending != obd.EndLost || x.Done > 1100*time.Millisecond {
			t.Errorf("ending %d at %v, %v", x.Ending, x.Done, err)
		}
	})
}

// The session ends: nobody waits for a reply that takes 20 s, be the adapter silent, talking
// without end, or not yet in step.
func TestTerminal_SessionOver(t *testing.T) {
	talk := make([]bite, 3000)
	for i := range talk {
		talk[i] = bite{10 * time.Millisecond, "7E8 04 41 "}
	}
	for name, opening := range map[string][]bite{"silent": nil, "talking": talk} {
		for _, at := range []time.Duration{30 * time.Millisecond, 333 * time.Millisecond, 1500 * time.Millisecond} {
			onRig(t, opening, nil, func(t *testing.T, r *rig) {
				time.AfterFunc(at, func() { r.ended.Store(true) })
				if _, err := r.Exchange("0100", WaitSearch); !errors.Is(err, ErrOver) {
					t.Errorf("%s, %v: %v", name, at, err)
				}
				if took := time.Since(r.started) - at; took > 100*time.Millisecond {
					t.Errorf("%s, %v: noticed after %v", name, at, took)
				}
			})
		}
	}
}

// An endless line and endless lines cost no more memory than a long honest reply, the wait
// holds, and the exchange after it comes whole.
func TestTerminal_Endless(t *testing.T) {
	flood := func(text string) (out []bite) {
		for range 300 {
			out = append(out, bite{time.Millisecond, strings.Repeat(text, 1+4000/len(text))})
		}
		return out
	}
	for name, text := range map[string]string{
		"line": "A", "lines": "41\r", "prompts": ">", "zero bytes": "\x00", "line ends": "\r",
		"long lines": strings.Repeat("7E804410C1AF8", 300) + "\r",
	} {
		t.Run(name, func(t *testing.T) {
			replies := [][]bite{append(flood(text), bite{0, "\r\r>"}), {{5 * time.Millisecond, rpmLine + "\r\r>"}}}
			onRig(t, nil, replies, func(t *testing.T, r *rig) {
				x, err := r.Exchange("010C", 200*time.Millisecond)
				if err != nil || x.Done-x.Sent > 210*time.Millisecond {
					t.Errorf("%v, took %v", err, x.Done-x.Sent)
				}
				checkBounded(t, r.Terminal, x)
				time.Sleep(200 * time.Millisecond) // simulated: the flood ends
				x, err = r.Exchange("010C", 200*time.Millisecond)
				checkBounded(t, r.Terminal, x)
				if err != nil || x.Ending != obd.EndPrompt || len(x.Lines) == 0 || x.Lines[len(x.Lines)-1].Text != rpmLine {
					t.Errorf("after it: %d lines, ending %d, %v", len(x.Lines), x.Ending, err)
				}
			})
		})
	}
}

func checkBounded(t *testing.T, term *Terminal, x obd.Exchange) {
	t.Helper()
	if cap(term.in.line) > 2*maxLineBytes || len(x.Lines) > maxReplyLines+1 || len(term.stray) > maxReplyLines+1 {
		t.Errorf("a line of %d bytes, %d lines, %d kept for later", cap(term.in.line), len(x.Lines), len(term.stray))
	}
	for _, l := range x.Lines {
		if len(l.Text) > maxLineBytes+len("<DATA ERROR") {
			t.Fatalf("line of %d bytes", len(l.Text))
		}
		if len(l.Text) > maxLineBytes && !strings.HasSuffix(l.Text, "<DATA ERROR") {
			t.Fatal("a line cut short is not marked")
		}
	}
}

// A reply that comes late, with its prompt, while the adapter is asked for its name does not
// stand for the name.
func TestTerminal_LateReplyBeforeName(t *testing.T) {
	for _, late := range []string{rpmLine, "NO DATA", "41 0C 1A F8"} {
		replies := [][]bite{{{5 * time.Millisecond, late + "\r\r>"}, {20 * time.Millisecond, "ELM327 v1.5\r\r>"}}}
		onRig(t, nil, replies, func(t *testing.T, r *rig) {
			x, err := r.Exchange("ATI", time.Second)
			if err != nil || !slices.Equal(texts(x), []string{late, "ELM327 v1.5"}) || x.Ending != obd.EndPrompt {
				t.Errorf("%q, ending %d, %v", texts(x), x.Ending, err)
			}
		})
	}
	for _, own := range []string{"A6", "12.4V", "OK", "?", "ISO 15765-4 (CAN 11/500)"} {
		onRig(t, nil, [][]bite{{{5 * time.Millisecond, own + "\r\r>"}}}, func(t *testing.T, r *rig) {
			if x, err := r.Exchange("ATDPN", time.Second); err != nil || x.Done-x.Sent > 6*time.Millisecond {
				t.Errorf("%q took %v, %v", own, x.Done-x.Sent, err)
			}
		})
	}
}

// A prompt that is missing behind a whole reply costs a third of a second; behind "wait" or a
// part it is waited for.
func TestTerminal_PromptMissing(t *testing.T) {
	for reply, want := range map[string]time.Duration{
		rpmLine + "\r": 305 * time.Millisecond, "7E8037F0178\r": 2 * time.Second,
		"7E8037F0178\r" + rpmLine + "\r": 2 * time.Second, "7E80441": 2 * time.Second,
	} {
		onRig(t, nil, [][]bite{{{5 * time.Millisecond, rpmLine + "\r\r>"}}, {{5 * time.Millisecond, reply}}}, func(t *testing.T, r *rig) {
			for range 2 {
				x, err := r.Exchange("010C", 2*time.Second)
				if err != nil {
					t.Fatal(err)
				}
				if took := x.Done - x.Sent; x.Ending == obd.EndSilence && took != want {
					t.Errorf("%q: given up after %v, want %v", reply, took, want)
				}
			}
		})
	}
}

// A flood of whole replies is taken at the pace of a full bus: 80 kB of text a second is what
// CAN at 500 kbit/s can carry (4000 frames of 20 characters; computed here).
func TestTerminal_FloodIsPaced(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		near, far := net.Pipe()
		began, sent := time.Now(), 0
		var peer sync.WaitGroup
		peer.Go(func() { _, _ = io.Copy(io.Discard, far) })
		peer.Go(func() {
			for text := []byte(strings.Repeat(rpmLine+"\r\r>", 60)); ; sent += len(text) {
				time.Sleep(10 * time.Microsecond) // simulated: 80 MB/s are offered
				if _, err := far.Write(text); err != nil {
					return
				}
			}
		})
		term := New(near, Clock{Now: func() time.Duration { return time.Since(began) }, Over: func() bool { return false }, Rest: time.Sleep})
		term.inStep = true
		for range 2000 {
			term.guard.quiet = true
			if _, err := term.Exchange("010C", time.Second); err != nil {
				t.Fatal(err)
			}
		}
		took := time.Since(began).Seconds()
		_, _ = near.Close(), far.Close()
		peer.Wait()
		if rate := float64(sent) / took; rate > 250_000 {
			t.Errorf("%.0f bytes a second are taken", rate)
		}
	})
}

// The wait for a prompt that does not come is short behind any reply of a drive, and long where
// the reply may yet come.
func TestTerminal_HowLongForAPrompt(t *testing.T) {
	for _, c := range []struct {
		request, line string
		short         bool
	}{
		{"010C1", "7E804410C1AF8", true}, {"010C1", "7E804410C7F01", true}, {"22F40C", "7E80562F40C1AF8", true},
		{"010C", "NO DATA", true}, {"010C", "SEARCHING...", false}, {"010C", "7E8037F0178", false}, {"22F40C", "7E8037F2278", false},
		{"0902", "7E8101449020131", false},
	} {
		term := Terminal{usual: 20 * time.Millisecond}
		x := exchangeOf(0, obd.FormCAN11, c.request, c.line)
		if _, short := term.unprompted(&x, WaitReply); short != c.short {
			t.Errorf("%s to %s: short wait %v", c.line, c.request, short)
		}
	}
}
