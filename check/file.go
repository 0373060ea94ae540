package check

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"
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

// Load reads a kept check. The errors say what the file is instead, as far as that shows. A file of
// a newer version is refused, and so is a key that is none: a code below a misspelt key would pass
// for gone.
func Load(path string) (*Report, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("%w; %s", err, nextFile)
	}
	var head Stamp
	var r Report
	if json.Unmarshal(text, &head) != nil || head.Format != Format && head.Format != "" {
		return nil, fmt.Errorf("%s %s; %s", path, instead(text), nextFile)
	}
	if head.Version > Version {
		return nil, fmt.Errorf("%s was kept by a newer judder (version %d of its format, %d is the newest known here); use that judder", path, head.Version, Version)
	}
	if err := strictly(text, &r); err != nil {
		if key, ok := unknownKey(err); ok {
			return nil, fmt.Errorf("%s: a kept check has no key %s: the file was changed, or another program wrote it; nothing in it is compared; %s", path, key, nextFile)
		}
		return nil, fmt.Errorf("%s %s; %s", path, instead(text), nextFile)
	}
	if r.ECUs == nil {
		return nil, fmt.Errorf("%s %s; %s", path, instead(text), nextFile)
	}
	return &r, nil
}

const nextFile = "give a file that judder check kept"

// instead is what a file is that is no kept check, or no whole one.
func instead(text []byte) string {
	switch {
	case bytes.HasPrefix(text, []byte(`{"k":"header"`)):
		return "is a recording or the raw replies of a check, not the kept check"
	case bytes.HasPrefix(text, []byte("{")) && !json.Valid(text):
		return "is cut off or damaged"
	}
	return "is no kept check"
}

// strictly reads JSON without a key that is none.
func strictly(text []byte, into any) error {
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	return d.Decode(into)
}

// unknownKey is the key of an error of [strictly], in quotes. encoding/json has no type for it.
func unknownKey(err error) (string, bool) {
	return strings.CutPrefix(err.Error(), "json: unknown field ")
}
