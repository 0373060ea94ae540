//go:build unix

package link

import (
	"io"
	"net"
	"testing"
	"time"
)

// echo answers each request like an adapter that has the reply ready.
func echo(far io.ReadWriter) {
	buffer := make([]byte, 64)
	for {
		if _, err := far.Read(buffer); err != nil {
			return
		}
		if _, err := io.WriteString(far, "410C1AF8\r\r>"); err != nil {
			return
		}
	}
}

func benchmarkRoundTrip(b *testing.B, l *Link) {
	buffer := make([]byte, 64)
	b.ReportAllocs()
	for b.Loop() {
		_ = l.SetReadDeadline(time.Now().Add(time.Second))
		if _, err := io.WriteString(l, "010C1\r"); err != nil {
			b.Fatal(err)
		}
		for ended := false; !ended; {
			n, err := l.Read(buffer)
			if err != nil {
				b.Fatal(err)
			}
			ended = buffer[n-1] == '>'
		}
	}
}

func BenchmarkRoundTripPty(b *testing.B) {
	l, far := ptyPair(b, 115200)
	go echo(far)
	benchmarkRoundTrip(b, l)
}

func BenchmarkRoundTripTCP(b *testing.B) {
	l, far := tcpPair(b)
	go echo(far)
	benchmarkRoundTrip(b, l)
}

// An adapter that sends line and prompt apart, and the second only when the first has been
// acknowledged (RFC 896).
func BenchmarkRoundTripTCPInTwoParts(b *testing.B) {
	l, far := tcpPair(b)
	if tcp, ok := far.(*net.TCPConn); ok {
		_ = tcp.SetNoDelay(false)
	}
	go func() {
		buffer := make([]byte, 64)
		for {
			if _, err := far.Read(buffer); err != nil {
				return
			}
			_, _ = io.WriteString(far, "410C1AF8\r")
			_, _ = io.WriteString(far, "\r>")
		}
	}()
	benchmarkRoundTrip(b, l)
}
