package link

import (
	"context"
	"errors"
	"io/fs"
	"net"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
	"unicode"

	"go.bug.st/serial"
)

func TestOpen_BadAddress(t *testing.T) {
	for _, target := range []string{
		"http://10.0.0.1:35000", "tcp://", "tcp://:35000", "tcp://host", "tcp://host:99999",
		"tcp://host:port", "tcp://host:1/path", "tcp://user@host:1", "tcp://ho\x1bst:1", "tcp://[::1", "://",
	} {
		_, err := Open(t.Context(), target, 0)
		var open *OpenError
		if !errors.As(err, &open) || !errors.Is(err, ErrAddress) {
			t.Errorf("Open(%q) = %v; want *OpenError, ErrAddress", target, err)
			continue
		}
		if open.Target != target || !strings.Contains(err.Error(), "tcp://192.168.0.10:35000") {
			t.Errorf("Open(%q) = %v; want the target and an example", target, err)
		}
		if strings.ContainsFunc(err.Error(), unicode.IsControl) {
			t.Errorf("Open(%q): control character in %q", target, err.Error())
		}
	}
}

func TestOpen_Refused(t *testing.T) {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	address := listener.Addr().String()
	_ = listener.Close() // nobody listens there now
	if _, err := Open(t.Context(), "tcp://"+address, 0); !errors.Is(err, ErrRefused) {
		t.Errorf("Open = %v; want ErrRefused", err)
	}
}

func TestOpen_GivenUp(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	for _, target := range []string{"tcp://127.0.0.1:9", "/dev/no-such-port"} {
		if _, err := Open(ctx, target, 0); !errors.Is(err, ErrGivenUp) || !errors.Is(err, context.Canceled) {
			t.Errorf("Open(%q) = %v; want ErrGivenUp", target, err)
		}
	}
}

func TestOpen_NoSuchPort(t *testing.T) {
	for _, target := range []string{filepath.Join(t.TempDir(), "ttyNONE"), ""} {
		_, err := Open(t.Context(), target, 115200)
		if !errors.Is(err, ErrNoPort) {
			t.Errorf("Open(%q) = %v; want ErrNoPort", target, err)
		}
		var open *OpenError
		if errors.As(err, &open) && (open.Baud != 115200 || open.Next == "") {
			t.Errorf("Open(%q) = %+v; want the speed and what to do next", target, open)
		}
	}
}

// TestNewOpenError_Kinds: each cause that a system may give, its kind and the advice.
func TestNewOpenError_Kinds(t *testing.T) {
	rows := []struct {
		cause, kind error
		advice      string
	}{
		{coded(serial.PortBusy), ErrBusy, "Close the other program"},
		{coded(serial.PermissionDenied), ErrPermission, "group"},
		{fs.ErrPermission, ErrPermission, "group"},
		{coded(serial.PortNotFound), ErrNoPort, "computer"},
		{syscall.ENOENT, ErrNoPort, "computer"},
		{coded(serial.InvalidSerialPort), ErrNotSerial, "computer"},
		{coded(serial.InvalidSpeed), ErrSpeed, "38400"},
		{&net.DNSError{Name: "adapter", IsNotFound: true}, ErrNoHost, "spelling"},
		{context.DeadlineExceeded, ErrTimeout, "power"},
		{context.Canceled, ErrGivenUp, ""},
		{refusedErrors[0], ErrRefused, "nothing listens"},
		{noRouteErrors[0], ErrNoRoute, "Wi-Fi"},
		{timeoutErrors[0], ErrTimeout, "reach"},
		{errors.New("odd\x1b[2J"), nil, "once more"},
	}
	for _, r := range rows {
		err := newOpenError("/dev/ttyX", 38400, r.cause)
		if !errors.Is(err, r.cause) || r.kind != nil && !errors.Is(err, r.kind) {
			t.Errorf("cause %v: %v; want kind %v and the cause", r.cause, err, r.kind)
		}
		if !strings.Contains(err.Next, r.advice) {
			t.Errorf("cause %v: advice %q; want %q in it", r.cause, err.Next, r.advice)
		}
		if text := err.Error(); !strings.Contains(text, "/dev/ttyX") || strings.ContainsFunc(text, unicode.IsControl) {
			t.Errorf("cause %v: text %q; want the target, no control characters", r.cause, text)
		}
	}
}

func TestOpen_CancelledWhileDialling(t *testing.T) {
	// 192.0.2.1 is TEST-NET-1 (RFC 5737): nobody answers, or there is no route at once.
	ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer cancel()
	start := time.Now()
	_, err := Open(ctx, "tcp://192.0.2.1:35000", 0)
	var open *OpenError
	if !errors.As(err, &open) {
		t.Fatalf("Open = %v; want *OpenError", err)
	}
	if took := time.Since(start); took > 2*time.Second {
		t.Errorf("took %v; the context gave 50 ms", took)
	}
}

func TestPorts(t *testing.T) {
	ports, err := Ports()
	if err != nil {
		t.Skipf("no list here: %v", err)
	}
	for _, p := range ports {
		if p.Path == "" || strings.ContainsFunc(p.Description, unicode.IsControl) {
			t.Errorf("port %q", p.Path)
		}
	}
}

func TestKindOf(t *testing.T) {
	for path, want := range map[string]string{
		"/dev/ttyUSB0": "USB serial adapter", "/dev/rfcomm0": "Bluetooth", "/dev/ttyS4": "built-in serial port",
		"/dev/cu.usbserial-1420": "USB serial adapter", "COM3": "", "/dev/pts/3": "",
	} {
		if got := kindOf(path); got != want {
			t.Errorf("kindOf(%q) = %q, want %q", path, got, want)
		}
	}
}
