package recording

import (
	"errors"
	"io"
	"io/fs"
	"os"
)

// Place is what became of the file of a recording while it was written: somebody may remove or move it.
type Place uint8

// The places.
const (
	InPlace   Place = iota
	Rewritten       // it was removed or moved, and was written again, whole
	Lost            // it, or its folder, was removed or moved, and it could not be written again
)

// Place is what became of the file, as it was a second ago; after Close, at its end.
func (w *Writer) Place() Place { return Place(w.place.Load()) }

// look compares what stands at the path with the file that is open. The goroutine that syncs calls it,
// and Close once that has ended. Where it cannot be told, nothing changes.
func (w *Writer) look() {
	file, ok := w.file.(*os.File)
	if !ok {
		return
	}
	open, err := file.Stat()
	if err != nil {
		return
	}
	switch here, err := os.Stat(w.path); {
	case err == nil && os.SameFile(open, here):
		if w.Place() == Lost { // and is back
			w.place.Store(uint32(InPlace))
		}
	case err == nil || errors.Is(err, fs.ErrNotExist):
		place := Lost
		if w.rewrite(file) {
			place = Rewritten
		}
		w.place.Store(uint32(place))
	}
}

// rewrite writes all that was recorded into a new file at the path, and goes on in it. The file that is
// open can still be read. Nothing is overwritten; where it cannot be done, the recording goes on where it is.
func (w *Writer) rewrite(old *os.File) bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.err != nil || w.noCopy {
		return false
	}
	file, err := create(w.path)
	if err != nil {
		return false
	}
	n, err := io.Copy(file, io.NewSectionReader(old, 0, w.size))
	if err != nil || n != w.size {
		w.noCopy = true // a second try would hold up the drive again
		_ = file.Close()
		_ = os.Remove(w.path) // ours, and not whole
		return false
	}
	_ = old.Close() // it has no name here, and all of it was read
	w.file = file
	w.dirty.Store(true)
	return true
}

// create makes the file of a recording. It can be read too, to write it again.
func create(path string) (*os.File, error) {
	return os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_EXCL|os.O_APPEND, 0o600)
}
