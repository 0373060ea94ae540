package prose

import (
	"regexp"
	"strings"

	"github.com/charmbracelet/x/ansi"
)

// PageWidth is how wide text is where it does not go to a terminal: a cell less than the narrowest
// usual terminal.
const PageWidth = 79

// Cells is the width of cleaned text on a terminal.
func Cells(s string) int {
	for i := range len(s) {
		if s[i] >= 0x7f {
			return ansi.StringWidth(s)
		}
	}
	return len(s)
}

// Wrap cleans lines and breaks those wider than w cells between words. What is broken off
// goes under the line's own text, after a number, a time or a word that is set apart. A word
// wider than a line, such as a path, stays whole on a line that is too wide.
func Wrap(lines []string, w int) (out []string) {
	for _, l := range lines {
		l = Clean(strings.ReplaceAll(l, "\t", " "))
		out = append(out, wrapAfter(l, min(depth(l), w/2), w)...)
	}
	return out
}

// WrapText cleans running text and breaks it between words into lines of at most w cells.
func WrapText(text string, w int) []string { return wrapAfter(Clean(text), 0, w) }

// A hyphen and a blank at which no line is broken: "ISO 14229-1" stays whole, and a number keeps
// its unit.
const unbrokenHyphen, unbrokenBlank = "\u2011", "\u00a0"

var (
	withUnit = regexp.MustCompile(`([0-9]) (rpm|km/h|km|Hz|s|ms|min|h|%|°C|V)([ ,;.:)]|$)`)
	quoted   = regexp.MustCompile(`"[^"]*"`)
	fileName = regexp.MustCompile(`[/\\]|\.\w+"$`) // in quotes, as a command has it
	unbroken = strings.NewReplacer("-", unbrokenHyphen)
	rejoined = strings.NewReplacer(unbrokenHyphen, "-", unbrokenBlank, " ")
)

// wrapAfter breaks what comes after the first deep bytes of a line.
func wrapAfter(l string, deep, w int) (out []string) {
	head := l[:deep]
	text := unbroken.Replace(strings.TrimRight(l[deep:], " "))
	text = withUnit.ReplaceAllString(text, "${1}"+unbrokenBlank+"${2}${3}")
	text = quoted.ReplaceAllStringFunc(text, func(name string) string {
		if !fileName.MatchString(name) {
			return name
		}
		return strings.ReplaceAll(name, " ", unbrokenBlank)
	})
	for _, part := range strings.Split(ansi.Wordwrap(text, w-Cells(head), ""), "\n") {
		out = append(out, head+rejoined.Replace(part))
		head = strings.Repeat(" ", Cells(head))
	}
	return out
}

// deepest is the deepest that text begins after the word of its line, as in "  gone       P0741".
const deepest = 16

// depth is where the text of a line begins, bytes: after blanks, a time or a number, and after a
// word that is set apart by two blanks or more.
func depth(l string) int {
	deep := len(l) - len(strings.TrimLeft(l, " 0123456789.:"))
	word, rest, apart := strings.Cut(l[deep:], "  ")
	text := strings.TrimLeft(rest, " ")
	if n := len(l) - len(text); apart && text != "" && word != "" && n <= deepest {
		return n
	}
	return deep
}
