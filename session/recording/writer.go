package recording

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"sync/atomic"
	"time"
)

// syncEvery is how much of a drive a power cut may cost.
const syncEvery = time.Second

// File is what a [Writer] writes to. Writes go to the end of it, also after Truncate.
// Sync may be called while a Write is under way.
type File interface {
	io.Writer
	Sync() error
	Truncate(size int64) error
	Close() error
}

// Writer appends the entries of a session to a file: one line an entry, handed to the
// system at once, so that a crash of the program loses nothing; and forced to the disk
// once a second by a goroutine of its own, so that a power cut loses about a second.
//
// A write error stops the recording for good and comes back, the same value, from every
// later call, so that the session can report it once and go on. Methods may be called
// from several goroutines.
type Writer struct {
	mu    sync.Mutex
	file  File
	path  string
	buf   []byte
	size  int64 // bytes in whole lines
	torn  bool  // a piece of a line may lie after size
	err   error // why the recording stopped
	count End

	closed bool
	noCopy bool // the file could not be written again

	place      atomic.Uint32 // a Place
	dirty      atomic.Bool   // something was written since the last sync
	stop, done chan struct{}
}

// Create starts a recording in a new file. It never overwrites: when the file is there
// the error, a [*FileError], is fs.ErrExist, or ErrFolder.
func Create(path string, h Header) (*Writer, error) {
	file, err := create(path)
	if err != nil {
		if info, statErr := os.Stat(path); statErr == nil && info.IsDir() {
			err = ErrFolder
		}
		return nil, NewFileError("create", path, err)
	}
	w, err := NewWriter(file, path, h)
	if err != nil {
		// The file is ours and holds no whole line; a close error would add nothing.
		_ = file.Close()
		_ = os.Remove(path)
		return nil, err
	}
	syncDir(filepath.Dir(path))
	return w, nil
}

// syncDir makes the name of a new file survive a power cut. Some systems cannot do it,
// and there is nothing to do about that.
func syncDir(dir string) {
	if d, err := os.Open(dir); err == nil {
		_ = d.Sync()
		_ = d.Close()
	}
}

// NewWriter starts a recording in an open, empty file; path is for messages only. On
// error the file is left open. The Writer owns the file until Close.
func NewWriter(file File, path string, h Header) (*Writer, error) {
	line := headerLine(&h)
	if len(line) > maxLine {
		return nil, NewFileError("create", path, ErrTooLong)
	}
	w := &Writer{file: file, path: path, stop: make(chan struct{}), done: make(chan struct{})}
	if err := w.put(line); err != nil {
		return nil, &FileError{Op: "create", Path: path, Err: err.Err, Next: "make room or choose another folder"}
	}
	go w.syncLoop()
	return w, nil
}

// Append writes one entry. Besides the error that stopped the recording, it returns
// ErrNotUnderstood and ErrTooLong for an entry that the format cannot hold: that entry is
// left out and the recording goes on.
func (w *Writer) Append(e Entry) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	if err := w.ready(); err != nil {
		return err
	}
	line, err := encodeEntry(w.buf, &e)
	w.buf = line
	if err != nil {
		return err
	}
	if err := w.put(line); err != nil {
		return err
	}
	w.count.Entries++
	if e.Kind == KindExchange {
		w.count.Exchanges++
	}
	w.count.Duration = max(w.count.Duration, micro(e.time()))
	return nil
}

// About writes what became known of the session after its start.
func (w *Writer) About(a About) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	if err := w.ready(); err != nil {
		return err
	}
	w.buf = appendAbout(w.buf[:0], &a)
	if len(w.buf) > maxLine {
		return ErrTooLong
	}
	if err := w.put(w.buf); err != nil {
		return err
	}
	return nil
}

// ready is why nothing more can be written; nil when all is well.
func (w *Writer) ready() error {
	if w.err == nil && w.closed {
		return ErrClosed
	}
	return w.err
}

// Err gives the error that stopped the recording; nil while all is well.
func (w *Writer) Err() error {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.err
}

// Close writes the end record and closes the file. When the recording had stopped before,
// it tries to leave a clean end that has why, and returns the error that stopped it. A
// second Close returns ErrClosed.
func (w *Writer) Close(why string) error {
	w.mu.Lock()
	again := w.closed
	w.closed = true
	w.mu.Unlock()
	if again {
		return ErrClosed
	}
	close(w.stop) // with the lock free: the syncing goroutine may be waiting for it
	<-w.done
	w.look()

	w.mu.Lock()
	defer w.mu.Unlock()
	if w.err != nil {
		w.closeBroken()
		return w.err
	}
	w.count.Why = why
	return w.finish()
}

// finish ends a healthy recording.
func (w *Writer) finish() error {
	if err := w.put(appendEnd(w.buf[:0], &w.count)); err != nil {
		_ = w.file.Close()
		return err
	}
	if err := w.file.Sync(); err != nil && !cannotSync(err) {
		_ = w.file.Close()
		return w.fail(err)
	}
	if err := w.file.Close(); err != nil {
		return w.fail(err)
	}
	return nil
}

// closeBroken leaves the best end it can in a file that could not be written. Errors add
// nothing here: the recording has failed already and the caller knows.
func (w *Writer) closeBroken() {
	w.count.Broken, w.count.Why = true, WhyWriteError
	var we *WriteError
	if errors.As(w.err, &we) && we.Full {
		w.count.Why = WhyDiskFull
	}
	line := appendEnd(nil, &w.count)
	w.cutTorn()
	if w.torn {
		line = append([]byte{'\n'}, line...) // the torn piece becomes a line of its own
	}
	if n, err := w.file.Write(line); err != nil && n > 0 {
		w.torn = true
		w.cutTorn()
	}
	_ = w.file.Sync()
	_ = w.file.Close()
}

// put writes one line whole, or stops the recording.
func (w *Writer) put(line []byte) *WriteError {
	n, err := w.file.Write(line)
	if err == nil && n < len(line) {
		err = io.ErrShortWrite
	}
	if err != nil {
		w.torn = n > 0
		w.cutTorn()
		return w.fail(err)
	}
	w.size += int64(n)
	w.dirty.Store(true)
	return nil
}

// cutTorn takes a piece of a line off the end of the file, if it can.
func (w *Writer) cutTorn() {
	if w.torn && w.file.Truncate(w.size) == nil {
		w.torn = false
	}
}

// fail stops the recording.
func (w *Writer) fail(cause error) *WriteError {
	full := slices.ContainsFunc(fullCauses[:], func(f error) bool { return errors.Is(cause, f) })
	err := &WriteError{Path: w.path, At: w.count.Duration, Full: full, Err: cause}
	w.err = err
	return err
}
