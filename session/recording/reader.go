package recording

import (
	"bytes"
	"errors"
	"io"
	"os"
	"time"
)

// searchLimit is how far into a file with a damaged first line a sound line is looked for
// before the file is taken to be something else.
const searchLimit = 4 << 20

// orderSlack is how far an entry may lie before one of another kind and still be in
// order: a mark has the time of the key stroke, and is written when its turn comes.
const orderSlack = time.Second

// Reader reads a recording line by line: what is on a whole, sound line is used, and
// nothing else. Damage never stops it; [Reader.Damage] is what is wrong.
type Reader struct {
	lines  *lineReader
	closer io.Closer
	name   string
	fast   fastParser
	line   parsedLine

	header  Header
	older   bool // notes may be code checks
	entry   Entry
	pending bool // entry holds an entry that Next has not given yet
	end     End
	damage  Damage

	entries, exchanges int // whole lines of entries read, unknown kinds included
	lastOf             [kindCount]time.Duration
	openBad            int // index of the first of damage.Bad that waits for the time after it
	tornHeader         bool
	finished           bool
	err                error
}

// Open opens a recording. The error is a [*FileError] of fs.ErrNotExist,
// fs.ErrPermission, ErrFolder, ErrNotFile, ErrEmpty, ErrNewer, ErrNotRecording or a read error. A
// file whose first line is damaged but which has sound lines after it opens.
func Open(path string) (*Reader, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, NewFileError("open", path, err)
	}
	if info.IsDir() {
		return nil, NewFileError("open", path, ErrFolder)
	}
	// A pipe is welcome, so that a packed recording can be unpacked on the way.
	if kind := info.Mode().Type(); kind != 0 && kind != os.ModeNamedPipe {
		return nil, NewFileError("open", path, ErrNotFile)
	}
	file, err := os.Open(path)
	if err != nil {
		return nil, NewFileError("open", path, err)
	}
	r, err := NewReader(file, path)
	if err != nil {
		_ = file.Close() // opened for reading: nothing can be lost
		return nil, err
	}
	r.closer = file
	return r, nil
}

// NewReader reads a recording from src; name is for messages only. Errors are those of
// [Open]. Close does not close src.
func NewReader(src io.Reader, name string) (*Reader, error) {
	r := &Reader{lines: newLineReader(src), name: name, fast: fastParser{strings: newInterner()}}
	if err := r.begin(); err != nil {
		return nil, NewFileError("open", name, err)
	}
	return r, nil
}

// Header gives the first line, and what about lines passed so far have added.
func (r *Reader) Header() Header { return r.header }

// Entry gives the entry that Next has reached. It stays valid.
func (r *Reader) Entry() Entry { return r.entry }

// End gives the end record; ok is false when none was reached.
func (r *Reader) End() (end End, ok bool) { return r.end, r.damage.Ended }

// Damage is what is wrong with the file; complete once Next has returned false.
func (r *Reader) Damage() Damage { return r.damage }

// Err gives the error that stopped reading, a [*FileError]; damage is none.
func (r *Reader) Err() error { return r.err }

// Close closes the file that [Open] opened.
func (r *Reader) Close() error {
	if r.closer == nil {
		return nil
	}
	return r.closer.Close()
}

// Next goes on to the next entry; false at the end of the file or after a read error.
func (r *Reader) Next() bool {
	if r.pending {
		r.pending = false
		return true
	}
	for !r.finished {
		switch got, err := r.step(); {
		case errors.Is(err, io.EOF):
			r.finish()
		case err != nil:
			r.finished = true
			r.err = NewFileError("read", r.name, err)
		case got == sawEntry:
			return true
		case got == sawHeader:
			r.damage.Second = r.lines.number
			r.finish()
		}
	}
	return false
}

// begin reads the first line, or on to the first sound one.
func (r *Reader) begin() error {
	for r.lines.offset < searchLimit {
		got, err := r.step()
		switch {
		case errors.Is(err, io.EOF):
			return r.nothingFound()
		case err != nil:
			return err
		case got == sawHeader:
			r.header, r.older = r.line.header, r.line.older
			return nil
		case got == sawBad:
			continue
		}
		r.damage.HeaderLost = true
		r.pending = got == sawEntry
		return nil
	}
	return ErrNotRecording
}

// nothingFound is the error of a file without a sound line: a recording that was cut in its first
// line, or a foreign file.
func (r *Reader) nothingFound() error {
	if r.damage.BadLines == 0 && (r.damage.TornBytes == 0 || r.tornHeader) {
		return ErrEmpty // no byte, or blanks and NUL bytes only, or a piece of a first line
	}
	return ErrNotRecording
}

// seen is what a step read.
type seen uint8

const (
	sawBad seen = iota
	sawEntry
	sawHeader
	sawOther // about, end, unknown kind
)

// step reads one line and takes over what it holds. The error is io.EOF, a read error, or,
// for a sound first line of another format or version, ErrNotRecording or ErrNewer.
func (r *Reader) step() (seen, error) {
	raw, err := r.lines.next()
	if err != nil {
		return sawBad, err
	}
	if raw.number == 1 {
		raw.text = bytes.TrimPrefix(raw.text, []byte("\ufeff")) // an editor's byte order mark
	}
	err = r.parse(raw)
	foreign := errors.Is(err, ErrNewer) || errors.Is(err, ErrNotRecording)
	switch {
	case err == nil:
		r.damage.NULBytes += raw.nulTail
		return r.take(raw.number), nil
	case foreign && raw.number == 1:
		return sawBad, err
	case foreign:
		err = ErrNotUnderstood
	}
	r.skip(raw, err)
	return sawBad, nil
}

// parse checks a line and reads it into r.entry or r.line.
func (r *Reader) parse(raw rawLine) error {
	if raw.text == nil {
		return ErrTooLong
	}
	body, err := unseal(raw.text)
	if err != nil {
		if raw.number == 1 && errors.Is(slowParse(raw.text, &r.line), ErrNewer) {
			return ErrNewer // a later version may seal its lines in another way
		}
		return err
	}
	if r.fast.parse(body, &r.entry) {
		r.line.kind = lineEntry
		return nil
	}
	if err := slowParse(raw.text, &r.line); err != nil {
		return err
	}
	if r.line.kind == lineEntry {
		r.entry = r.line.entry
		if r.older {
			r.entry = oldCheck(r.entry)
		}
	}
	return nil
}

// skip notes a line that is not used: damage in the middle, or a torn end.
func (r *Reader) skip(raw rawLine, err error) {
	if raw.ended {
		if raw.text != nil && len(bytes.TrimSpace(raw.text)) == 0 {
			return // a blank line holds nothing that could be lost
		}
		r.damage.bad(raw.number, err)
		return
	}
	r.damage.NULBytes = raw.nulTail
	r.damage.TornBytes = raw.size - raw.nulTail
	r.tornHeader = raw.number == 1 && startsLikeHeader(raw.text)
}

// startsLikeHeader reports whether a piece may be of a first line of ours.
func startsLikeHeader(piece []byte) bool {
	start := []byte(`{"k":"header","format":"` + Format + `"`)
	return len(piece) > 0 && (bytes.HasPrefix(start, piece) || bytes.HasPrefix(piece, start))
}
