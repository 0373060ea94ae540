package link

import (
	"errors"
	"io"
	"sync"
	"time"

	"go.bug.st/serial"
)

// port is the part of serial.Port that is used here; tests put a fake in its place.
type port interface {
	io.ReadWriteCloser
	SetReadTimeout(time.Duration) error
	ResetOutputBuffer() error
	SetMode(*serial.Mode) error
}

// serialConn gives a serial port the manners of a net.Conn. The library's handle stays
// valid to it after Close, and its number may by then belong to another file; so every
// call into the library passes through enter and leave, and Close first shuts that door
// and waits, within bounds, until all have left.
type serialConn struct {
	port port

	reading sync.Mutex    // the library's read timeout is not guarded
	timeout time.Duration // as set in the library; -1 when not set

	sending chan struct{} // holds a token while a write is in the driver
	closing chan struct{} // closed by Close

	mu            sync.Mutex
	closed, stuck bool
	inside        int           // calls now in the library
	writers       int           // of these, writes
	left          chan struct{} // a token is put in when the last one leaves after closing
	readBy        time.Time
	writeBy       time.Time
}

func newSerialConn(p port) *serialConn {
	return &serialConn{
		port: p, timeout: -1, left: make(chan struct{}, 1),
		sending: make(chan struct{}, 1), closing: make(chan struct{}),
	}
}

func (c *serialConn) enter(writers int) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.closed {
		return false
	}
	c.inside++
	c.writers += writers
	return true
}

func (c *serialConn) leave(writers int) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.inside--
	c.writers -= writers
	if c.closed && c.inside == 0 {
		c.left <- struct{}{} // once: nobody enters after closing
	}
}

func (c *serialConn) SetReadDeadline(t time.Time) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.readBy = t
	return nil
}

func (c *serialConn) SetWriteDeadline(t time.Time) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.writeBy = t
	return nil
}

// notPortError is the code of an error that is not the serial library's.
const notPortError serial.PortErrorCode = -1

// codeOf is the serial library's code for err.
func codeOf(err error) serial.PortErrorCode {
	var coded interface{ Code() serial.PortErrorCode }
	if errors.As(err, &coded) {
		return coded.Code()
	}
	return notPortError
}
