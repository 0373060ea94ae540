package main

import (
	"fmt"
	"go/ast"
	"io/fs"
	"os"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// root is the module's folder; go test runs in the folder of the package.
var root = os.DirFS(".")

// How long things may be, in lines.
const (
	longestFile = 500
	longestFunc = 70
	longestMain = 80
)

// banned is what may not stand in a file of the project. The words are put together here,
// so that this file does not hold them.
var banned = []struct {
	pattern *regexp.Regexp
	why     string
}{
	{regexp.MustCompile(`\b(TO` + `DO|FIX` + `ME|XX` + `X|HA` + `CK)\b`), "do it, or leave it out"},
	{regexp.MustCompile(`(^|[^\w.])/(ro` + `ot|wo` + `rk|ho` + `me)/\w`), "a path of one machine means nothing on another"},
	{regexp.MustCompile(`(?i)\biss` + `ue #?\d`), "say what it was, a number alone says nothing"},
}

// emptyNames are names of packages that say nothing of what is in them.
var emptyNames = []string{"common", "helpers", "misc", "pkg", "types", "util", "utils"}

// written are the endings of files that people write.
var written = []string{".go", ".md", ".mod", ".sh", ".toml", ".yml"}

func TestPackagesSayWhatTheyAre(t *testing.T) {
	docs := map[string]string{}
	for _, f := range goFiles(t) {
		if f.test {
			continue
		}
		docs[f.dir] += f.syntax.Doc.Text()
		if f.syntax.Name.Name != "main" && f.syntax.Doc != nil && !strings.HasPrefix(f.syntax.Doc.Text(), "Package "+f.syntax.Name.Name+" ") {
			t.Errorf("%s: the package comment begins with %q", f.name, firstLine(f.syntax.Doc.Text()))
		}
		if slices.Contains(emptyNames, path.Base(f.dir)) {
			t.Errorf("%s: a folder named %s says nothing of what is in it", f.name, path.Base(f.dir))
		}
	}
	for dir, doc := range docs {
		if len(doc) < 40 {
			t.Errorf("package %s has no comment that says what it is: %q", dir, doc)
		}
	}
	if len(docs) < 10 {
		t.Errorf("%d packages seen; the test looks in the wrong place", len(docs))
	}
}

func TestFilesAndFunctionsAreShort(t *testing.T) {
	for _, f := range goFiles(t) {
		most := longestFile
		if f.name == "main.go" {
			most = longestMain
		}
		if n := f.line(f.syntax.FileEnd) - 1; n > most { // gofmt ends a file with a line feed
			t.Errorf("%s has %d lines, %d at most: one idea a file", f.name, n, most)
		}
		for _, d := range f.syntax.Decls {
			fn, ok := d.(*ast.FuncDecl)
			if !ok {
				continue
			}
			if n := f.line(fn.End()) - f.line(fn.Pos()) + 1; n > longestFunc {
				t.Errorf("%s: %s has %d lines, %d at most", f.name, fn.Name.Name, n, longestFunc)
			}
		}
	}
}

func TestNoBannedWords(t *testing.T) {
	seen := 0
	for _, name := range projectFiles(t) {
		if !slices.Contains(written, path.Ext(name)) && name != ".ci/run" {
			continue
		}
		text, err := fs.ReadFile(root, name)
		if err != nil {
			t.Fatal(err)
		}
		seen++
		for _, complaint := range bannedIn(string(text)) {
			t.Errorf("%s:%s", name, complaint)
		}
	}
	if seen < 100 {
		t.Errorf("%d files seen; the test looks in the wrong place", seen)
	}
	for text, want := range map[string]int{
		"a // FIX" + "ME later": 1, "see iss" + "ue 12": 1, "/ro" + "ot/go/bin": 1, "at $HOME/go, or ./work/of": 0, "HACKSAW": 0,
	} {
		if got := bannedIn(text); len(got) != want {
			t.Errorf("in %q the check sees %q, want %d", text, got, want)
		}
	}
}

// bannedIn returns where banned words stand, "line: word: why".
func bannedIn(text string) (complaints []string) {
	for i, line := range strings.Split(text, "\n") {
		for _, b := range banned {
			if found := b.pattern.FindString(line); found != "" {
				complaints = append(complaints, fmt.Sprintf("%d: %q: %s", i+1, strings.TrimSpace(found), b.why))
			}
		}
	}
	return complaints
}

// TestFuzzInputsAreNamed: an input that failed once is a case with a sentence in the fuzz test,
// not a file that nobody reads. A file that the fuzzer has just left here is to become one.
func TestFuzzInputsAreNamed(t *testing.T) {
	err := fs.WalkDir(root, ".", func(name string, d fs.DirEntry, err error) error {
		if err == nil && d.Type().IsRegular() && strings.Contains(name, "testdata/fuzz/") {
			t.Errorf("%s: make it an f.Add with a sentence, then delete it", name)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

func firstLine(s string) string {
	line, _, _ := strings.Cut(s, "\n")
	return line
}
