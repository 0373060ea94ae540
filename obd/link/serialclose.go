package link

import (
	"errors"
	"time"
)

// Times of a close. No standard sets them.
const (
	closeGrace = 80 * time.Millisecond  // how long Close waits for reads and writes to leave: longer than a slice
	closeLimit = 500 * time.Millisecond // after which Close leaves the rest to the background
	flushEvery = 20 * time.Millisecond  // between attempts to free a write that is stuck
	flushTries = 2                      // after so many it will not be freed; it is in the driver, with its port, for good
)

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
