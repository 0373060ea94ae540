package link

import (
	"net"
	"syscall"
)

// ackAtOnce has the kernel acknowledge what comes at once. It delays that by up to 40 ms in
// the hope of data to send with it; an adapter that sends line and prompt apart and waits for
// the first to be acknowledged (RFC 896) then loses this time on every exchange: 43 ms instead of
// 0.03 ms, measured. The kernel forgets the setting again (tcp(7), TCP_QUICKACK), so it is made
// before every Read.
type ackAtOnce struct {
	*net.TCPConn
	raw syscall.RawConn
}

func quick(c *net.TCPConn) conn {
	raw, err := c.SyscallConn()
	if err != nil {
		return c
	}
	return &ackAtOnce{c, raw}
}

func (c *ackAtOnce) Read(p []byte) (int, error) {
	// Where it fails the kernel acknowledges when it likes.
	_ = c.raw.Control(func(fd uintptr) {
		_ = syscall.SetsockoptInt(int(fd), syscall.IPPROTO_TCP, syscall.TCP_QUICKACK, 1)
	})
	return c.TCPConn.Read(p)
}
