// Package link is the byte stream between judder and an adapter: a serial port, a TCP
// connection or a pipe in memory, behind one type with the deadlines and the errors of
// a net.Conn. It is the only package that knows the serial library.
//
// The errors of Read and Write are the same on every kind of link:
//
//	os.ErrDeadlineExceeded  nothing within the deadline; the link is still good
//	io.EOF                  (Read) the far end left: unplugged, switched off, hung up
//	io.ErrClosedPipe        (Write) the far end left
//	net.ErrClosed           this side closed the link
//	io.ErrShortWrite        only part was written; the count says how much
//
// Anything else is wrapped with the name of the link.
package link

import (
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"sync/atomic"
	"time"
)

// conn is what a Link needs of the thing it stands on; net.Conn has it.
type conn interface {
	io.ReadWriteCloser
	SetReadDeadline(time.Time) error
	SetWriteDeadline(time.Time) error
}

// Link is one open way to an adapter. One goroutine may read while another writes, and
// any goroutine may close.
type Link struct {
	name   string // path or address
	serial bool
	baud   atomic.Int64 // 0 where there is no speed
	conn   conn
	closed atomic.Bool
}

// Over makes a Link of a connection that is open already; name is what String shows.
// The Link owns the connection and closes it.
func Over(conn net.Conn, name string) *Link {
	return &Link{name: name, conn: conn}
}

// Pipe gives a Link and the far end of it, joined in memory without any buffer: a write
// on one side lasts until the other side has read it. It works under testing/synctest.
func Pipe() (*Link, net.Conn) {
	near, far := net.Pipe()
	return Over(near, "pipe in memory"), far
}

// String says what the link is, for a status line: `/dev/ttyUSB0 at 38400 baud`.
func (l *Link) String() string {
	if baud := l.baud.Load(); baud > 0 {
		return fmt.Sprintf("%s at %d baud", l.name, baud)
	}
	return l.name
}

// IsSerial reports whether the link is a serial port, on which a change of speed makes
// sense and a wrong speed is a likely cause of silence.
func (l *Link) IsSerial() bool { return l.serial }

// Read waits for at least one byte, up to the read deadline, and gives what is there at
// once. It never returns 0 bytes without an error unless p is empty.
func (l *Link) Read(p []byte) (int, error) {
	n, err := l.conn.Read(p)
	switch {
	case n > 0 || len(p) == 0:
		return n, nil // an error after the data comes again with the next Read
	case err == nil:
		return 0, os.ErrDeadlineExceeded
	}
	return 0, l.plain(err, io.EOF)
}

// Write sends all of p, or says why not.
func (l *Link) Write(p []byte) (int, error) {
	n, err := l.conn.Write(p)
	switch {
	case err != nil:
		return n, l.plain(err, io.ErrClosedPipe)
	case n < len(p) && l.closed.Load():
		return n, net.ErrClosed
	case n < len(p):
		return n, io.ErrShortWrite
	}
	return n, nil
}

// SetReadDeadline sets when a Read that has found nothing gives up; the zero time means
// never. A Read that is waiting obeys the change: at once on TCP and on a pipe, within
// 50 ms on a serial port.
func (l *Link) SetReadDeadline(t time.Time) error { return l.conn.SetReadDeadline(t) }

// SetWriteDeadline sets when a Write that cannot get rid of its bytes gives up; the zero
// time means never. On a serial port it applies to the writes that begin after it, and
// bytes that the far end has not taken by then are thrown away.
func (l *Link) SetWriteDeadline(t time.Time) error { return l.conn.SetWriteDeadline(t) }

// Close closes the link; Reads and Writes that wait return net.ErrClosed. It is bounded:
// whatever the far end does or does not, it waits for them no longer than a tenth of a
// second, and a port whose driver does not let go is left behind after half a second.
// Closing again does nothing.
func (l *Link) Close() error {
	if l.closed.Swap(true) {
		return nil
	}
	return l.conn.Close()
}

// plain turns the many ways of the systems to say the same into one error each; gone is
// what to return when the far end left.
func (l *Link) plain(err, gone error) error {
	switch {
	case l.closed.Load():
		return net.ErrClosed
	case errors.Is(err, os.ErrDeadlineExceeded):
		return os.ErrDeadlineExceeded
	case errors.Is(err, net.ErrClosed):
		return net.ErrClosed
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrClosedPipe), oneOf(err, goneErrors):
		return gone
	case oneOf(err, timeoutErrors):
		return fmt.Errorf("%s: %w (%w)", l, ErrTimeout, err)
	case oneOf(err, noRouteErrors):
		return fmt.Errorf("%s: %w (%w)", l, ErrNoRoute, err)
	}
	return fmt.Errorf("%s: %w", l, err)
}

// oneOf reports whether err is any of the errors in list.
func oneOf[E error](err error, list []E) bool {
	for _, e := range list {
		if errors.Is(err, e) {
			return true
		}
	}
	return false
}
