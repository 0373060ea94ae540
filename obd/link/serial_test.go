package link

import (
	"errors"
	"io"
	"net"
	"os"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"go.bug.st/serial"
)

// coded stands for the serial library's own error, whose code cannot be set from outside.
type coded serial.PortErrorCode

func (c coded) Error() string              { return "coded" }
func (c coded) Code() serial.PortErrorCode { return serial.PortErrorCode(c) }

// fakePort behaves like the library's port, with faults to choose.
type fakePort struct {
	mu           sync.Mutex
	timeout      time.Duration
	deaf         bool          // Read ignores its timeout, as some drivers of Windows do
	full         bool          // Write blocks until the output is thrown away
	fullForGood  bool          // and even then
	slowClose    bool          // Close never returns
	closed       chan struct{} // closed by Close
	flushed      chan struct{}
	data         chan byte
	lateCalls    int // calls after Close: each could have hit another file
	timeoutFails bool
	modeFails    error // what SetMode returns
	modes        []serial.Mode
}

func newFakePort() *fakePort {
	return &fakePort{closed: make(chan struct{}), flushed: make(chan struct{}, 100), data: make(chan byte, 8)}
}

func (f *fakePort) late() bool {
	select {
	case <-f.closed:
		f.mu.Lock()
		defer f.mu.Unlock()
		f.lateCalls++
		return true
	default:
		return false
	}
}

func (f *fakePort) Read(p []byte) (int, error) {
	if f.late() {
		return 0, coded(serial.PortClosed)
	}
	f.mu.Lock()
	timeout := time.After(f.timeout)
	if f.deaf {
		timeout = nil
	}
	f.mu.Unlock()
	select {
	case p[0] = <-f.data:
		return 1, nil
	case <-timeout:
		return 0, nil
	case <-f.closed:
		return 0, coded(serial.PortClosed)
	}
}

func (f *fakePort) Write(p []byte) (int, error) {
	f.late()
	if f.fullForGood {
		select {} // only the end of the program frees it
	}
	f.mu.Lock()
	full := f.full
	f.mu.Unlock()
	if full {
		<-f.flushed
	}
	return len(p), nil
}

func (f *fakePort) SetReadTimeout(d time.Duration) error {
	f.late()
	f.mu.Lock()
	defer f.mu.Unlock()
	f.timeout = d
	if f.timeoutFails {
		return coded(serial.InvalidTimeoutValue)
	}
	return nil
}

func (f *fakePort) SetMode(m *serial.Mode) error {
	f.late()
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.modeFails == nil {
		f.modes = append(f.modes, *m)
	}
	return f.modeFails
}

func (f *fakePort) ResetOutputBuffer() error {
	f.late()
	f.flushed <- struct{}{}
	return nil
}

func (f *fakePort) Close() error {
	if f.slowClose {
		select {}
	}
	select {
	case <-f.closed:
	default:
		close(f.closed)
	}
	return nil
}

func over(f *fakePort) *Link { return &Link{name: "fake", serial: true, conn: newSerialConn(f)} }

func TestSerial_DeadlineIsExact(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		l := over(newFakePort())
		start := time.Now()
		_ = l.SetReadDeadline(start.Add(333 * time.Millisecond))
		if n, err := l.Read(make([]byte, 8)); n != 0 || !errors.Is(err, os.ErrDeadlineExceeded) {
			t.Fatalf("Read = %d, %v; want 0, os.ErrDeadlineExceeded", n, err)
		}
		if took := time.Since(start); took != 333*time.Millisecond {
			t.Errorf("took %v, want 333ms", took)
		}
	})
}

func TestSerial_DeadlineMovedWhileReading(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		l := over(newFakePort())
		got := make(chan error)
		go func() {
			_, err := l.Read(make([]byte, 8))
			got <- err
		}()
		time.Sleep(time.Second) // fake time: the read has no deadline and waits
		moved := time.Now()
		_ = l.SetReadDeadline(moved)
		if err := <-got; !errors.Is(err, os.ErrDeadlineExceeded) {
			t.Errorf("Read = %v; want os.ErrDeadlineExceeded", err)
		}
		if took := time.Since(moved); took > readSlice {
			t.Errorf("seen after %v, want at most %v", took, readSlice)
		}
	})
}

// TestSerial_CloseNeverPullsTheHandle: the library's handle number may be given to
// another file once closed, so no call may be in it or come to it then.
func TestSerial_CloseNeverPullsTheHandle(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		f := newFakePort()
		l := over(f)
		got := make(chan error)
		go func() {
			_, err := l.Read(make([]byte, 8))
			got <- err
		}()
		synctest.Wait()
		if err := l.Close(); err != nil {
			t.Fatal(err)
		}
		if err := <-got; !errors.Is(err, net.ErrClosed) {
			t.Errorf("Read during Close = %v; want net.ErrClosed", err)
		}
		if n, err := l.Write([]byte("ATZ\r")); n != 0 || !errors.Is(err, net.ErrClosed) {
			t.Errorf("Write after Close = %d, %v; want 0, net.ErrClosed", n, err)
		}
		if _, err := l.Read(make([]byte, 8)); !errors.Is(err, net.ErrClosed) {
			t.Errorf("Read after Close = %v; want net.ErrClosed", err)
		}
		if f.lateCalls != 0 {
			t.Errorf("%d calls reached the library after Close", f.lateCalls)
		}
	})
}

func TestSerial_HangUpIsEOF(t *testing.T) {
	f := newFakePort()
	close(f.closed) // the library's code for a hang-up is that of a closed port
	if _, err := over(f).Read(make([]byte, 8)); !errors.Is(err, io.EOF) {
		t.Errorf("Read = %v; want io.EOF", err)
	}
	f = newFakePort()
	f.timeoutFails = true
	if _, err := over(f).Read(make([]byte, 8)); !errors.Is(err, io.EOF) {
		t.Errorf("Read when the timeout cannot be set = %v; want io.EOF", err)
	}
}

func TestSerial_WatchdogEndsADeafRead(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		f := newFakePort()
		f.deaf = true
		l := over(f)
		start := time.Now()
		_ = l.SetReadDeadline(start.Add(10 * time.Millisecond))
		if _, err := l.Read(make([]byte, 8)); !errors.Is(err, io.EOF) {
			t.Errorf("Read = %v; want io.EOF: the link is lost", err)
		}
		if took, want := time.Since(start), 10*time.Millisecond+readGrace; took != want {
			t.Errorf("took %v, want %v", took, want)
		}
		if _, err := l.Write([]byte("x")); !errors.Is(err, io.ErrClosedPipe) {
			t.Errorf("Write afterwards = %v; want io.ErrClosedPipe", err)
		}
	})
}

func TestSerial_StuckWriteIsFreedByClose(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		f := newFakePort()
		f.full = true
		l := over(f)
		got := make(chan error)
		go func() {
			_, err := l.Write([]byte("010C\r"))
			got <- err
		}()
		synctest.Wait()
		start := time.Now()
		if err := l.Close(); err != nil {
			t.Fatal(err)
		}
		if took := time.Since(start); took > closeGrace {
			t.Errorf("Close took %v, want at most %v", took, closeGrace)
		}
		if err := <-got; err != nil && !errors.Is(err, net.ErrClosed) {
			t.Errorf("Write = %v; want it freed", err)
		}
	})
}

func TestSerial_WriteDeadlineFreesAStuckWrite(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		f := newFakePort()
		f.full = true
		l := over(f)
		start := time.Now()
		_ = l.SetWriteDeadline(start.Add(300 * time.Millisecond))
		if _, err := l.Write([]byte("010C\r")); !errors.Is(err, os.ErrDeadlineExceeded) {
			t.Errorf("Write = %v; want os.ErrDeadlineExceeded", err)
		}
		if took := time.Since(start); took != 300*time.Millisecond {
			t.Errorf("took %v, want 300ms", took)
		}
		f.mu.Lock()
		f.full = false
		f.mu.Unlock()
		_ = l.SetWriteDeadline(time.Now().Add(time.Second))
		if n, err := l.Write([]byte("010C\r")); n != 5 || err != nil {
			t.Errorf("next Write = %d, %v; want 5, nil", n, err)
		}
	})
}

// These two leave a goroutine behind on purpose, as the driver they imitate would, so
// they run on the real clock; both bounds are upper ones.
func TestSerial_CloseIsBounded(t *testing.T) {
	faults := map[string]func(*fakePort){
		"write stuck for good": func(f *fakePort) { f.fullForGood = true },
		"close stuck for good": func(f *fakePort) { f.slowClose = true },
	}
	for name, set := range faults {
		t.Run(name, func(t *testing.T) {
			f := newFakePort()
			set(f)
			l := over(f)
			entered := make(chan struct{})
			go func() {
				close(entered)
				_, _ = l.Write([]byte("010C\r"))
			}()
			<-entered
			start := time.Now()
			err := l.Close()
			if took := time.Since(start); took > closeLimit+time.Second {
				t.Errorf("Close took %v", took)
			}
			if f.slowClose != errors.Is(err, errSlowClose) {
				t.Errorf("Close = %v", err)
			}
		})
	}
}
