package drive

import (
	"context"
	"judder/obd"
	"judder/obd/reply"
	"net"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"
)

// chunks is a Link that gives bytes in pieces of a size, on a clock of its own that moves
// when there is nothing to read.
type chunks struct {
	data  []byte
	size  int
	clock time.Duration
}

func (c *chunks) Write(p []byte) (int, error)      { return len(p), nil }
func (c *chunks) Close() error                     { return nil }
func (c *chunks) SetReadDeadline(time.Time) error  { return nil }
func (c *chunks) SetWriteDeadline(time.Time) error { return nil }

func (c *chunks) Read(p []byte) (int, error) {
	if len(c.data) == 0 {
		c.clock += readSlice
		return 0, os.ErrDeadlineExceeded
	}
	n := copy(p[:min(len(p), c.size)], c.data)
	c.data = c.data[n:]
	return n, nil
}

// Any bytes: the exchange ends in time, its lines are bounded and clean of line ends, prompts
// and zero bytes, and how the bytes were cut in pieces makes no difference.
func FuzzTerminal(f *testing.F) {
	for _, s := range []string{
		rpmLine + "\r\r>", ">" + rpmLine + "\r\n>>", "010C\r" + rpmLine + ">" + speedLine + "\r>", "\x00\x00\r>\r?\r>",
		"SEARCHING...\r" + rpmLine + "\r\r>", speedLine + "\r>" + rpmLine, strings.Repeat("A", 3000) + ">", strings.Repeat("4\r", 1500) + ">", "",
	} {
		f.Add([]byte(s), byte(3))
	}
	f.Add([]byte("0>0>"), byte(3)) // a second reply behind a stray prompt was overlooked when both came in one piece
	f.Fuzz(func(t *testing.T, data []byte, size byte) {
		var first []string
		for _, n := range []int{1 + int(size), 1, 1024} {
			link := &chunks{data: data, size: n}
			term := &terminal{link: link, now: func() time.Duration { return link.clock }, over: func() bool { return false }, inStep: true}
			for i := range 3 {
				x, err := term.exchange("010C", time.Second)
				checkBounded(t, term, x)
				if err != nil || x.Ending == obd.EndLost || x.Done < x.Sent || x.Done-x.Sent > time.Second+readSlice {
					t.Fatalf("%q: ending %d after %v, %v", data, x.Ending, x.Done-x.Sent, err)
				}
				if x.Ending == obd.EndPrompt && len(x.Lines) == 0 {
					t.Fatalf("%q: a prompt and nothing before it ended the exchange", data)
				}
				for _, l := range x.Lines {
					if l.Text == "" || strings.ContainsAny(l.Text, "\r\n>\x00") {
						t.Fatalf("line %q", l.Text)
					}
				}
				if got := texts(x); i == 0 && first == nil {
					first = append([]string{}, got...)
				} else if i == 0 && !slices.Equal(got, first) {
					t.Fatalf("pieces of %d: %q, else %q", n, got, first)
				}
			}
		}
	})
}

// fuzzedAdapter answers as plainAdapter does, but for a part in the middle of the dialogue
// where the fuzzer has the word.
type fuzzedAdapter struct {
	script []byte // of what is left: one byte what to do, one how long to wait, one how many bytes
	plain  int    // commands still answered properly before that
	heard  []string
}

// answer is the reply to a command and its prompt; gone says that the link ends instead.
func (a *fuzzedAdapter) answer(text string) (back string, gone bool) {
	a.heard = append(a.heard, text)
	proper := plainAdapter(text) + "\r\r>"
	if a.plain > 0 || len(a.script) < 3 {
		a.plain--
		return proper, false
	}
	what, wait, n := a.script[0], a.script[1], min(int(a.script[2])%64, len(a.script)-3)
	bytes := string(a.script[3 : 3+n])
	a.script = a.script[3+n:]
	time.Sleep(time.Duration(wait) * 10 * time.Millisecond) // simulated
	switch what % 8 {
	case 0:
		return proper, false
	case 1:
		return "", false
	case 2:
		return "", true
	case 3:
		return bytes + proper, false
	case 4:
		return proper[:min(n, len(proper))] + bytes, false
	case 5:
		return reply.Statuses[n%len(reply.Statuses)].Text + "\r\r>", false
	case 6:
		return proper + bytes, false
	}
	return bytes + "\r\r>", false
}

func (a *fuzzedAdapter) serve(conn net.Conn) {
	defer conn.Close() //nolint:errcheck // in memory
	var line []byte
	for b := make([]byte, 1); ; {
		if _, err := conn.Read(b); err != nil {
			return
		}
		if b[0] != '\r' {
			line = append(line, b[0])
			continue
		}
		time.Sleep(100 * time.Millisecond) // simulated
		reply, gone := a.answer(string(line))
		if gone {
			return
		}
		if _, err := conn.Write([]byte(reply)); err != nil {
			return
		}
		line = line[:0]
	}
}

// A poller against a peer that goes mad: no panic, nothing sent but what reads, no control
// character shown, and it goes on asking when the peer has come to its senses.
func FuzzDialogue(f *testing.F) {
	for i := range 8 {
		f.Add([]byte{byte(i), 2, 3, 'A', '\r', '>', byte(i), 0, 1, '?', byte(i), 100, 0}, byte(30))
		f.Add([]byte{byte(i), 2, 17, '7', 'E', '8', '0', '4', '4', '1', '0', 'C', '1', 'A', 'F', '8', '\r', 0x1b, '[', '2'}, byte(5*i))
	}
	f.Fuzz(func(t *testing.T, script []byte, plain byte) {
		if len(script) > 48 {
			script = script[:48] // at most 16 steps of at most 2.55 s
		}
		adapter := &fuzzedAdapter{script: script, plain: int(plain)}
		j := &journal{}
		var err error
		const lasts = 100 * time.Second
		synctest.Test(t, func(t *testing.T) {
			ctx, cancel := context.WithTimeout(t.Context(), lasts)
			defer cancel()
			start := time.Now()
			var peers sync.WaitGroup
			p := NewPoller(Config{
				Open: func(context.Context, int) (Link, error) {
					near, far := net.Pipe()
					peers.Wait() // one at a time, as on a port
					peers.Go(func() { adapter.serve(far) })
					return near, nil
				},
				Bauds: []int{0}, Name: "test", Since: func() time.Duration { return time.Since(start) },
			})
			err = p.Run(ctx, j)
			peers.Wait()
		})
		checkDialogue(t, adapter, j, err, lasts)
	})
}

func checkDialogue(t *testing.T, adapter *fuzzedAdapter, j *journal, err error, lasts time.Duration) {
	t.Helper()
	for _, command := range adapter.heard {
		command = strings.TrimPrefix(command, leadIn)
		checkPassed(t, command, command+"\r")
	}
	checkSamples(t, j.samples)
	reached := false
	for _, l := range j.links {
		reached = reached || l.State >= obd.LinkAdapter
		if strings.ContainsFunc(l.Text, control) {
			t.Errorf("control character in %q", l.Text)
		}
	}
	if err != nil {
		if reached {
			t.Errorf("given up though there was an adapter: %v", err)
		}
		return
	}
	if n := len(j.exchanges); n == 0 || j.exchanges[n-1].Done < lasts-waitSearch-2*time.Second {
		t.Error("no longer asks")
	}
}
