package link

import (
	"errors"
	"fmt"
	"io"
	"net"

	"go.bug.st/serial"
)

// mode is 8 data bits, no parity, 1 stop bit (ELM327 data sheet, p. 70) at a speed in baud.
func mode(baud int) *serial.Mode {
	return &serial.Mode{BaudRate: baud, DataBits: 8, Parity: serial.NoParity, StopBits: serial.OneStopBit}
}

// SetBaud changes the speed of an open serial port, in baud; data bits, parity and stop
// bit stay. What has come in and was not read yet stays to be read, and deadlines stay. It
// does not wait for what was written to leave: let the adapter answer first. A driver that
// can only come near the speed does that and does not say so.
//
// Errors: ErrNotSerial, which is also errors.ErrUnsupported, on TCP and on a pipe; ErrSpeed when
// baud is not above 0 or the driver refuses it: the port stays at its old speed, but on Windows
// any failure ends the link, and a refusal looks like a loss; io.ErrClosedPipe when the adapter is
// gone; net.ErrClosed after Close.
func (l *Link) SetBaud(baud int) error {
	c, ok := l.conn.(*serialConn)
	switch {
	case !ok:
		return fmt.Errorf("%s has no speed to set: %w (%w)", l, ErrNotSerial, errors.ErrUnsupported)
	case baud <= 0:
		return fmt.Errorf("%s: %w: %d baud", l, ErrSpeed, baud)
	}
	if err := c.setMode(mode(baud)); err != nil {
		err = l.plain(err, io.ErrClosedPipe)
		if errors.Is(err, net.ErrClosed) || errors.Is(err, io.ErrClosedPipe) {
			return err
		}
		return fmt.Errorf("%w: %d baud (%w)", ErrSpeed, baud, err)
	}
	l.baud.Store(int64(baud))
	return nil
}

// setMode passes a mode to the driver, which keeps what it has received.
func (c *serialConn) setMode(m *serial.Mode) error {
	if !c.enter(0) {
		return net.ErrClosed
	}
	defer c.leave(0)
	if c.isStuck() {
		return io.EOF
	}
	err := c.plain(c.port.SetMode(m))
	if err != nil && refusedSpeedCloses {
		c.giveUp()
	}
	return err
}
