//go:build unix

package link

import (
	"errors"
	"io"
	"net"
	"os"
	"testing"
	"time"
)

// closeWithin distinguishes a Close that hangs from one that frees what hangs. The aim is
// 100 ms; what it took is logged, as a busy machine stretches it.
const closeWithin = 2 * time.Second

// hostile are far ends at their worst: how the link is used when it is closed.
var hostile = map[string]func(*Link, io.ReadWriter) (ended <-chan error){
	"says nothing": func(l *Link, _ io.ReadWriter) <-chan error { return drain(l) },
	"says nothing, a deadline far off": func(l *Link, _ io.ReadWriter) <-chan error {
		_ = l.SetReadDeadline(time.Now().Add(time.Hour))
		return drain(l)
	},
	"never reads": func(l *Link, _ io.ReadWriter) <-chan error { return fill(l) },
	"never reads and says nothing": func(l *Link, _ io.ReadWriter) <-chan error {
		drain(l)
		return fill(l)
	},
	"never reads, a deadline far off": func(l *Link, _ io.ReadWriter) <-chan error {
		_ = l.SetWriteDeadline(time.Now().Add(time.Hour))
		return fill(l)
	},
	"never reads, after a deadline": func(l *Link, _ io.ReadWriter) <-chan error {
		_ = l.SetWriteDeadline(time.Now().Add(50 * time.Millisecond))
		if err := <-fill(l); !errors.Is(err, os.ErrDeadlineExceeded) && !errors.Is(err, io.ErrShortWrite) {
			panic(err)
		}
		_ = l.SetWriteDeadline(time.Time{})
		return fill(l)
	},
	"sends without end": func(l *Link, far io.ReadWriter) <-chan error {
		go func() {
			for {
				if _, err := far.Write(make([]byte, 4096)); err != nil {
					return
				}
			}
		}()
		return drain(l)
	},
}

// drain reads until the link ends and reports how.
func drain(l *Link) <-chan error {
	ended := make(chan error, 1)
	go func() {
		buffer := make([]byte, 512)
		for {
			if _, err := l.Read(buffer); err != nil {
				ended <- err
				return
			}
		}
	}()
	return ended
}

// TestClose_Hostile closes the link on each far end, over a pseudo-terminal and over TCP.
// The far end is still there when Close returns.
func TestClose_Hostile(t *testing.T) {
	kinds := map[string]func(*testing.T) (*Link, io.ReadWriteCloser){
		"pty": func(t *testing.T) (*Link, io.ReadWriteCloser) { return ptyPair(t, 0) },
		"tcp": func(t *testing.T) (*Link, io.ReadWriteCloser) { return tcpPair(t) },
	}
	for kind, pair := range kinds {
		for name, use := range hostile {
			t.Run(kind+"/"+name, func(t *testing.T) {
				l, far := pair(t)
				ended := use(l, far)
				<-time.After(100 * time.Millisecond) // until it hangs: a real device does not report when
				start := time.Now()
				if err := l.Close(); err != nil {
					t.Errorf("Close = %v", err)
				}
				took := time.Since(start)
				t.Logf("Close took %v", took)
				if took > closeWithin {
					t.Errorf("Close took %v, want at most %v", took, closeWithin)
				}
				select {
				case err := <-ended:
					if !errors.Is(err, net.ErrClosed) {
						t.Errorf("what hung ended with %v; want net.ErrClosed", err)
					}
				case <-time.After(closeWithin):
					t.Error("what hung still hangs after Close")
				}
			})
		}
	}
}
