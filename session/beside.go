package session

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"time"
)

// BesideEnd is what the name of the file of marks has behind that of its recording.
const BesideEnd = ".marks"

// beside are the marks that were made at the bench. They are kept in a file beside the recording,
// which is never changed:
//
//	{"version": 1, "marks": [{"at_s": 327.1}, {"at_s": 330.0, "note": "bridge"}]}
//
// at_s is the drive's own time in seconds; a mark without a note is one of felt.
type beside struct {
	path    string
	marks   []Mark
	trouble string // why they are not kept; "" when all is well
	unread  string // why those of the file are not known; "" when they are
}

type besideFile struct {
	Version int          `json:"version"`
	Marks   []besideMark `json:"marks"`
}

type besideMark struct {
	AtS  float64 `json:"at_s"`
	Note string  `json:"note,omitempty"`
}

const besideVersion = 1

// longestDriveS is more than any drive, s: a time beyond it is a mistake in the file.
const longestDriveS = 1e8

// openBeside reads the marks of a recording; none where there is no such file. A file that cannot be
// read is left as it is, and marks are then kept in memory alone.
func openBeside(recording string) beside {
	b := beside{path: recording + BesideEnd}
	data, err := os.ReadFile(b.path)
	if errors.Is(err, fs.ErrNotExist) {
		return b
	}
	var file besideFile
	if err == nil {
		err = json.Unmarshal(data, &file)
	}
	if err == nil && file.Version != besideVersion {
		err = fmt.Errorf("it has version %d, this program knows version %d", file.Version, besideVersion)
	}
	if err != nil {
		b.unread = fmt.Sprintf("the marks in %s cannot be read: %v", filepath.Base(recording+BesideEnd), err)
		b.path, b.trouble = "", b.unread+"; new ones are not kept"
		return b
	}
	for _, m := range file.Marks {
		if m.AtS >= 0 && m.AtS < longestDriveS {
			b.marks = append(b.marks, benchMark(time.Duration(m.AtS*float64(time.Second)), m.Note))
		}
	}
	return b
}

// add keeps one more mark.
func (b *beside) add(m Mark) {
	b.marks = append(b.marks, m)
	b.keep()
}

// takeBack drops the mark that was added last.
func (b *beside) takeBack() (Mark, bool) {
	n := len(b.marks)
	if n == 0 {
		return Mark{}, false
	}
	last := b.marks[n-1]
	b.marks = b.marks[:n-1]
	b.keep()
	return last, true
}

// keep writes the file whole, under another name first: a crash leaves the one before.
func (b *beside) keep() {
	if b.path == "" {
		return
	}
	file := besideFile{Version: besideVersion, Marks: []besideMark{}}
	for _, m := range b.marks {
		file.Marks = append(file.Marks, besideMark{m.At.Seconds(), m.Note})
	}
	data, err := json.Marshal(file)
	if err == nil {
		err = writeWhole(b.path, append(data, '\n'))
	}
	b.trouble = ""
	if err != nil {
		b.trouble = "marks are not kept: " + err.Error()
	}
}

// writeWhole writes a file through another one beside it.
func writeWhole(path string, data []byte) (err error) {
	f, err := os.CreateTemp(filepath.Dir(path), filepath.Base(path)+".*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			_ = f.Close()
			_ = os.Remove(f.Name())
		}
	}()
	if _, err = f.Write(data); err != nil {
		return err
	}
	if err = f.Sync(); err != nil {
		return err
	}
	if err = f.Close(); err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}

// Felt marks the moment at the cursor as one at which the user felt the shake.
func (r *Replay) Felt() { r.mark("") }

// Note marks the moment at the cursor with words.
func (r *Replay) Note(text string) { r.mark(text) }

func (r *Replay) mark(note string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.beside.add(benchMark(r.at, note))
}

// TakeBack drops the mark or note that was made last at the bench, and returns it; ok is false where
// there is none. Marks of the drive itself stay.
func (r *Replay) TakeBack() (m Mark, ok bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.beside.takeBack()
}

// marksUpTo are the marks of the drive and those made at the bench up to now, each with its outcome.
func (r *Replay) marksUpTo(dst []Mark, now time.Duration) []Mark {
	dst = allMarks(dst, r.whole.Marks, r.beside.marks, now)
	w := seenUpTo{r.whole.Events, r.whole.Spans, r.whole.Stops, r.whole.Steps, r.whole.Duration, true}
	w.settle(dst)
	return dst
}

// allMarks are the marks of the drive and those made at the bench, in order of time, up to now.
func allMarks(dst, drive, bench []Mark, now time.Duration) []Mark {
	dst = dst[:0]
	for _, m := range drive {
		if m.At <= now {
			dst = append(dst, m)
		}
	}
	for _, m := range bench {
		if m.At <= now {
			dst = append(dst, m)
		}
	}
	slices.SortStableFunc(dst, func(a, b Mark) int { return cmp.Compare(a.At, b.At) })
	return dst
}
