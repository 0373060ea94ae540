package recording

import (
	"errors"
	"fmt"
	"io/fs"
	"syscall"
	"time"

	"github.com/judder-obd/judder/prose"
)

// What can be wrong with a file as a whole. They come wrapped in a [*FileError].
var (
	ErrNotRecording = errors.New("this is not a judder recording")
	ErrEmpty        = errors.New("there is nothing in it")
	ErrNewer        = errors.New("it was written by a newer version of the program")
	ErrFolder       = errors.New("this is a folder")
	ErrNotFile      = errors.New("this is not an ordinary file")
)

// What can be wrong with one line. They come in [BadLine], and the last two from
// [Writer.Append] when an entry cannot be written.
var (
	ErrChecksum      = errors.New("checksum wrong")
	ErrNoChecksum    = errors.New("no checksum")
	ErrJSON          = errors.New("not valid JSON")
	ErrNotUnderstood = errors.New("not understood")
	ErrTooLong       = errors.New("line too long")
)

// ErrClosed comes from a [Writer] that was closed.
var ErrClosed = errors.New("the recording is closed")

// FileError is what went wrong with a file, and what to do next.
type FileError struct {
	Op   string // "create", "open", "read"
	Path string
	Err  error
	Next string // what to do next, in words
}

// Error names the file, the fault and the next step, without control characters.
func (e *FileError) Error() string {
	return cleanText(fmt.Sprintf("cannot %s %s: %v; %s", e.Op, e.Path, plainCause(e.Err), e.Next))
}

// Unwrap gives the cause, for errors.Is.
func (e *FileError) Unwrap() error { return e.Err }

// plainCause drops operation and path from an operating-system error: FileError has them.
func plainCause(err error) error {
	var pathErr *fs.PathError
	if errors.As(err, &pathErr) {
		return pathErr.Err
	}
	return err
}

// NewFileError adds the next step that fits the cause. It is for any file that a person named.
func NewFileError(op, path string, err error) *FileError {
	return &FileError{Op: op, Path: path, Err: err, Next: nextStep(err)}
}

// nextSteps are what to do about a cause; the first row that fits counts.
var nextSteps = []struct {
	cause error
	next  string
}{
	{fs.ErrExist, "recordings are never overwritten: choose another name, or move the old file away"},
	{fs.ErrNotExist, "check the name and that the folder exists"},
	{syscall.ENOTDIR, "check the name and that the folder exists"},
	{fs.ErrPermission, "check who may read and write the file and its folder"},
	{ErrEmpty, "the session ended before anything was written: there is nothing to rescue, record again"},
	{ErrNewer, "open it with that version or a later one"},
	{ErrFolder, "name the file in it"},
	{ErrNotFile, "give the name of a recording"},
	{ErrNotRecording, "give a file that was recorded with judder, or import a table of readings as CSV"},
}

func nextStep(err error) string {
	for _, row := range nextSteps {
		if errors.Is(err, row.cause) {
			return row.next
		}
	}
	return "check the disk and try again"
}

// WriteError is why a recording stopped. What was written before it stays, and the rest
// of the session is not recorded, even when room comes back.
type WriteError struct {
	Path string
	At   time.Duration // time of the last entry that is in the file
	Full bool          // the disk is full
	Err  error
}

// Cause is what happened, in few words.
func (e *WriteError) Cause() string {
	if e.Full {
		return "the disk is full"
	}
	return cleanText("it cannot be written: " + plainCause(e.Err).Error())
}

// Error says what happened, what is kept and what to do next, without control characters.
func (e *WriteError) Error() string {
	what, next := e.Cause(), "check the disk"
	if e.Full {
		next = "make room"
	}
	return cleanText(fmt.Sprintf("recording to %s stopped after %s: %s; what was written before is kept, "+
		"the rest of this session is not recorded, even once the fault is gone; %s, "+
		"then start a new session", e.Path, prose.Duration(e.At), what, next))
}

// Unwrap gives the cause, for errors.Is.
func (e *WriteError) Unwrap() error { return e.Err }
