package table

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"encoding/csv"
	"io"
	"strings"
	"unicode/utf16"
)

// separators are what may be between two columns.
const separators = ",;\t|"

// source is a text of rows, from its heading on.
type source struct {
	rows    *csv.Reader
	comma   rune // between two columns
	skipped int  // lines before the heading
	tail    tailReader
}

// tailReader remembers the last byte that it gave.
type tailReader struct {
	r    io.Reader
	last byte
}

func (t *tailReader) Read(p []byte) (int, error) {
	n, err := t.r.Read(p)
	if n > 0 {
		t.last = p[n-1]
	}
	return n, err
}

// headLook is how much of the file is looked at to find what separates the columns.
const headLook = 64 << 10

// open finds the heading: after a byte order mark, blank lines, lines that begin with #, and a line
// such as "sep=;". found is false where no one character separates the columns.
func open(r io.Reader) (s *source, head string, found bool, err error) {
	s = &source{}
	buffered := bufio.NewReaderSize(r, headLook)
	mark, _ := buffered.Peek(3) // a read error comes again at the next read
	switch {
	case bytes.HasPrefix(mark, []byte("\ufeff")):
		_, _ = buffered.Discard(3) // peeked, so it is there
	case bytes.HasPrefix(mark, []byte("\xff\xfe")), bytes.HasPrefix(mark, []byte("\xfe\xff")):
		text, err := fromUTF16(buffered)
		if err != nil {
			return nil, "", false, err
		}
		buffered = bufio.NewReaderSize(strings.NewReader(text), headLook)
	}
	given := rune(0)
	for {
		look, peekErr := buffered.Peek(headLook)
		line, rest, whole := bytes.Cut(look, []byte("\n"))
		if bytes.IndexByte(look, 0) >= 0 {
			return nil, "", false, ErrBinary
		}
		text := strings.TrimSpace(string(line))
		hint, isHint := strings.CutPrefix(strings.ToLower(text), "sep=")
		if whole && (text == "" || text[0] == '#' || isHint) {
			if isHint && len(hint) == 1 {
				given = rune(hint[0])
			} else if isHint { // the tab was trimmed
				given = '\t'
			}
			_, _ = buffered.Discard(len(line) + 1) // peeked, so it is there
			s.skipped++
			continue
		}
		if peekErr != nil && peekErr != io.EOF && len(look) == 0 {
			return nil, "", false, peekErr
		}
		first, _, _ := bytes.Cut(rest, []byte("\n"))
		s.comma, found = separatorOf(string(line), string(first))
		if given != 0 {
			s.comma, found = given, true
		}
		s.tail.r = buffered
		if found {
			s.rows = csv.NewReader(&s.tail)
			s.rows.Comma = s.comma
			s.rows.FieldsPerRecord = -1 // counted by us, with a better word
			s.rows.ReuseRecord = true
			s.rows.TrimLeadingSpace = s.comma != '\t'
		}
		return s, text, found, nil
	}
}

// separatorOf finds what separates the columns of a heading: the one separator in it, or of several
// the one that the line below has as often. A line without any is one column.
func separatorOf(head, below string) (comma rune, ok bool) {
	var in []rune
	for _, c := range separators {
		if outsideQuotes(head, c) > 0 {
			in = append(in, c)
		}
	}
	switch len(in) {
	case 0:
		return ',', true
	case 1:
		return in[0], true
	}
	for _, c := range in {
		if outsideQuotes(head, c) == outsideQuotes(below, c) {
			if ok {
				return 0, false
			}
			comma, ok = c, true
		}
	}
	return comma, ok
}

// outsideQuotes counts a character where it is not within quotes.
func outsideQuotes(line string, c rune) (n int) {
	quoted := false
	for _, r := range line {
		switch {
		case r == '"':
			quoted = !quoted
		case r == c && !quoted:
			n++
		}
	}
	return n
}

// fromUTF16 reads text in UTF-16 with its mark, as spreadsheets save "Unicode text".
func fromUTF16(r io.Reader) (string, error) {
	data, err := io.ReadAll(r)
	if err != nil {
		return "", err
	}
	var order binary.ByteOrder = binary.LittleEndian
	if data[0] == 0xfe {
		order = binary.BigEndian
	}
	units := make([]uint16, 0, len(data)/2)
	for data = data[2:]; len(data) > 1; data = data[2:] {
		units = append(units, order.Uint16(data))
	}
	return string(utf16.Decode(units)), nil
}
