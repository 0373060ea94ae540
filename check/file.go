package check

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
)

// A kept check is one JSON value. It may show whose car it is, so only its owner may read it.

// Reserve makes the file that a check will be kept in before anything is asked, so that a
// name that cannot be used is found out first. It never overwrites; Kept.Close removes a file
// that nothing was written to.
func Reserve(path string) (*Kept, error) {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	switch {
	case errors.Is(err, fs.ErrExist):
		return nil, fmt.Errorf("%s exists already and is not overwritten; give another name", path)
	case err != nil:
		return nil, fmt.Errorf("the check cannot be kept: %w; give --out a folder that exists and can be written to", err)
	}
	return &Kept{f: f}, nil
}

// Kept is a file for one check.
type Kept struct {
	f       *os.File
	written bool
}

// Write keeps a check; once.
func (k *Kept) Write(r *Report) error {
	text, err := json.MarshalIndent(r, "", "  ")
	if err != nil {
		return err
	}
	k.written = true
	if _, err = k.f.Write(append(text, '\n')); err != nil {
		return fmt.Errorf("the check is not kept whole: %w", err)
	}
	return k.f.Sync()
}

// Close ends the file.
func (k *Kept) Close() error {
	err := k.f.Close()
	if !k.written {
		err = errors.Join(err, os.Remove(k.f.Name()))
	}
	return err
}

// Save reserves a file, keeps a check in it, and ends it.
func Save(path string, r *Report) error {
	k, err := Reserve(path)
	if err != nil {
		return err
	}
	return errors.Join(k.Write(r), k.Close())
}

// Load reads a kept check. The errors say what the file is instead, as far as that shows.
func Load(path string) (*Report, error) {
	const next = "; give a file that judder check --out wrote"
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("%w%s", err, next)
	}
	var r Report
	if json.Unmarshal(text, &r) != nil || r.ECUs == nil {
		what := "is no kept check"
		if bytes.HasPrefix(text, []byte("{")) && !json.Valid(text) {
			what = "is cut off or damaged"
		}
		if bytes.HasPrefix(text, []byte(`{"k":"header"`)) {
			what = "is a recording or the raw replies of a check, not the kept check"
		}
		return nil, fmt.Errorf("%s %s%s", path, what, next)
	}
	return &r, nil
}
