package link

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"regexp"
	"strings"
	"syscall"

	"github.com/judder-obd/judder/prose"

	"go.bug.st/serial"
)

// The kinds of failure of Open, for errors.Is on an *OpenError.
var (
	ErrNoPort     = newKind("no-port", "no such port")
	ErrPermission = newKind("no-permission", "permission denied")
	ErrBusy       = newKind("busy", "the port is in use by another program")
	ErrNotSerial  = newKind("not-serial", "not a serial port")
	ErrSpeed      = newKind("port-speed", "the port cannot do this speed")
	ErrAddress    = newKind("bad-address", "not an address of the form tcp://host:port")
	ErrNoHost     = newKind("no-host", "the host's name is not known")
	ErrRefused    = newKind("refused", "connection refused")
	ErrNoRoute    = newKind("no-route", "no route to the host")
	ErrTimeout    = newKind("timeout", "no answer in time")
	ErrGivenUp    = newKind("given-up", "given up before the link was open")
)

// kind is a kind of failure: a code for programs and a text for a person.
type kind struct{ code, text string }

func newKind(code, text string) error { return &kind{code, text} }

func (k *kind) Error() string { return k.text }

// LinkCause is the code of the kind. It never changes.
func (k *kind) LinkCause() string { return k.code }

// OpenError says what could not be opened, why, and what to do next. Its texts hold no
// control characters.
type OpenError struct {
	Target string // as given to Open
	Baud   int    // 0 on TCP
	Err    error  // one of the kinds above, wrapping the system's own error
	Next   string // what to do next, a sentence
}

// Error is one line: what, why, what to do next.
func (e *OpenError) Error() string {
	speed := ""
	if e.Baud > 0 {
		speed = fmt.Sprintf(" at %d baud", e.Baud)
	}
	text := fmt.Sprintf("cannot open %q%s: %s", e.Target, speed, prose.Clean(e.Err.Error()))
	if e.Next == "" {
		return text
	}
	return text + ". " + e.Next
}

// Unwrap gives the cause.
func (e *OpenError) Unwrap() error { return e.Err }

// failure is one row of what may go wrong: how to know it, its kind, what to do next.
type failure struct {
	kind error
	is   func(error) bool
	next func(target string) string
}

// failures is tried from top to bottom.
var failures = []failure{
	{ErrAddress, is(ErrAddress), say(`Write it like tcp://192.168.0.10:35000, with the numbers from the adapter's papers.`)},
	{ErrGivenUp, is(context.Canceled), say("")},
	{ErrNoHost, isDNS, say("Check the spelling, or give the adapter's number instead of its name.")},
	{ErrRefused, isAny(refusedErrors), say("The host is there but nothing listens on that port: check the port, and whether another program has the adapter already.")},
	{ErrNoRoute, isAny(noRouteErrors), say("Check that this computer is on the adapter's own Wi-Fi network.")},
	{ErrTimeout, isTimeout, say("Check that the adapter has power (ignition on), that it is in reach, and that this computer is on its network.")},
	{ErrPermission, isPermission, permissionAdvice},
	{ErrBusy, isCode(serial.PortBusy), say("Close the other program, or pull the adapter out and in again.")},
	{ErrNoPort, isMissing, portAdvice},
	{ErrSpeed, isSpeed, say("Usual speeds are 38400, 115200 and 9600 baud; the adapter's papers name its own.")},
	{ErrNotSerial, isNotSerial, portAdvice},
}

// newOpenError puts cause into words.
func newOpenError(target string, baud int, cause error) *OpenError {
	for _, f := range failures {
		if !f.is(cause) {
			continue
		}
		err := cause
		if !errors.Is(cause, f.kind) {
			err = fmt.Errorf("%w (%w)", f.kind, cause)
		}
		return &OpenError{Target: target, Baud: baud, Err: err, Next: f.next(target)}
	}
	return &OpenError{Target: target, Baud: baud, Err: cause, Next: "Pull the adapter out and in again, then try once more."}
}

func say(text string) func(string) string { return func(string) string { return text } }

func is(kind error) func(error) bool {
	return func(err error) bool { return errors.Is(err, kind) }
}

func isAny[E error](list []E) func(error) bool {
	return func(err error) bool { return oneOf(err, list) }
}

func isCode(code serial.PortErrorCode) func(error) bool {
	return func(err error) bool { return codeOf(err) == code }
}

func isDNS(err error) bool {
	var dns *net.DNSError
	return errors.As(err, &dns)
}

func isTimeout(err error) bool {
	var timed net.Error
	return errors.As(err, &timed) && timed.Timeout() ||
		errors.Is(err, context.DeadlineExceeded) || oneOf(err, timeoutErrors)
}

func isPermission(err error) bool {
	return errors.Is(err, fs.ErrPermission) || codeOf(err) == serial.PermissionDenied
}

func isMissing(err error) bool {
	return errors.Is(err, ErrNoPort) || errors.Is(err, fs.ErrNotExist) || codeOf(err) == serial.PortNotFound ||
		oneOf(err, goneErrors)
}

func isSpeed(err error) bool {
	return errors.Is(err, ErrSpeed) || codeOf(err) == serial.InvalidSpeed
}

func isNotSerial(err error) bool {
	return codeOf(err) == serial.InvalidSerialPort || errors.Is(err, syscall.EISDIR)
}

// hostPort is what an address looks like that lacks its tcp://.
var hostPort = regexp.MustCompile(`^[A-Za-z0-9.\[\]:-]+:[0-9]{1,5}$`)

// portAdvice says how an address is written, or which ports exist.
func portAdvice(target string) string {
	if hostPort.MatchString(target) {
		return "An address in the network is written tcp://" + target + "."
	}
	return missingAdvice()
}

// missingAdvice names the ports that exist.
func missingAdvice() string {
	ports, err := Ports()
	switch {
	case err != nil:
		return "The ports of this computer cannot be listed: " + prose.Clean(err.Error()) + "."
	case len(ports) == 0:
		return "This computer has no serial port now: plug the adapter in, or pair the Bluetooth one."
	}
	names := make([]string, len(ports))
	for i, p := range ports {
		names[i] = p.Path
		if p.Description != "" {
			names[i] += " (" + p.Description + ")"
		}
	}
	return "Ports on this computer: " + strings.Join(names, ", ") + "."
}
