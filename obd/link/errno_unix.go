//go:build unix

package link

import "syscall"

// What the system says when the far end of a link has left: a port whose device was
// unplugged or hung up, a connection that was reset. POSIX names.
var goneErrors = []syscall.Errno{
	syscall.EIO, syscall.ENXIO, syscall.ENODEV, syscall.EPIPE, syscall.ECONNRESET,
}

// What the system says when a connection cannot be made.
var (
	refusedErrors = []syscall.Errno{syscall.ECONNREFUSED, syscall.ECONNRESET}
	noRouteErrors = []syscall.Errno{
		syscall.EHOSTUNREACH, syscall.ENETUNREACH, syscall.EHOSTDOWN, syscall.ENETDOWN,
	}
	timeoutErrors = []syscall.Errno{syscall.ETIMEDOUT}
)

// refusedSpeedCloses: a port that refuses a speed stays open at the old one.
const refusedSpeedCloses = false
