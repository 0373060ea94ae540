package link

import (
	"io"
	"net"
	"os"
	"time"

	"go.bug.st/serial"
)

// Times of a read. No standard sets them.
const (
	readSlice = 50 * time.Millisecond // longest single wait in the driver, so that Close and new deadlines are seen
	readGrace = 2 * time.Second       // how long past its slice a driver may keep a read before it is given up
)

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
