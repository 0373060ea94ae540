package drive

import (
	"context"
	"net"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/obdtest"
	"github.com/judder-obd/judder/obd/reply"
)

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
		fuzzed := &fuzzedAdapter{script: script, plain: int(plain)}
		j := &obdtest.Journal{}
		var err error
		const lasts = 100 * time.Second
		synctest.Test(t, func(t *testing.T) {
			ctx, cancel := context.WithTimeout(t.Context(), lasts)
			defer cancel()
			start := time.Now()
			var peers sync.WaitGroup
			p := New(adapter.Config{
				Open: func(context.Context, int) (elm.Link, error) {
					near, far := net.Pipe()
					peers.Wait() // one at a time, as on a port
					peers.Go(func() { fuzzed.serve(far) })
					return near, nil
				},
				Bauds: []int{0}, Name: "test", Since: func() time.Duration { return time.Since(start) },
			})
			err = p.Run(ctx, j)
			peers.Wait()
		})
		checkDialogue(t, fuzzed, j, err, lasts)
	})
}

func checkDialogue(t *testing.T, fuzzed *fuzzedAdapter, j *obdtest.Journal, err error, lasts time.Duration) {
	t.Helper()
	for _, command := range fuzzed.heard {
		if err := elm.Permit(strings.TrimSpace(command)); err != nil {
			t.Error(err)
		}
	}
	checkSamples(t, j.Samples)
	reached := false
	for _, l := range j.Links {
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
	if n := len(j.Exchanges); n == 0 || j.Exchanges[n-1].Done < lasts-elm.WaitSearch-2*time.Second {
		t.Error("no longer asks")
	}
}
