package link

import (
	"context"
	"fmt"
	"net"
	"net/url"
	"strings"
	"time"

	"github.com/judder-obd/judder/prose"

	"go.bug.st/serial"
)

// DefaultBaud is the speed of an ELM327-style adapter as delivered (ELM327 data sheet:
// 38400 baud with pin 6 high; USB adapters are often set to 115200, common practice).
const DefaultBaud = 38400

// tcpScheme begins a target that is an address on a network.
const tcpScheme = "tcp://"

// Times of a TCP link. No standard sets them. A Wi-Fi adapter that is switched off says
// nothing; keep-alive finds it out in about ten seconds.
const (
	dialTimeout    = 5 * time.Second
	keepAliveIdle  = 4 * time.Second
	keepAliveEvery = 2 * time.Second
	keepAliveCount = 3
)

// Open opens the way to an adapter. The target is "tcp://host:port" or the path of a
// serial port ("/dev/ttyUSB0", "COM3"; a symbolic link or a pseudo-terminal will do).
// A serial port is set to 8 data bits, no parity, 1 stop bit at the given speed in baud;
// 0 means DefaultBaud. Errors are *OpenError. Open returns when ctx is done.
func Open(ctx context.Context, target string, baud int) (*Link, error) {
	if OnNetwork(target) {
		return openTCP(ctx, target)
	}
	if baud == 0 {
		baud = DefaultBaud
	}
	return openSerial(ctx, target, baud)
}

// OnNetwork reports whether a target is an address on a network, which has no serial speed.
func OnNetwork(target string) bool { return strings.Contains(target, "://") }

func openTCP(ctx context.Context, target string) (*Link, error) {
	address, err := tcpAddress(target)
	if err != nil {
		return nil, newOpenError(target, 0, err)
	}
	dialer := net.Dialer{Timeout: dialTimeout, KeepAliveConfig: net.KeepAliveConfig{
		Enable: true, Idle: keepAliveIdle, Interval: keepAliveEvery, Count: keepAliveCount,
	}}
	conn, err := dialer.DialContext(ctx, "tcp", address)
	if err != nil {
		return nil, newOpenError(target, 0, err)
	}
	l := Over(conn, tcpScheme+address)
	if tcp, ok := conn.(*net.TCPConn); ok {
		_ = tcp.SetNoDelay(true) // the default of Go, said here because every reply waits on it
		l.conn = quick(tcp)
	}
	return l, nil
}

// tcpAddress takes host and port out of "tcp://host:port".
func tcpAddress(target string) (string, error) {
	u, err := url.Parse(target)
	switch {
	case err != nil:
		return "", fmt.Errorf("%w: %w", ErrAddress, err)
	case u.Scheme != "tcp":
		return "", fmt.Errorf("%w: it begins with %q", ErrAddress, u.Scheme+"://")
	case u.Hostname() == "":
		return "", fmt.Errorf("%w: the host is missing", ErrAddress)
	case u.Port() == "":
		return "", fmt.Errorf("%w: the port is missing", ErrAddress)
	case u.Path != "" && u.Path != "/", u.RawQuery != "", u.Fragment != "", u.User != nil:
		return "", fmt.Errorf("%w: there is more than a host and a port", ErrAddress)
	}
	if _, err := net.LookupPort("tcp", u.Port()); err != nil {
		return "", fmt.Errorf("%w: port %s is not one of 0 to 65535", ErrAddress, u.Port())
	}
	return u.Host, nil
}

// openSerial opens a port. The library cannot be interrupted, and a port behind which a
// Bluetooth link must first be made may keep it for many seconds: when ctx is done, the
// port is closed as soon as it comes.
func openSerial(ctx context.Context, path string, baud int) (*Link, error) {
	if err := ctx.Err(); err != nil {
		return nil, newOpenError(path, baud, err)
	}
	if path == "" || baud < 0 {
		return nil, newOpenError(path, baud, badRequest(path))
	}
	type result struct {
		port serial.Port
		err  error
	}
	opened := make(chan result, 1)
	go func() {
		// InitialStatusBits stays nil: a pseudo-terminal has no modem lines, and Open
		// would fail on it.
		p, err := serial.Open(path, mode(baud))
		opened <- result{p, err}
	}()
	select {
	case r := <-opened:
		if r.err != nil {
			return nil, newOpenError(path, baud, r.err)
		}
		l := &Link{name: prose.Clean(path), serial: true, conn: newSerialConn(r.port)}
		l.baud.Store(int64(baud))
		return l, nil
	case <-ctx.Done():
		go func() {
			if r := <-opened; r.err == nil {
				_ = r.port.Close() // nobody waits for it any more
			}
		}()
		return nil, newOpenError(path, baud, ctx.Err())
	}
}

// badRequest is what is wrong with a request that need not be tried.
func badRequest(path string) error {
	if path == "" {
		return ErrNoPort
	}
	return ErrSpeed
}
