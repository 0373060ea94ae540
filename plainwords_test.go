package main

import (
	"go/ast"
	"go/token"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"testing"
)

// unplain are words that only this program used, or that were translated: no screen and no line
// of output has them.
var unplain = []struct {
	pattern *regexp.Regexp
	say     string
}{
	{regexp.MustCompile(`(?i)\b(not )?judged?\b`), "usable, or what the driver can do"},
	{regexp.MustCompile(`(?i)\bstanding check`), "code check"},
	{regexp.MustCompile(`(?i)\b(every|further|engine|two) computers?\b`), "control unit, or the module's own name"},
	{regexp.MustCompile(`(?i)\b(tells|told)\b`), "say, show or report it"},
	{regexp.MustCompile(`(?i)\b(anew|afresh|in place of)\b`), "again, instead of"},
	{regexp.MustCompile(`(?i)\blanes?\b`), "signals"},
	{regexp.MustCompile(`(?i)\bstretch(es)?\b`), "passes"},
	{regexp.MustCompile(`(?i)\bapparent slip\b|\bapp\. slip\b`), "slip (est.)"},
	{regexp.MustCompile(`(?i)\bscatter\b`), "how smooth this car runs"},
	{regexp.MustCompile(`(?i)\bwould have been\b|\bof which\b`), "a short sentence in the present tense"},
}

// namesForMachines are values of JSON that keep their older names.
var namesForMachines = []string{"standing check"}

// spokenIn are the rooms that print and draw.
var spokenIn = []string{"casefile", "casefile/report", "cli", "tui"}

func TestPlainWords(t *testing.T) {
	seen := 0
	for _, f := range goFiles(t) {
		if f.test || !slices.Contains(spokenIn, f.dir) {
			continue
		}
		for _, s := range spoken(f.syntax) {
			seen++
			if slices.Contains(namesForMachines, s.text) {
				continue
			}
			for _, u := range unplain {
				if found := u.pattern.FindString(s.text); found != "" {
					t.Errorf("%s:%d: %q in %q: %s", f.name, f.line(s.pos), found, s.text, u.say)
				}
			}
		}
	}
	if seen < 500 {
		t.Errorf("%d texts seen; the test looks in the wrong place", seen)
	}
}

// sentence is a text in the code.
type sentence struct {
	text string
	pos  token.Pos
}

// spoken lists the texts of a file, and the help texts of its flags.
func spoken(file *ast.File) (texts []sentence) {
	tags := map[*ast.BasicLit]bool{}
	ast.Inspect(file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.ImportSpec:
			return false
		case *ast.Field:
			tags[n.Tag] = true
		case *ast.BasicLit:
			text, err := strconv.Unquote(n.Value)
			if n.Kind != token.STRING || err != nil {
				return true
			}
			if tags[n] {
				text = reflect.StructTag(text).Get("help")
			}
			texts = append(texts, sentence{text, n.Pos()})
		}
		return true
	})
	return texts
}
