package cli

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"github.com/judder-obd/judder/session/recording"
)

// writeNew writes a file that must not exist yet; one that could not be written whole is taken away
// again.
func writeNew(path string, write func(io.Writer) error) error {
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
