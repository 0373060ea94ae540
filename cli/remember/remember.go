// Package remember keeps what a user would else type again before each drive: one small file
// in the user's configuration folder. It holds no reading and nothing of a car but the path of
// its profile. Deleting the file is safe.
package remember

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// Settings are what is remembered; a zero value means nothing.
type Settings struct {
	Port    string `toml:"port,omitempty"`    // the adapter that gave readings last
	Profile string `toml:"profile,omitempty"` // an absolute path
	Folder  string `toml:"folder,omitempty"`  // for recordings, an absolute path
	Bell    *bool  `toml:"bell,omitempty"`    // as chosen last
	Case    string `toml:"case,omitempty"`    // the folder of the case that drives join
	CaseDay string `toml:"case_day,omitempty"`
}

// Path is where the file is: below XDG_CONFIG_HOME, or what the system has in its place
// (os.UserConfigDir). It reports an error when the system names no such folder.
func Path() (string, error) {
	dir, err := os.UserConfigDir()
	if err != nil {
		return "", fmt.Errorf("no folder for settings: %w", err)
	}
	return filepath.Join(dir, "judder", "remembered.toml"), nil
}

// Load reads the settings. No file, and a system without a folder for it, is nothing remembered.
// A file that cannot be read as settings is an error that says what to do.
func Load() (Settings, error) {
	path, err := Path()
	if err != nil {
		return Settings{}, nil
	}
	text, err := os.ReadFile(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return Settings{}, nil
	case err != nil:
		return Settings{}, fmt.Errorf("what was remembered cannot be read: %w; judder forget removes it", err)
	}
	var s Settings
	if err := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields().Decode(&s); err != nil {
		return Settings{}, fmt.Errorf("what was remembered cannot be understood, and nothing of it is used: %s: %s; judder forget removes it", path, fault(err))
	}
	return s, nil
}

// fault is what is wrong with the file, with the line where it is known.
func fault(err error) string {
	var unknown *toml.StrictMissingError
	var wrong *toml.DecodeError
	switch {
	case errors.As(err, &unknown) && len(unknown.Errors) > 0:
		line, _ := unknown.Errors[0].Position()
		return fmt.Sprintf("line %d: a key that this judder does not know, %q", line, strings.Join(unknown.Errors[0].Key(), "."))
	case errors.As(err, &wrong):
		line, _ := wrong.Position()
		return fmt.Sprintf("line %d: %s", line, strings.TrimPrefix(wrong.Error(), "toml: "))
	}
	return err.Error()
}

// Change reads the settings, changes them, and writes them whole; a crash leaves the old or the
// new file. Only the user can read it.
func Change(change func(*Settings)) error {
	before, err := Load()
	if err != nil {
		return err
	}
	s := before
	if change(&s); s == before {
		return nil
	}
	path, err := Path()
	if err != nil {
		return err
	}
	text, err := toml.Marshal(s)
	if err != nil {
		return err
	}
	dir := filepath.Dir(path)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return fmt.Errorf("nothing was remembered: %w", err)
	}
	temporary, err := os.CreateTemp(dir, ".remembered-*")
	if err != nil {
		return fmt.Errorf("nothing was remembered: %w", err)
	}
	_, err = temporary.Write(text)
	if err = errors.Join(err, temporary.Close()); err == nil {
		err = os.Rename(temporary.Name(), path)
	}
	if err != nil {
		return fmt.Errorf("nothing was remembered: %w", errors.Join(err, os.Remove(temporary.Name())))
	}
	return nil
}

// Forget removes the file and returns its path; "" when there was none.
func Forget() (string, error) {
	path, err := Path()
	if err != nil {
		return "", nil
	}
	switch err := os.Remove(path); {
	case errors.Is(err, fs.ErrNotExist):
		return "", nil
	case err != nil:
		return "", fmt.Errorf("forgetting: %w", err)
	}
	return path, nil
}
