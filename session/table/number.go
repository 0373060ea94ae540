package table

import (
	"math"
	"strconv"
	"strings"
)

// decimals reads numbers as one file writes them.
type decimals struct {
	comma rune // between two columns
	mark  byte // the decimal mark: '.' or ',', 0 as long as none was seen
}

// number reads a cell that is not empty as a finite decimal number. The error is one of ErrNumber,
// ErrFinite, ErrDecimal and ErrMarks.
func (d *decimals) number(text string) (float64, error) {
	if at := strings.IndexByte(text, ','); at >= 0 {
		switch {
		case !isDecimalComma(text):
			return 0, ErrNumber
		case d.comma == ',':
			return 0, ErrDecimal
		case d.mark == '.':
			return 0, ErrMarks
		}
		d.mark = ','
		text = text[:at] + "." + text[at+1:]
	} else if strings.IndexByte(text, '.') >= 0 && isPlain(text) {
		if d.mark == ',' {
			return 0, ErrMarks
		}
		d.mark = '.'
	}
	v, err := strconv.ParseFloat(text, 64)
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		return 0, ErrFinite
	case err != nil || !isPlain(text): // no hexadecimal, no underscores
		return 0, ErrNumber
	}
	return v, nil
}

// isDecimalComma reports whether text is like "12,5".
func isDecimalComma(text string) bool {
	if strings.Count(text, ",") != 1 || strings.Contains(text, ".") {
		return false
	}
	_, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
	return err == nil
}

// isPlain reports whether a text has only what is in a decimal number.
func isPlain(text string) bool {
	for i := range len(text) {
		switch c := text[i]; {
		case isDigit(c), c == '.', c == '-', c == '+', c == 'e', c == 'E':
		default:
			return false
		}
	}
	return true
}
