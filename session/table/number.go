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
// ErrFinite, ErrDecimal, ErrMarks and ErrThousands.
func (d *decimals) number(text string) (float64, error) {
	if marksThousands(text) {
		return 0, ErrThousands
	}
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

// marksThousands reports whether a text can only be a number with marks between its thousands, as
// "1,700.5" or "1.700,5" or "1,000,000". "1,700" may also have decimals.
func marksThousands(text string) bool {
	comma, point := strings.IndexByte(text, ','), strings.IndexByte(text, '.')
	if comma < 0 || point < 0 && strings.Count(text, ",") < 2 {
		return false
	}
	mark, decimal := ",", "."
	if point >= 0 && point < comma {
		mark, decimal = decimal, mark
	}
	whole, _, _ := strings.Cut(strings.TrimLeft(text, "+-"), decimal)
	groups := strings.Split(whole, mark)
	for i, g := range groups {
		if _, err := strconv.ParseUint(g, 10, 64); err != nil || len(g) > 3 || i > 0 && len(g) != 3 {
			return false
		}
	}
	return len(groups) > 1
}
