package recording

import (
	"errors"
	"syscall"
	"time"
)

// syncLoop forces the file to the disk once a second, outside the lock: on a slow card it
// takes many milliseconds, which the dialogue with the car must not wait for. It looks after the file's
// place too.
func (w *Writer) syncLoop() {
	defer close(w.done)
	tick := time.NewTicker(syncEvery)
	defer tick.Stop()
	for {
		select {
		case <-w.stop:
			return
		case <-tick.C:
			if !w.sync() {
				return
			}
			w.look()
		}
	}
}

// sync forces what was written to the disk; false when that stopped the recording.
func (w *Writer) sync() bool {
	if !w.dirty.Swap(false) {
		return true
	}
	err := w.file.Sync()
	if err == nil || cannotSync(err) {
		return true
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.err == nil {
		_ = w.fail(err) // kept in w.err
	}
	return false
}

// cannotSync reports whether the file system has no sync, which is no fault of the recording.
func cannotSync(err error) bool {
	return errors.Is(err, errors.ErrUnsupported) || errors.Is(err, syscall.EINVAL)
}
