package table

import (
	"regexp"
	"strings"
	"unicode/utf8"
)

// heading is the name of a column taken apart. It is written as one of
//
//	name                 name (unit)     name [unit]     name {unit}
//	name_unit            name unit       name, unit      name/unit
//
// with @ECU after the name where one signal comes from several control units.
type heading struct {
	text string // as it is written, without blanks around it
	name string
	ecu  string
	unit string // as it is written; "" when there is none
}

var (
	inBrackets = regexp.MustCompile(`^(.*?)\s*[(\[{]\s*([^()\[\]{}]*?)\s*[)\]}]$`)
	atECU      = regexp.MustCompile(`^(.+)@([0-9A-Fa-f]{2,8})$`)
	lastWord   = regexp.MustCompile(`^(.+?)(?:\s*[,/]\s*|[\s_]+)([^\s_,]+)$`)
)

// headingOf takes a heading apart. A bracket or a last word that is no unit stays in the name, unless
// the name without the bracket is that of a signal: then it is a unit that is not known here.
func headingOf(cell string) heading {
	h := heading{text: strings.TrimSpace(fromLatin1(cell))}
	h.name = h.text
	if m := inBrackets.FindStringSubmatch(h.text); m != nil {
		_, whole := signalNamed(h.text)
		_, isSignal := signalNamed(m[1])
		if unitNamed(m[2]) != nil || isSignal && !whole && m[2] != "" {
			h.name, h.unit = m[1], m[2]
		}
	} else if _, isSignal := signalNamed(h.text); !isSignal {
		if m := lastWord.FindStringSubmatch(h.text); m != nil {
			if u := unitNamed(m[2]); u != nil && u.anywhere {
				h.name, h.unit = m[1], m[2]
			}
		}
	}
	if m := atECU.FindStringSubmatch(h.name); m != nil {
		h.name, h.ecu = m[1], strings.ToUpper(m[2])
	}
	return h
}

// fromLatin1 reads a cell that is not UTF-8 as Latin-1, as older programs write the degree sign.
func fromLatin1(s string) string {
	if utf8.ValidString(s) {
		return s
	}
	runes := make([]rune, len(s))
	for i := range len(s) {
		runes[i] = rune(s[i])
	}
	return string(runes)
}
