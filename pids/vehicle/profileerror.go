package vehicle

import (
	"bytes"
	"fmt"
	"reflect"
	"regexp"
	"strings"
	"unicode/utf8"

	"github.com/judder-obd/judder/prose"
)

// ProfileError is a fault in a vehicle profile, with its place. Its texts hold no control
// characters but line ends.
type ProfileError struct {
	File         string
	Line, Column int    // from 1; the column counts characters
	Text         string // what is wrong and what to write instead
	Source       string // the line of the file
}

// Error is three lines: place and fault, the line of the file, a caret below the fault.
func (e *ProfileError) Error() string {
	return fmt.Sprintf("%s:%d:%d: %s\n  %s\n  %s^", clean(e.File), e.Line, e.Column, e.Text, e.Source, strings.Repeat(" ", e.Column-1))
}

// newProfileError makes the error for a place: line, and byte of the line, both from 1.
func newProfileError(file string, text []byte, line, column int, what string) *ProfileError {
	lines := bytes.Split(text, []byte("\n"))
	line = min(max(line, 1), len(lines))
	source := bytes.TrimRight(lines[line-1], "\r")
	before := source[:min(max(column-1, 0), len(source))]
	return &ProfileError{
		File: file, Line: line, Column: utf8.RuneCount(before) + 1,
		Text: clean(what), Source: clean(string(source)),
	}
}

// clean keeps each character in its place, so that the caret stays below the fault.
func clean(s string) string { return prose.Clean(strings.ReplaceAll(s, "	", " ")) }

var (
	tableLine = regexp.MustCompile(`^\s*\[{1,2}\s*"?([A-Za-z_]+)"?\s*\]{1,2}`)
	keyLine   = regexp.MustCompile(`^\s*"?([A-Za-z_]+)"?\s*=\s*`)
)

// position finds a value in a file without syntax faults: the key in the index-th table of
// that name. For a key that is not written it returns the place of its table.
func position(text []byte, table string, index int, key string) (line, column int, written bool) {
	line, column = 1, 1
	current, seen := "", map[string]int{"": 1}
	for i, l := range bytes.Split(text, []byte("\n")) {
		if m := tableLine.FindSubmatch(l); m != nil {
			current = string(m[1])
			seen[current]++
			if current == table && seen[current] == index+1 {
				line, column = i+1, bytes.IndexByte(l, '[')+1
			}
			continue
		}
		m := keyLine.FindSubmatchIndex(l)
		if m == nil || current != table || seen[current] != index+1 {
			continue
		}
		if string(l[m[2]:m[3]]) == key {
			return i + 1, m[1] + 1, true
		}
	}
	return line, column, false
}

// noSuchKey names a key that a profile does not have, and the keys that it may have.
func noSuchKey(key []string) string {
	top := reflect.TypeFor[rawProfile]()
	for i := range top.NumField() {
		if f := top.Field(i); len(key) == 2 && f.Tag.Get("toml") == key[0] && inBrackets(f) != key[0] {
			table := f.Type
			if table.Kind() == reflect.Slice {
				table = table.Elem()
			}
			return "no such key: " + key[1] + "; " + inBrackets(f) + " has " + keysOf(table)
		}
	}
	return "no such table or key: " + strings.Join(key, ".") + "; a profile has " + keysOf(top)
}

// keysOf lists the keys of a table, as they are written in a file.
func keysOf(table reflect.Type) string {
	var keys []string
	for i := range table.NumField() {
		keys = append(keys, inBrackets(table.Field(i)))
	}
	last := len(keys) - 1
	return strings.Join(keys[:last], ", ") + " and " + keys[last]
}

// inBrackets is a key of the file: "[vehicle]" for a table, "[[module]]" where there may be several.
func inBrackets(f reflect.StructField) string {
	name := f.Tag.Get("toml")
	switch {
	case f.Type.Kind() == reflect.Struct:
		return "[" + name + "]"
	case f.Type.Kind() == reflect.Slice && f.Type.Elem().Kind() == reflect.Struct:
		return "[[" + name + "]]"
	}
	return name
}
