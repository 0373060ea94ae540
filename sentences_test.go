package main

import (
	"go/parser"
	"go/token"
	"slices"
	"strings"
	"testing"
)

// A fact that has become a sentence is lost to the program: code that looks for words in its
// own text breaks when somebody improves the text. So no code searches for words that the
// project itself writes, nor compares a text with a sentence of ours. sentencefind_test.go finds
// the searches; the rule is here.

// foreignWords are words that we happen to write too, but that are searched for in a text that
// somebody else has made, or that is a name on disk: each with its reason.
var foreignWords = map[string]string{
	"judder-check-before-clear-": "the beginning of a file's name; the second check is named after it",
	"judder check":               "the name of the format of a kept check",
	"judder recording":           "the name of the format in the first line of a recording",
	`{"k":"header"`:              "the beginning of a recording's first line",
}

// olderWords are files that read texts of recordings made by older versions, which keep in words
// what is now a value. No other file may.
var olderWords = []string{"session/recording/old.go"}

func TestNoCodeReadsItsOwnSentences(t *testing.T) {
	var files []goFile
	for _, f := range goFiles(t) {
		if !f.test {
			files = append(files, f)
		}
	}
	var offend []string
	searches := 0
	found, foreign := readSentences(files, &searches)
	for _, s := range found {
		if offend = append(offend, s.file); !slices.Contains(olderWords, s.file) {
			t.Errorf("%s:%d looks for %q, which we write ourselves: let the fact travel as a value (a constant of a type of its own, say)", s.file, s.line, s.text)
		}
	}
	for _, name := range olderWords {
		if !slices.Contains(offend, name) {
			t.Errorf("%s reads no sentence of ours any more: take it off olderWords", name)
		}
	}
	for words := range foreignWords {
		if !foreign[words] {
			t.Errorf("nobody looks for %q any more: take it off foreignWords", words)
		}
	}
	if searches < 100 {
		t.Errorf("%d searches seen; the test looks in the wrong place", searches)
	}
}

// reading is a place where code looks for a sentence of ours.
type reading struct {
	file string
	line int
	text string
}

// readSentences lists the places, and which of foreignWords somebody looks for; searches counts
// all the searches seen.
func readSentences(files []goFile, searches *int) (found []reading, foreign map[string]bool) {
	code := newSentenceCode(files)
	places := code.searched()
	*searches = len(places)
	written := code.written()
	foreign = map[string]bool{}
	for _, p := range places {
		for _, text := range p.texts {
			if !p.words(text) || !slices.ContainsFunc(written, func(s string) bool { return strings.Contains(s, text) }) {
				continue
			}
			if foreignWords[text] != "" {
				foreign[text] = true
				continue
			}
			found = append(found, reading{p.file.name, p.file.line(p.pos), text})
		}
	}
	return found, foreign
}

// words reports whether a text that is looked for is made of words: six lower-case letters, or a
// lower-case letter and a space. One that is compared whole needs both, for a short word may be
// the name of a state. So an adapter's upper-case texts, hexadecimal text, AT commands and short
// endings are no words.
func (p *place) words(text string) bool {
	small := 0
	for _, c := range text {
		if c >= 'a' && c <= 'z' {
			small++
		}
	}
	spaced := strings.Contains(text, " ")
	if p.whole {
		return small >= 6 && spaced
	}
	return small >= 6 || small > 0 && spaced
}

// TestNoCodeReadsItsOwnSentences_Seen: the check sees what it is there for. In each source the
// sentence "the car is silent" is written once.
func TestNoCodeReadsItsOwnSentences_Seen(t *testing.T) {
	const wrote = "package p\nvar said = \"the car is silent; is the ignition on?\"\n"
	for code, want := range map[string]string{
		`var _ = strings.Contains(x, "is silent")`:                                                                                                                    "is silent",
		`var _ = strings.HasPrefix(x, "the car")`:                                                                                                                     "the car",
		`var _ = bytes.HasSuffix(x, []byte("ignition on?"))`:                                                                                                          "ignition on?",
		`var _, b, _ = strings.Cut(x, "the "+"car")`:                                                                                                                  "the ",
		`var _ = strings.Index(x, fmt.Sprintf(" is silent; %d", 1))`:                                                                                                  " is silent; ",
		`const c = "ignition"; var a, b = strings.LastIndex(x, c), c`:                                                                                                 "ignition",
		`const c = "ignition"; var a = strings.LastIndex(x, c)`:                                                                                                       "ignition",
		`const c, d = "never said", c; var a = strings.Contains(x, c)`:                                                                                                "never said",
		`func f() { for _, w := range []string{"NO", "silent"} { strings.Contains(x, w) } }`:                                                                          "silent",
		`var l = []string{"silent"}; func f() { slices.ContainsFunc(l, func(w string) bool { return strings.Contains(x, w) }) }`:                                      "silent",
		`var l = []struct{ a, b string }{{"NO", "silent"}}; func f() { for _, r := range l { strings.Contains(x, r.b) } }`:                                            "silent",
		`type row struct{ a, b string }; var l = []row{{b: "silent"}}; func f() { for _, r := range l { strings.CutPrefix(x, r.b) } }`:                                "silent",
		`const c = "car is silent"; var a, b = x == c, c`:                                                                                                             "car is silent",
		`func has(text string) bool { return strings.Contains(x, text) }; var _ = has("silent")`:                                                                      "silent",
		`func (h h) has(a int, text string) bool { return inner(text) }; func inner(t string) bool { return strings.Contains(x, "!"+t) }; var _ = h.has(1, "silent")`: "silent",
		`func has(x, text string) bool { return strings.Contains(x, text) }; var _ = has("silent", y)`:                                                                "",
		`var _ = x == "the car is silent"`:                                                                                                                            "the car is silent",
		`func f() { switch x { case "the car is silent": } }`:                                                                                                         "the car is silent",

		`var _ = strings.Contains(x, "the driver")`:                "", // nowhere written
		`var _ = strings.Contains(x, "NO DATA") || y == "NO DATA"`: "", // an adapter's
		`var _ = strings.HasSuffix(x, ".json")`:                    "",
		`var _ = x == "ignition"`:                                  "", // may be the name of a state
		`const c kind = "car is silent"; var a, b = x == c, c`:     "", // a value of a type
		`const c = "never said"; var a = strings.Contains(x, c)`:   "", // somebody else's
		`var l = []struct{ a, b string }{{"NO", "silent"}}; func f() { for _, r := range l { strings.Contains(x, r.a) } }`: "",
	} {
		syntax, err := parser.ParseFile(token.NewFileSet(), "p/p.go", wrote+strings.ReplaceAll(code, "; var", "\nvar"), 0)
		if err != nil {
			t.Fatalf("%s: %v", code, err)
		}
		n := 0
		found, _ := readSentences([]goFile{{name: "p/p.go", dir: "p", syntax: syntax, set: token.NewFileSet()}}, &n)
		got := ""
		if len(found) > 0 {
			got = found[0].text
		}
		if got != want {
			t.Errorf("%s\nfound %q, want %q", code, got, want)
		}
	}
}
