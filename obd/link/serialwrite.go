package link

import (
	"bytes"
	"io"
	"net"
	"os"
	"time"
)

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
