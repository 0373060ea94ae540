package main

import (
	"go/ast"
	"io/fs"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/judder-obd/judder/obd"
)

// pathInText is a path of the project as its documents write it.
var pathInText = regexp.MustCompile("`((?:\\./)?(?:[a-z]+/)+[A-Za-z_.]*|[A-Z]+\\.md|LICENSE)`")

// TestDocumentsNameWhatIsThere: every file and folder named in backticks exists.
func TestDocumentsNameWhatIsThere(t *testing.T) {
	seen := 0
	docs, err := fs.Glob(root, "docs/*.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range append(docs, "README.md", "DEVELOPERS.md") {
		text, err := fs.ReadFile(root, name)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range pathInText.FindAllStringSubmatch(string(text), -1) {
			seen++
			if _, err := fs.Stat(root, path.Clean(m[1])); err != nil {
				t.Errorf("%s names %s, which is not there", name, m[1])
			}
		}
	}
	if seen < 10 {
		t.Errorf("%d paths seen; the pattern fits nothing", seen)
	}
}

// readmeMost is how many lines README.md may have: it is read at one sitting, the rest is in docs.
const readmeMost = 140

// TestReadmeLinksEveryDocument: README.md is short and leads to every file of docs.
func TestReadmeLinksEveryDocument(t *testing.T) {
	text, err := fs.ReadFile(root, "README.md")
	if err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(string(text), "\n"); n > readmeMost {
		t.Errorf("README.md has %d lines, %d at most: move details to docs", n, readmeMost)
	}
	docs, err := fs.ReadDir(root, "docs")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range docs {
		if name := "docs/" + f.Name(); !strings.Contains(string(text), "]("+name) {
			t.Errorf("README.md does not link %s", name)
		}
	}
}

// linkInText is a link of a document to another place of the project, its address and its heading.
var linkInText = regexp.MustCompile(`\]\(([a-z/A-Z]*\.md)?(#[a-z-]+)?\)`)

// TestDocumentsLinkWhatIsThere: every link between documents leads to a file and a heading of it.
func TestDocumentsLinkWhatIsThere(t *testing.T) {
	names, err := fs.Glob(root, "docs/*.md")
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for _, name := range append(names, "README.md", "DEVELOPERS.md") {
		text, err := fs.ReadFile(root, name)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range linkInText.FindAllStringSubmatch(string(text), -1) {
			seen++
			to := name
			if m[1] != "" {
				to = path.Join(path.Dir(name), m[1])
			}
			target, err := fs.ReadFile(root, to)
			if err != nil {
				t.Errorf("%s links %s, which is not there", name, to)
			} else if m[2] != "" && !slices.Contains(anchors(string(target)), m[2]) {
				t.Errorf("%s links %s%s: no such heading", name, to, m[2])
			}
		}
	}
	if seen < 10 {
		t.Errorf("%d links seen; the pattern fits nothing", seen)
	}
}

// anchors are the headings of a document as links write them.
func anchors(text string) (list []string) {
	for _, line := range strings.Split(text, "\n") {
		if title := strings.TrimLeft(line, "#"); title != line {
			words := strings.Fields(strings.NewReplacer(":", "", ",", "", "(", "", ")", "").Replace(strings.ToLower(title)))
			list = append(list, "#"+strings.Join(words, "-"))
		}
	}
	return list
}

// TestDocumentsExplainEveryWord: what a user can meet is explained in docs. Words are read from the
// tables that the program shows them from, keys from the tags of what it writes as JSON.
func TestDocumentsExplainEveryWord(t *testing.T) {
	var causes, keys []string
	for _, c := range obd.Causes() {
		causes = append(causes, "`"+c.String()+"`")
	}
	for _, dir := range []string{"cli", "check", "check/compare"} {
		keys = append(keys, jsonKeys(t, dir)...)
	}
	for _, c := range []struct {
		file, what string
		least      int
		words      []string
	}{
		{"docs/words.md", "the large word", 10, firstStrings(t, "tui", "states")},
		{"docs/words.md docs/review.md", "the JSON key", 80, keys},
		{"docs/adapters.md", "the ability", 8, firstStrings(t, "obd/inquiry", "abilities")},
		{"docs/adapters.md", "the grade", 5, firstStrings(t, "obd/inquiry", "provenWords")},
		{"docs/recording.md", "the cause", 25, causes},
		{"docs/profile.md", "the key", 15, tomlKeys(t, "pids/vehicle")},
		{"docs/case.md", "the key", 35, tomlKeys(t, "casefile")},
	} {
		var text []byte
		for _, name := range strings.Fields(c.file) {
			one, err := fs.ReadFile(root, name)
			if err != nil {
				t.Fatal(err)
			}
			text = append(text, one...)
		}
		if len(c.words) < c.least {
			t.Errorf("%s: %d found, want %d or more; the test looks in the wrong place", c.what, len(c.words), c.least)
		}
		for _, word := range c.words {
			if !strings.Contains(string(text), word) {
				t.Errorf("%s does not explain %s %s", c.file, c.what, word)
			}
		}
	}
}

// firstStrings are the first string of each row of a table, a variable of a package.
func firstStrings(t *testing.T, dir, table string) (list []string) {
	for _, f := range goFiles(t) {
		if f.dir != dir || f.test {
			continue
		}
		ast.Inspect(f.syntax, func(n ast.Node) bool {
			v, ok := n.(*ast.ValueSpec)
			if !ok || v.Names[0].Name != table || len(v.Values) == 0 {
				return true
			}
			for _, row := range v.Values[0].(*ast.CompositeLit).Elts {
				list = append(list, firstString(row))
			}
			return false
		})
	}
	return list
}

// firstString is the first string in a piece of syntax.
func firstString(row ast.Node) (text string) {
	ast.Inspect(row, func(n ast.Node) bool {
		if lit, ok := n.(*ast.BasicLit); ok && text == "" {
			text, _ = strconv.Unquote(lit.Value)
		}
		return text == ""
	})
	return text
}

// jsonKeys are the keys that a package writes as JSON, as documents write them.
func jsonKeys(t *testing.T, dir string) []string {
	return tagged(t, dir, regexp.MustCompile(`json:"([a-z_0-9]+)`))
}

// tomlKeys are the keys that a package reads as TOML.
func tomlKeys(t *testing.T, dir string) []string {
	return tagged(t, dir, regexp.MustCompile(`toml:"([a-z_]+)`))
}

// tagged are the names in the tags of a package's fields, as documents begin them: in backticks.
func tagged(t *testing.T, dir string, tag *regexp.Regexp) (keys []string) {
	for _, f := range goFiles(t) {
		if f.dir != dir || f.test {
			continue
		}
		ast.Inspect(f.syntax, func(n ast.Node) bool {
			if field, ok := n.(*ast.Field); ok && field.Tag != nil {
				if m := tag.FindStringSubmatch(field.Tag.Value); m != nil {
					keys = append(keys, "`"+m[1])
				}
			}
			return true
		})
	}
	return keys
}
