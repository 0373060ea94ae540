package link

import (
	"bytes"
	"errors"
	"io"
	"net"
	"os"
	"sync"
	"time"

	"go.bug.st/serial"
)

// Times of a serial port. No standard sets them.
const (
	readSlice  = 50 * time.Millisecond  // longest single wait in the driver, so that Close and new deadlines are seen
	readGrace  = 2 * time.Second        // how long past its slice a driver may keep a read before it is given up
	closeGrace = 80 * time.Millisecond  // how long Close waits for reads and writes to leave: longer than a slice
	closeLimit = 500 * time.Millisecond // after which Close leaves the rest to the background
	flushEvery = 20 * time.Millisecond  // between attempts to free a write that is stuck
	flushTries = 2                      // after so many it will not be freed; it is in the driver, with its port, for good
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

// Read waits in slices, so that a change of the deadline and a Close are seen soon and a
// Close never pulls the handle from under a read. Data ends the wait at once.
func (c *serialConn) Read(p []byte) (int, error) {
	if len(p) == 0 {
		return 0, nil
	}
	c.reading.Lock()
	defer c.reading.Unlock()
	for {
		wait, err := c.nextSlice()
		if err != nil {
			return 0, err
		}
		n, err := c.readSlice(p, wait)
		if n > 0 || err != nil {
			return n, err
		}
	}
}

// nextSlice says how long the next wait in the driver may be.
func (c *serialConn) nextSlice() (time.Duration, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.stuck {
		return 0, io.EOF
	}
	if c.readBy.IsZero() {
		return readSlice, nil
	}
	rest := time.Until(c.readBy)
	if rest <= 0 {
		return 0, os.ErrDeadlineExceeded
	}
	// The timeout of Windows is in whole milliseconds, and 0 would spin.
	return min(max(rest, time.Millisecond), readSlice), nil
}

// readSlice is one read in the driver. A driver that keeps it far past its time, as some
// of Windows do, is given up: the port is closed under it, which ends the read.
func (c *serialConn) readSlice(p []byte, wait time.Duration) (int, error) {
	if !c.enter(0) {
		return 0, net.ErrClosed
	}
	defer c.leave(0)
	if c.timeout != wait {
		if err := c.port.SetReadTimeout(wait); err != nil {
			return 0, io.EOF // the port was good when it was opened: its device is gone
		}
		c.timeout = wait
	}
	watchdog := time.AfterFunc(wait+readGrace, c.giveUp)
	n, err := c.port.Read(p)
	watchdog.Stop()
	return n, c.plain(err)
}

// giveUp closes the port under a read that does not come back.
func (c *serialConn) giveUp() {
	c.mu.Lock()
	c.stuck = true
	c.mu.Unlock()
	_ = c.port.Close() // the read that waits reports the loss
}

// isStuck reports whether the port has been given up.
func (c *serialConn) isStuck() bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.stuck
}

// plain distinguishes a hang-up of the far end from our own Close; the library gives both the
// same code.
func (c *serialConn) plain(err error) error {
	if err == nil {
		return nil
	}
	c.mu.Lock()
	closed, stuck := c.closed, c.stuck
	c.mu.Unlock()
	switch {
	case closed:
		return net.ErrClosed
	case stuck || codeOf(err) == serial.PortClosed:
		return io.EOF
	}
	return err
}

// Write passes p to the driver, which works on a copy of it in the background, so that the
// caller comes back at its deadline and at a Close even from a driver that is stuck; at a
// deadline what the driver holds is thrown away. One write is in the driver at a time.
func (c *serialConn) Write(p []byte) (int, error) {
	c.mu.Lock()
	by := c.writeBy
	c.mu.Unlock()
	var late <-chan time.Time // never, without a deadline
	if !by.IsZero() {
		rest := time.Until(by)
		if rest <= 0 {
			return 0, os.ErrDeadlineExceeded
		}
		limit := time.NewTimer(rest)
		defer limit.Stop()
		late = limit.C
	}
	select {
	case c.sending <- struct{}{}:
	case <-late:
		c.flush()
		return 0, os.ErrDeadlineExceeded
	case <-c.closing:
		return 0, net.ErrClosed
	}
	return c.writeBehind(bytes.Clone(p), late)
}

// writeBehind lets a goroutine do the write and waits for it until late or the Close.
func (c *serialConn) writeBehind(p []byte, late <-chan time.Time) (int, error) {
	type written struct {
		n   int
		err error
	}
	done := make(chan written, 1)
	go func() {
		n, err := c.writeNow(p)
		<-c.sending
		done <- written{n, err}
	}()
	select {
	case w := <-done:
		return w.n, w.err
	case <-late:
		c.flush()
		return 0, os.ErrDeadlineExceeded
	case <-c.closing:
		return 0, net.ErrClosed
	}
}

// writeNow is one write in the driver, for as long as it takes.
func (c *serialConn) writeNow(p []byte) (int, error) {
	if !c.enter(1) {
		return 0, net.ErrClosed
	}
	defer c.leave(1)
	if c.isStuck() {
		return 0, io.EOF
	}
	n, err := c.port.Write(p)
	return n, c.plain(err)
}

// flush throws away what the driver holds for sending, which frees a stuck write with
// many drivers. It fails where there is nothing to throw away.
func (c *serialConn) flush() {
	if c.enter(0) {
		_ = c.port.ResetOutputBuffer()
		c.leave(0)
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

// errSlowClose is returned when a port is still closing after closeLimit: some drivers
// wait for output that nobody takes. The closing goes on in the background.
var errSlowClose = errors.New("the port's driver does not let go of the port; unplug the adapter if it cannot be opened again")

// Close shuts the door, waits within bounds until reads and writes have left, and closes
// the port.
func (c *serialConn) Close() error {
	c.mu.Lock()
	if c.closed {
		c.mu.Unlock()
		return nil
	}
	c.closed = true
	close(c.closing)
	busy := c.inside > 0
	c.mu.Unlock()

	done := make(chan error, 1)
	go func() {
		if busy {
			c.awaitLeaving()
		}
		done <- c.port.Close()
	}()
	limit := time.NewTimer(closeLimit)
	defer limit.Stop()
	select {
	case err := <-done:
		return err
	case <-limit.C:
		return errSlowClose
	}
}

// awaitLeaving waits until nobody is in the library, helping writes out that are stuck.
func (c *serialConn) awaitLeaving() {
	limit := time.NewTimer(closeGrace)
	defer limit.Stop()
	flush := time.NewTicker(flushEvery)
	defer flush.Stop()
	for tries := 0; ; {
		select {
		case <-c.left:
			return
		case <-limit.C:
			return
		case <-flush.C:
			c.mu.Lock()
			stuck, others := c.writers > 0, c.inside > c.writers
			c.mu.Unlock()
			switch {
			case stuck && tries < flushTries:
				tries++
				_ = c.port.ResetOutputBuffer() // fails where there is nothing to throw away
			case stuck && !others:
				return
			}
		}
	}
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
