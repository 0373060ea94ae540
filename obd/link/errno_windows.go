package link

import "syscall"

// What the system says when the far end of a link has left. Numbers from the public list
// of Windows system error codes: ERROR_BAD_COMMAND 22, ERROR_GEN_FAILURE 31,
// ERROR_DEVICE_NOT_CONNECTED 1167, WSAECONNABORTED 10053, WSAECONNRESET 10054;
// ERROR_ACCESS_DENIED 5 is what many USB drivers give once unplugged (common practice).
var goneErrors = []syscall.Errno{5, 22, 31, 1167, 10053, 10054}

// What the system says when a connection cannot be made: WSAECONNREFUSED, WSAECONNRESET, WSAENETDOWN,
// WSAENETUNREACH, WSAEHOSTDOWN, WSAEHOSTUNREACH, WSAETIMEDOUT.
var (
	refusedErrors = []syscall.Errno{10061, 10054}
	noRouteErrors = []syscall.Errno{10050, 10051, 10064, 10065}
	timeoutErrors = []syscall.Errno{10060}
)

// refusedSpeedCloses: the serial library closes a port that refuses a speed.
const refusedSpeedCloses = true
