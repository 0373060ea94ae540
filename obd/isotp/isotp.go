// Package isotp reassembles messages from the frames of ISO 15765-2 (transport on CAN). It is
// pure: frames go in, payloads come out, and it knows neither adapter nor clock.
package isotp

import (
	"errors"
	"fmt"
)

// What can be wrong with a frame. Every violation drops the message in progress; the next
// first or single frame begins a new one.
var (
	ErrEmpty      = errors.New("frame has no bytes")
	ErrType       = errors.New("frame type is none of single, first, consecutive, flow control")
	ErrLength     = errors.New("length in the frame does not fit the frame")
	ErrUnexpected = errors.New("consecutive frame without a first frame")
	ErrSequence   = errors.New("consecutive frame out of sequence")
	ErrCutOff     = errors.New("message cut off by the beginning of another")
)

// FrameError is a violation with its frame.
type FrameError struct {
	Frame []byte // a copy of the frame, protocol control byte first
	Err   error
}

func (e *FrameError) Error() string { return fmt.Sprintf("ISO-TP frame % X: %v", e.Frame, e.Err) }

// Unwrap gives the kind of the violation, for errors.Is.
func (e *FrameError) Unwrap() error { return e.Err }

// Frames is the number of CAN frames that a payload of n bytes takes: 1 up to 7 bytes,
// else one first frame of 6 and consecutive frames of 7 (ISO 15765-2, as given in the
// Linux kernel's documentation of the protocol).
func Frames(n int) int {
	if n <= 7 {
		return 1
	}
	return 1 + (n-6+6)/7
}

// Assembler reassembles the messages of one sender. The zero value is ready.
type Assembler struct {
	buf  []byte
	want int  // length of the message in progress; 0 when there is none
	next byte // sequence number of the next consecutive frame
}

// Pending reports whether a message in progress waits for consecutive frames.
func (a *Assembler) Pending() bool { return a.want > 0 }

// Reset drops the message in progress.
func (a *Assembler) Reset() { a.want, a.buf = 0, a.buf[:0] }

// Push takes one frame, protocol control byte first and any padding included. It returns
// the payload when the frame completes one, else nil. The payload is valid until the next
// Push. Flow control frames (another tester's) are skipped.
//
//	0L         single frame, L bytes follow
//	1L LL      first frame, 12-bit length, 6 bytes follow
//	2S         consecutive frame, sequence S = 1..F, 0, 1, ...; 7 bytes follow
//	3F BS ST   flow control
//
// When a new message begins before the last is whole, the error is ErrCutOff, and the payload
// is that of the new message if it is whole. Every other error comes without a payload.
func (a *Assembler) Push(frame []byte) ([]byte, error) {
	if len(frame) == 0 {
		return nil, a.fail(frame, ErrEmpty)
	}
	switch frame[0] >> 4 {
	case 0:
		return a.single(frame)
	case 1:
		return nil, a.first(frame)
	case 2:
		return a.consecutive(frame)
	case 3:
		return nil, nil
	}
	return nil, a.fail(frame, ErrType)
}

func (a *Assembler) single(frame []byte) ([]byte, error) {
	n := int(frame[0])
	if n == 0 || n > 7 || len(frame) < 1+n || len(frame) > 8 {
		return nil, a.fail(frame, ErrLength)
	}
	var err error
	if a.Pending() {
		err = a.fail(frame, ErrCutOff)
	}
	return frame[1 : 1+n], err
}

func (a *Assembler) first(frame []byte) error {
	if len(frame) != 8 {
		return a.fail(frame, ErrLength)
	}
	n := int(frame[0]&0x0F)<<8 | int(frame[1])
	if n < 8 {
		return a.fail(frame, ErrLength)
	}
	var err error
	if a.Pending() {
		err = a.fail(frame, ErrCutOff)
	}
	a.buf = append(a.buf[:0], frame[2:]...)
	a.want, a.next = n, 1
	return err
}

func (a *Assembler) consecutive(frame []byte) ([]byte, error) {
	if !a.Pending() {
		return nil, a.fail(frame, ErrUnexpected)
	}
	if frame[0]&0x0F != a.next {
		return nil, a.fail(frame, ErrSequence)
	}
	rest := a.want - len(a.buf)
	if len(frame) != 1+min(rest, 7) && len(frame) != 8 { // cut at its length, or padded whole
		return nil, a.fail(frame, ErrLength)
	}
	a.buf = append(a.buf, frame[1:1+min(rest, 7)]...)
	a.next = (a.next + 1) & 0x0F
	if len(a.buf) < a.want {
		return nil, nil
	}
	a.want = 0
	return a.buf, nil
}

// fail drops the message in progress and wraps the violation.
func (a *Assembler) fail(frame []byte, err error) error {
	a.Reset()
	return &FrameError{Frame: append([]byte(nil), frame...), Err: err}
}
