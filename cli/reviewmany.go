package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	"github.com/judder-obd/judder/session"
)

// recordingEnding is how judder names its recordings.
const recordingEnding = ".jsonl"

// named is a file, and whether the user named it or it was found in a folder or by a pattern.
type named struct {
	path   string
	byName bool
}

// expand makes files of what the user named: of a folder its recordings, of a name with * or ? or
// [ that is no file all files that it fits (some shells leave that to the program). Both come in
// order of names. many reports whether something other than a single file was named.
func expand(names []string) (files []named, many bool, err error) {
	many = len(names) > 1
	for _, name := range names {
		info, err := os.Stat(name)
		byName, found := true, []string{name}
		switch {
		case err == nil && info.IsDir():
			byName, many = false, true
			found, err = recordingsIn(name)
		case errors.Is(err, fs.ErrNotExist) && strings.ContainsAny(name, "*?["):
			byName, many = false, true
			found, err = matching(name)
		default:
			err = nil // whoever opens it says what is wrong
		}
		if err != nil {
			return nil, many, err
		}
		for _, path := range found {
			files = append(files, named{path, byName})
		}
	}
	return files, many, nil
}

// recordingsIn lists the recordings in a folder, not those in its subfolders.
func recordingsIn(dir string) ([]string, error) {
	entries, err := os.ReadDir(dir) // in order of names
	if err != nil {
		return nil, fmt.Errorf("%w; check the folder's permissions", err)
	}
	var files []string
	for _, e := range entries {
		if !e.IsDir() && strings.EqualFold(filepath.Ext(e.Name()), recordingEnding) {
			files = append(files, filepath.Join(dir, e.Name()))
		}
	}
	if len(files) == 0 {
		return nil, fmt.Errorf("%s has no recordings (*%s) in it; give another folder, or the files by name", dir, recordingEnding)
	}
	return files, nil
}

// matching lists the files that a pattern fits.
func matching(pattern string) ([]string, error) {
	files, err := filepath.Glob(pattern)
	if err != nil {
		return nil, usageError(fmt.Sprintf("%s: %v; a [ needs its ]", pattern, err))
	}
	if len(files) == 0 {
		return nil, fmt.Errorf("no file fits %s; check the name", pattern)
	}
	slices.Sort(files)
	return files, nil
}

// reviewed is a file with its result, or why it has none.
type reviewed struct {
	file   named
	result session.Result
	err    error
}

// inOrder works on items on all cores and hands each result on in the order of the items. A few
// results wait for a slower one before them, no more than twice the cores. It ends with the first
// error of take.
func inOrder[item, result any](items []item, work func(item) result, take func(result) error) error {
	cores := runtime.NumCPU()
	waiting := make(chan chan result, 2*cores)
	free := make(chan struct{}, cores)
	stop := make(chan struct{})
	defer close(stop)
	go func() {
		defer close(waiting)
		for _, it := range items {
			one := make(chan result, 1)
			select {
			case waiting <- one:
			case <-stop:
				return
			}
			free <- struct{}{}
			go func() {
				one <- work(it)
				<-free
			}()
		}
	}()
	for one := range waiting {
		if err := take(<-one); err != nil {
			return err
		}
	}
	return nil
}

// reviewAll reviews files on all cores, in their order.
func reviewAll(files []named, c *complaintFlag, take func(*reviewed) error) error {
	work := func(file named) *reviewed {
		r := &reviewed{file: file}
		r.result, r.err = c.review(file.path)
		return r
	}
	return inOrder(files, work, take)
}

// noDrive reports whether a file that was only found, not named, holds no drive: that is no failure.
func (r *reviewed) noDrive() bool {
	var other *session.NoDriveError
	return !r.file.byName && errors.As(r.err, &other)
}

// failedRow is the JSON line of a file that could not be reviewed.
type failedRow struct {
	File  string `json:"file"`
	Error string `json:"error"`
}
