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

// rawLine is one line of a file as it is.
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
	long   []byte // a line that outgrew the buffer of r
	number int
	offset int64 // bytes read so far
}

func newLineReader(r io.Reader) *lineReader {
	return &lineReader{r: bufio.NewReaderSize(r, 64<<10)}
}

// next gives the next line; io.EOF when there is none, another error when reading failed
// (what was read of a line then is dropped).
func (lr *lineReader) next() (rawLine, error) {
	text, err := lr.r.ReadSlice('\n')
	l := rawLine{text: text, size: int64(len(text)), nulTail: trailingNULs(text)}
	if errors.Is(err, bufio.ErrBufferFull) {
		err = lr.rest(&l)
	}
	if err != nil && !errors.Is(err, io.EOF) || l.size == 0 {
		return rawLine{}, err
	}
	lr.number++
	lr.offset += l.size
	l.number, l.ended = lr.number, err == nil
	switch {
	case l.size > maxLine:
		l.text = nil
	case l.ended:
		l.text = bytes.TrimSuffix(l.text[:len(l.text)-1], []byte{'\r'})
	default:
		l.text = l.text[:len(l.text)-int(l.nulTail)]
	}
	return l, nil
}

// rest reads the rest of a line that outgrew the buffer, and keeps what fits maxLine.
func (lr *lineReader) rest(l *rawLine) error {
	lr.long = append(lr.long[:0], l.text...)
	for {
		chunk, err := lr.r.ReadSlice('\n')
		l.size += int64(len(chunk))
		n := trailingNULs(chunk)
		if n == int64(len(chunk)) {
			n += l.nulTail
		}
		l.nulTail = n
		if l.size <= maxLine {
			lr.long = append(lr.long, chunk...)
		}
		if !errors.Is(err, bufio.ErrBufferFull) {
			l.text = lr.long
			return err
		}
	}
}

// trailingNULs counts the NUL bytes at the end of b.
func trailingNULs(b []byte) int64 {
	return int64(len(b) - len(bytes.TrimRight(b, "\x00")))
}
