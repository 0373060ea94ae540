package elm

import (
	"io"
	"net"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
)

// One request and its reply over a pipe in memory: what the dialogue itself costs, the
// adapter and the bus taking no time.
func BenchmarkTerminalExchange(b *testing.B) {
	near, far := net.Pipe()
	defer near.Close() //nolint:errcheck // in memory
	go func() {
		defer far.Close() //nolint:errcheck // in memory
		for request := make([]byte, 64); ; {
			n, err := far.Read(request)
			if err != nil {
				return
			}
			if request[n-1] == '\r' {
				if _, err := io.WriteString(far, bundleLine+"\r\r>"); err != nil {
					return
				}
			}
		}
	}()
	start := time.Now()
	t := New(near, Clock{Now: func() time.Duration { return time.Since(start) }, Over: func() bool { return false }})
	t.inStep = true
	b.ReportAllocs()
	for b.Loop() {
		t.guard.quiet = true
		if x, err := t.Exchange("010C0D1", time.Second); err != nil || len(x.Lines) != 1 || x.Ending != obd.EndPrompt {
			b.Fatalf("%+v, %v", x, err)
		}
	}
}
