package cli

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"sync"

	"github.com/judder-obd/judder/session/recording"
)

// halves are the files that a command is writing and that are not whole yet.
type halves struct {
	mu    sync.Mutex
	ended bool
	drops map[int]func() // each takes a file away again
	next  int
}

// errEnded is the error of a file that is begun after the command has ended.
var errEnded = errors.New("the command has ended")

// begin takes note of a file that is not whole yet, with what takes it away. whole is to be called once it
// is; ok is false where the command has ended meanwhile, and the file is taken away.
func (h *halves) begin(drop func()) (whole func(), ok bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.ended {
		drop()
		return nil, false
	}
	if h.drops == nil {
		h.drops = map[int]func(){}
	}
	n := h.next
	h.next++
	h.drops[n] = drop
	return func() {
		h.mu.Lock()
		defer h.mu.Unlock()
		delete(h.drops, n)
	}, true
}

// end takes away what is not whole; nothing is begun after it.
func (h *halves) end() {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.ended = true
	for _, drop := range h.drops {
		drop()
	}
}

// writeNew writes a file that must not exist yet; one that could not be written whole is taken away
// again.
func (h *halves) writeNew(path string, write func(io.Writer) error) error {
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return recording.NewFileError("create", path, recording.ErrFolder)
	}
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%s exists; nothing is overwritten: give another name to --out", path)
	}
	if err != nil {
		return recording.NewFileError("create", path, err)
	}
	whole, ok := h.begin(func() {
		_ = f.Close() // some systems remove no file that is open
		_ = os.Remove(path)
	})
	if !ok {
		return errEnded
	}
	defer whole()
	if err := errors.Join(write(f), f.Close()); err != nil {
		_ = os.Remove(path) // the error that matters is the one being returned
		return err
	}
	return nil
}

// given writes bytes that are there already.
func given(data []byte) func(io.Writer) error {
	return func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	}
}
