package casefile

import (
	"bytes"
	"encoding/hex"
	"errors"
	"fmt"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2"

	"github.com/judder-obd/judder/prose"
)

// ParseError is a fault in case.toml, with its place. Its texts hold no control characters.
type ParseError struct {
	File string
	Line int // from 1; 0 when not known
	Text string
}

func (e *ParseError) Error() string {
	at := e.File
	if e.Line > 0 {
		at = fmt.Sprintf("%s:%d", e.File, e.Line)
	}
	return prose.Clean(at + ": " + e.Text)
}

// parse reads case.toml. Of a newer version it reads what it knows, and the error is ErrNewer.
func parse(file string, text []byte) (c Case, err error) {
	var head struct {
		Version *int `toml:"version"`
	}
	if err := toml.Unmarshal(text, &head); err != nil {
		return c, fromTOML(file, text, err)
	}
	if head.Version == nil || *head.Version < 1 {
		return c, &ParseError{file, 0, "version is missing; version = 1 belongs at its beginning"}
	}
	decoder := toml.NewDecoder(bytes.NewReader(text))
	newer := *head.Version > Version
	if !newer {
		decoder.DisallowUnknownFields()
	}
	if err := decoder.Decode(&c); err != nil {
		return Case{}, fromTOML(file, text, err)
	}
	if err := c.check(); err != nil {
		return Case{}, &ParseError{file, 0, err.Error()}
	}
	if newer {
		return c, ErrNewer
	}
	return c, nil
}

// fromTOML takes place and text out of the library's errors.
func fromTOML(file string, text []byte, err error) error {
	var unknown *toml.StrictMissingError
	if errors.As(err, &unknown) && len(unknown.Errors) > 0 {
		line, _ := unknown.Errors[0].Position()
		return &ParseError{file, line, fmt.Sprintf("there is no key %q; docs/case.md has the keys", strings.Join(unknown.Errors[0].Key(), "."))}
	}
	var fault *toml.DecodeError
	if errors.As(err, &fault) {
		line, _ := fault.Position()
		words := strings.TrimPrefix(fault.Error(), "toml: ")
		if toml.Unmarshal(text, &map[string]any{}) == nil { // TOML it is
			words = fmt.Sprintf("the value of %q is of another kind; docs/case.md has the keys", strings.Join(fault.Key(), "."))
		}
		return &ParseError{file, line, words}
	}
	return &ParseError{file, 0, "a value cannot be read: " + err.Error() + "; docs/case.md has the keys"}
}

// mostText is how long one text may be, in bytes: a paper has room for no more.
const mostText = 4000

// check reports what in a case cannot be: a name that leads out of the folder, a kind that is none.
func (c *Case) check() error {
	for i := range c.Files {
		if err := c.Files[i].check(); err != nil {
			return fmt.Errorf("file %d: %w", i+1, err)
		}
	}
	for i := range c.Looks {
		l := &c.Looks[i]
		if !slices.ContainsFunc(LookKinds, func(k LookRow) bool { return k.Kind == l.Kind }) {
			return fmt.Errorf("look %d: kind %q is none; docs/case.md has the kinds", i+1, l.Kind)
		}
		for _, photo := range l.Photos {
			if c.File(photo) == nil {
				return fmt.Errorf("look %d: the photo %q is no file of this case", i+1, photo)
			}
		}
	}
	for i := range c.Repairs {
		if c.Repairs[i].Rung.Row() == nil {
			return fmt.Errorf("repair %d: rung %q is none; docs/case.md has the rungs", i+1, c.Repairs[i].Rung)
		}
	}
	return nil
}

func (f *File) check() error {
	switch {
	case folders[f.Kind] == "":
		return fmt.Errorf("kind %q is none; docs/case.md has the kinds", f.Kind)
	case f.Stage != Before && f.Stage != After:
		return fmt.Errorf("stage %q is none; write before or after", f.Stage)
	case !plainName(f.Name) || !slices.Contains(fileFolders, path.Dir(f.Name)):
		return fmt.Errorf("the name %q leads elsewhere; files are in %s of this folder", f.Name, strings.Join(fileFolders, ", "))
	}
	if sum, err := hex.DecodeString(f.SHA256); err != nil || len(sum) != 32 {
		return fmt.Errorf("%s: sha256 is no SHA-256 in hexadecimal", f.Name)
	}
	return nil
}

// plainName reports whether a name stays in the folder on every system, and holds nothing that
// steers a terminal.
func plainName(name string) bool {
	return filepath.IsLocal(filepath.FromSlash(name)) && path.Clean(name) == name && !strings.ContainsAny(name, `\:`) &&
		utf8.ValidString(name) && !strings.ContainsFunc(name, prose.Steers)
}

// head is the first line of case.toml.
const head = "# A case of judder. docs/case.md explains every key. judder writes the file whole: other comments are not kept.\n\n"

// text is case.toml of a case.
func (c *Case) text() ([]byte, error) {
	if err := c.check(); err != nil {
		return nil, err
	}
	var b bytes.Buffer
	b.WriteString(head)
	encoder := toml.NewEncoder(&b)
	encoder.SetIndentTables(false)
	if err := encoder.Encode(c); err != nil {
		return nil, err
	}
	if b.Len() > mostCase {
		return nil, fmt.Errorf("the case is larger than %d MB", mostCase>>20)
	}
	return b.Bytes(), nil
}

// Line makes one line of a text that somebody gave: control characters and line ends become blanks,
// and it is cut where it is too long.
func Line(text string) string {
	text = strings.ToValidUTF8(text, "?")
	text = strings.Map(func(r rune) rune {
		if prose.Steers(r) {
			return ' '
		}
		return r
	}, text)
	text = strings.Join(strings.Fields(text), " ")
	for len(text) > mostText {
		_, n := utf8.DecodeLastRuneInString(text)
		text = text[:len(text)-n]
	}
	return text
}
