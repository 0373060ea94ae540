package recording

import (
	"bufio"
	"bytes"
	"errors"
	"io"
)

// maxLine is the longest line that a file may hold, with its line feed. It bounds what a
// reader keeps in memory, whatever the file is.
const maxLine = 1 << 20

// rawLine is one line of a file as it stands there.
type rawLine struct {
	text    []byte // without line end; valid until the next line is read; nil when too long
	number  int    // from 1
	size    int64  // with line end
	ended   bool   // a line feed follows
	nulTail int64  // NUL bytes at the end, which text lacks; only when not ended
}

// lineReader splits a file into lines.
type lineReader struct {
	r      *bufio.Reader
	number int
	offset int64 // bytes read so far
}

func newLineReader(r io.Reader) *lineReader {
	return &lineReader{r: bufio.NewReaderSize(r, maxLine)}
}

// next gives the next line; io.EOF when there is none, another error when reading failed
// (what was read of a line then is dropped).
func (lr *lineReader) next() (rawLine, error) {
	text, err := lr.r.ReadSlice('\n')
	l := rawLine{text: text, size: int64(len(text)), ended: err == nil}
	tooLong := errors.Is(err, bufio.ErrBufferFull)
	if tooLong {
		l.nulTail = trailingNULs(text)
		err = lr.skipRest(&l)
	}
	if err != nil && !errors.Is(err, io.EOF) || l.size == 0 {
		return rawLine{}, err
	}
	lr.number++
	lr.offset += l.size
	l.number = lr.number
	switch {
	case tooLong:
		l.text = nil
	case l.ended:
		l.text = bytes.TrimSuffix(text[:len(text)-1], []byte{'\r'})
	default:
		l.nulTail = trailingNULs(text)
		l.text = text[:len(text)-int(l.nulTail)]
	}
	return l, nil
}

// skipRest reads a line that is too long to its end, and keeps count of it.
func (lr *lineReader) skipRest(l *rawLine) error {
	for {
		chunk, err := lr.r.ReadSlice('\n')
		l.size += int64(len(chunk))
		n := trailingNULs(chunk)
		if n == int64(len(chunk)) {
			n += l.nulTail
		}
		l.nulTail = n
		if !errors.Is(err, bufio.ErrBufferFull) {
			l.ended = err == nil
			return err
		}
	}
}

// trailingNULs counts the NUL bytes at the end of b.
func trailingNULs(b []byte) int64 {
	return int64(len(b) - len(bytes.TrimRight(b, "\x00")))
}
