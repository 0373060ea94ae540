//go:build unix

package link

import (
	"bufio"
	"errors"
	"io"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/creack/pty"
)

// ptyPair gives a Link on a pseudo-terminal and its far end.
func ptyPair(t testing.TB, baud int) (*Link, *os.File) {
	t.Helper()
	far, near, err := pty.Open()
	if err != nil {
		t.Skipf("no pseudo-terminals here: %v", err)
	}
	path := near.Name()
	l, err := Open(t.Context(), path, baud)
	_ = near.Close()
	if err != nil {
		_ = far.Close()
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = l.Close(); _ = far.Close() })
	return l, far
}

func TestPty_RoundTripRaw(t *testing.T) {
	l, far := ptyPair(t, 0)
	if !l.IsSerial() || !strings.HasSuffix(l.String(), "at 38400 baud") {
		t.Errorf("link is %q, serial %v", l, l.IsSerial())
	}
	if _, err := io.WriteString(l, "010C1\r"); err != nil {
		t.Fatal(err)
	}
	request, err := bufio.NewReader(far).ReadString('\r')
	if request != "010C1\r" || err != nil {
		t.Errorf("far end got %q, %v: want it raw, the carriage return untouched", request, err)
	}
	// Every byte value, both the reply's own ends and what a terminal would act upon.
	all := make([]byte, 256)
	for i := range all {
		all[i] = byte(i)
	}
	if _, err := far.Write(all); err != nil {
		t.Fatal(err)
	}
	_ = l.SetReadDeadline(time.Now().Add(5 * time.Second))
	got := make([]byte, len(all))
	if _, err := io.ReadFull(l, got); err != nil || string(got) != string(all) {
		t.Errorf("got % X, %v", got, err)
	}
}

func TestPty_OddSpeeds(t *testing.T) {
	for _, baud := range []int{9600, 10400, 115200, 500000, 2000000} {
		if l, _ := ptyPair(t, baud); l == nil {
			t.Errorf("%d baud", baud)
		}
	}
}

func TestPty_SymbolicLink(t *testing.T) {
	far, near, err := pty.Open()
	if err != nil {
		t.Skip(err)
	}
	defer func() { _ = far.Close(); _ = near.Close() }()
	path := filepath.Join(t.TempDir(), "adapter")
	if err := os.Symlink(near.Name(), path); err != nil {
		t.Fatal(err)
	}
	l, err := Open(t.Context(), path, 0)
	if err != nil {
		t.Fatal(err)
	}
	if err := l.Close(); err != nil {
		t.Error(err)
	}
}

func TestPty_NothingIsDeadline(t *testing.T) {
	l, far := ptyPair(t, 0)
	start := time.Now()
	_ = l.SetReadDeadline(start.Add(120 * time.Millisecond))
	// bufio gives up with io.ErrNoProgress on a reader that returns (0, nil).
	if _, err := bufio.NewReader(l).ReadString('>'); !errors.Is(err, os.ErrDeadlineExceeded) {
		t.Errorf("read = %v; want os.ErrDeadlineExceeded", err)
	}
	if took := time.Since(start); took < 120*time.Millisecond {
		t.Errorf("gave up after %v, before the deadline", took)
	}
	if _, err := io.WriteString(far, ">"); err != nil {
		t.Fatal(err)
	}
	_ = l.SetReadDeadline(time.Now().Add(5 * time.Second))
	if n, err := l.Read(make([]byte, 8)); n != 1 || err != nil {
		t.Errorf("read after the deadline = %d, %v; want 1, nil", n, err)
	}
}

func TestPty_CloseEndsRead(t *testing.T) {
	l, _ := ptyPair(t, 0)
	got := make(chan error)
	go func() {
		_, err := l.Read(make([]byte, 8))
		got <- err
	}()
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	if err := <-got; !errors.Is(err, net.ErrClosed) {
		t.Errorf("Read = %v; want net.ErrClosed", err)
	}
	if err := l.Close(); err != nil {
		t.Errorf("second Close = %v", err)
	}
}

func TestPty_HangUp(t *testing.T) {
	l, far := ptyPair(t, 0)
	_ = far.Close()
	if n, err := l.Read(make([]byte, 8)); n != 0 || !errors.Is(err, io.EOF) {
		t.Errorf("Read = %d, %v; want 0, io.EOF", n, err)
	}
	if _, err := l.Write([]byte("ATZ\r")); !errors.Is(err, io.ErrClosedPipe) {
		t.Errorf("Write = %v; want io.ErrClosedPipe", err)
	}
	if err := l.Close(); err != nil {
		t.Errorf("Close = %v", err)
	}
}

// TestPty_LateWriteHitsNoOtherFile: once a port is closed its descriptor number goes to
// the next file opened, here a stand-in for the recording.
func TestPty_LateWriteHitsNoOtherFile(t *testing.T) {
	l, _ := ptyPair(t, 0)
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	for range 8 { // some of these get the freed numbers
		path := filepath.Join(t.TempDir(), "recording")
		file, err := os.Create(path)
		if err != nil {
			t.Fatal(err)
		}
		defer func() { _ = file.Close() }()
		if n, err := l.Write([]byte("ATZ\r")); n != 0 || !errors.Is(err, net.ErrClosed) {
			t.Errorf("Write after Close = %d, %v; want 0, net.ErrClosed", n, err)
		}
		if text, err := os.ReadFile(path); err != nil || len(text) != 0 {
			t.Fatalf("the recording holds %q, %v", text, err)
		}
	}
}

// fill writes until the far end's buffer is full and reports how the last Write ended.
func fill(l *Link) <-chan error {
	ended := make(chan error, 1)
	go func() {
		for {
			if _, err := l.Write(make([]byte, 4096)); err != nil {
				ended <- err
				return
			}
		}
	}()
	return ended
}

func TestPty_StuckWriteDoesNotHangClose(t *testing.T) {
	l, far := ptyPair(t, 0)
	ended := fill(l)
	full := time.NewTimer(100 * time.Millisecond) // real device: nothing reports when it is full
	<-full.C
	start := time.Now()
	if err := l.Close(); err != nil {
		t.Errorf("Close = %v", err)
	}
	if took := time.Since(start); took > closeLimit {
		t.Errorf("Close took %v, want at most %v", took, closeLimit)
	}
	// Not every driver lets go of the write when its output is thrown away; the end of
	// the far side frees it with all.
	_ = far.Close()
	if err := <-ended; !errors.Is(err, net.ErrClosed) {
		t.Errorf("the stuck Write = %v; want net.ErrClosed", err)
	}
}

func TestPty_WriteDeadline(t *testing.T) {
	l, far := ptyPair(t, 0)
	_ = l.SetWriteDeadline(time.Now().Add(100 * time.Millisecond))
	select {
	case err := <-fill(l):
		if !errors.Is(err, os.ErrDeadlineExceeded) && !errors.Is(err, io.ErrShortWrite) {
			t.Errorf("stuck Write = %v; want os.ErrDeadlineExceeded", err)
		}
	case <-time.After(5 * time.Second):
		t.Fatal("the Write is still stuck")
	}
	// The far end takes everything again: the link recovers.
	taken := make(chan string, 1)
	go func() {
		reader := bufio.NewReader(far)
		text, _ := reader.ReadString('\r')
		taken <- text
	}()
	_ = l.SetWriteDeadline(time.Now().Add(5 * time.Second))
	for err := os.ErrDeadlineExceeded; err != nil; {
		if _, err = io.WriteString(l, "AT\r"); err != nil && !errors.Is(err, os.ErrDeadlineExceeded) {
			t.Fatal(err)
		}
	}
	if text := <-taken; !strings.HasSuffix(text, "AT\r") {
		t.Errorf("far end got %d bytes; want the new request at the end", len(text))
	}
}

func TestOpen_NotASerialPort(t *testing.T) {
	path := filepath.Join(t.TempDir(), "notes.txt")
	if err := os.WriteFile(path, []byte("hello"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, target := range []string{path, t.TempDir(), "/dev/null"} {
		if _, err := Open(t.Context(), target, 0); !errors.Is(err, ErrNotSerial) {
			t.Errorf("Open(%q) = %v; want ErrNotSerial", target, err)
		}
	}
	if text, _ := os.ReadFile(path); string(text) != "hello" {
		t.Errorf("the file now holds %q", text)
	}
}

func TestPermissionAdvice_NamesTheGroup(t *testing.T) {
	path := filepath.Join(t.TempDir(), "port")
	if err := os.WriteFile(path, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if text := permissionAdvice(path); !strings.Contains(text, "group \"") {
		t.Errorf("advice %q; want the group's name", text)
	}
	if text := permissionAdvice(path + "none"); !strings.Contains(text, "group") {
		t.Errorf("advice %q; want general advice", text)
	}
}
