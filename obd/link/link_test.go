package link

import (
	"bufio"
	"errors"
	"io"
	"net"
	"os"
	"strings"
	"testing"
	"testing/synctest"
	"time"
)

// TestPipe_DeadlineThenReply runs under fake time: a silent adapter costs its deadline
// and nothing else, and the link is still good afterwards.
func TestPipe_DeadlineThenReply(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		l, far := Pipe()
		defer func() { _ = l.Close() }()
		defer func() { _ = far.Close() }()
		start := time.Now()
		if err := l.SetReadDeadline(start.Add(200 * time.Millisecond)); err != nil {
			t.Fatal(err)
		}
		n, err := l.Read(make([]byte, 8))
		if n != 0 || !errors.Is(err, os.ErrDeadlineExceeded) {
			t.Fatalf("Read = %d, %v; want 0, os.ErrDeadlineExceeded", n, err)
		}
		if took := time.Since(start); took != 200*time.Millisecond {
			t.Errorf("took %v, want 200ms", took)
		}
		go func() { _, _ = io.WriteString(far, "OK\r>") }()
		if err := l.SetReadDeadline(time.Now().Add(time.Second)); err != nil {
			t.Fatal(err)
		}
		text, err := bufio.NewReader(l).ReadString('>')
		if text != "OK\r>" || err != nil {
			t.Errorf("after the deadline: %q, %v; want the reply", text, err)
		}
	})
}

// TestEnds holds the same three endings on every kind of connection that lives in memory
// or on this host.
func TestEnds(t *testing.T) {
	kinds := map[string]func(testing.TB) (*Link, net.Conn){
		"pipe": func(testing.TB) (*Link, net.Conn) { return Pipe() },
		"tcp":  tcpPair,
	}
	for name, pair := range kinds {
		t.Run(name+"/far end left", func(t *testing.T) {
			l, far := pair(t)
			_ = far.Close()
			if n, err := l.Read(make([]byte, 8)); n != 0 || !errors.Is(err, io.EOF) {
				t.Errorf("Read = %d, %v; want 0, io.EOF", n, err)
			}
			var err error
			for i := 0; i < 1000 && err == nil; i++ { // TCP learns of it with a later write
				_, err = l.Write([]byte("ATZ\r"))
			}
			if !errors.Is(err, io.ErrClosedPipe) {
				t.Errorf("Write = %v; want io.ErrClosedPipe", err)
			}
		})
		t.Run(name+"/we closed", func(t *testing.T) {
			l, _ := pair(t)
			got := make(chan error)
			go func() {
				_, err := l.Read(make([]byte, 8))
				got <- err
			}()
			if err := l.Close(); err != nil {
				t.Fatal(err)
			}
			if err := <-got; !errors.Is(err, net.ErrClosed) {
				t.Errorf("Read during Close = %v; want net.ErrClosed", err)
			}
			if _, err := l.Write([]byte("x")); !errors.Is(err, net.ErrClosed) {
				t.Errorf("Write after Close = %v; want net.ErrClosed", err)
			}
			if err := l.Close(); err != nil {
				t.Errorf("second Close = %v; want nil", err)
			}
		})
		t.Run(name+"/write deadline", func(t *testing.T) {
			l, _ := pair(t)
			if err := l.SetWriteDeadline(time.Now().Add(-time.Second)); err != nil {
				t.Fatal(err)
			}
			if _, err := l.Write([]byte("x")); !errors.Is(err, os.ErrDeadlineExceeded) {
				t.Errorf("Write = %v; want os.ErrDeadlineExceeded", err)
			}
		})
	}
}

// oddConn gives what a net.Conn should not, but a serial library does.
type oddConn struct {
	net.Conn
	n   int
	err error
}

func (c oddConn) Read([]byte) (int, error)  { return c.n, c.err }
func (c oddConn) Write([]byte) (int, error) { return c.n, c.err }
func (c oddConn) Close() error              { return nil }

func TestRead_NothingWithoutErrorIsDeadline(t *testing.T) {
	l := Over(oddConn{}, "odd")
	if n, err := l.Read(make([]byte, 4)); n != 0 || !errors.Is(err, os.ErrDeadlineExceeded) {
		t.Errorf("Read = %d, %v; want 0, os.ErrDeadlineExceeded", n, err)
	}
	if n, err := l.Read(nil); n != 0 || err != nil {
		t.Errorf("Read of nothing = %d, %v; want 0, nil", n, err)
	}
}

func TestRead_DataBeforeError(t *testing.T) {
	l := Over(oddConn{n: 2, err: io.EOF}, "odd")
	if n, err := l.Read(make([]byte, 4)); n != 2 || err != nil {
		t.Errorf("Read = %d, %v; want the 2 bytes first", n, err)
	}
}

func TestWrite_ShortIsSaid(t *testing.T) {
	l := Over(oddConn{n: 2}, "odd")
	if n, err := l.Write([]byte("010C\r")); n != 2 || !errors.Is(err, io.ErrShortWrite) {
		t.Errorf("Write = %d, %v; want 2, io.ErrShortWrite", n, err)
	}
}

func TestRead_OtherErrorsNameTheLink(t *testing.T) {
	cause := errors.New("smoke")
	_, err := Over(oddConn{err: cause}, "odd").Read(make([]byte, 4))
	if !errors.Is(err, cause) || !strings.HasPrefix(err.Error(), "odd: ") {
		t.Errorf("Read = %v; want it wrapped with the link's name", err)
	}
}

// tcpPair gives a Link opened by its address and the far end of it.
func tcpPair(t testing.TB) (*Link, net.Conn) {
	t.Helper()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = listener.Close() }()
	l, err := Open(t.Context(), "tcp://"+listener.Addr().String(), 0)
	if err != nil {
		t.Fatal(err)
	}
	far, err := listener.Accept()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = l.Close(); _ = far.Close() })
	return l, far
}
