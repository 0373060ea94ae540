package cli

import (
	"errors"
	"fmt"
	"regexp"
	"strings"

	"github.com/alecthomas/kong"
)

// misunderstood says what is wrong with a command line and what to type, instead of the parser's
// words for programmers.
func misunderstood(err error) string {
	text := err.Error()
	var node *kong.Node
	var parse *kong.ParseError
	if errors.As(err, &parse) {
		node = parse.Context.Selected()
		if node == nil {
			node = parse.Context.Model.Node
		}
	}
	for _, r := range parserWords {
		if m := r.found.FindStringSubmatch(text); m != nil {
			text = r.say(node, m)
			break
		}
	}
	switch {
	case node == nil || node.Type == kong.ApplicationNode:
		return text + "; judder --help shows the commands"
	default:
		return text + "; " + node.FullPath() + " --help shows more"
	}
}

// parserWords turn each complaint of the parser into a sentence. Complaints that read well are not
// listed, such as a misspelt command with what was probably meant.
var parserWords = []struct {
	found *regexp.Regexp
	say   func(node *kong.Node, found []string) string
}{
	{regexp.MustCompile(`^(--\S+): expected .*got "EOL"`), valueMissing},
	{regexp.MustCompile(`^(--\S+): expected .*\(short flag\)`), minusGiven},
	{regexp.MustCompile(`^(--\S+): expected duration but got "([^"]*)"`), func(_ *kong.Node, m []string) string {
		return fmt.Sprintf("%s %s: give a time with its unit, such as 45s or 10m", m[1], m[2])
	}},
	{regexp.MustCompile(`^(--\S+): expected a float but got "?([^" ]*)`), func(_ *kong.Node, m []string) string {
		return fmt.Sprintf("%s %s: give a number", m[1], m[2])
	}},
	{regexp.MustCompile(`^(--\S+): expected an? .*uint but got "?([^" ]*)`), func(_ *kong.Node, m []string) string {
		return fmt.Sprintf("%s %s: give a whole number, 0 or more", m[1], m[2])
	}},
	{regexp.MustCompile(`^(--\S+): expected an? .*int but got "?([^" ]*)`), func(_ *kong.Node, m []string) string {
		return fmt.Sprintf("%s %s: give a whole number", m[1], m[2])
	}},
	{regexp.MustCompile(`^missing flags: (--[^ =,]+)`), func(node *kong.Node, m []string) string {
		return flagMissing(node, m[1])
	}},
	{regexp.MustCompile(`^expected one of (.*)$`), func(node *kong.Node, m []string) string {
		return node.FullPath() + " needs one of " + strings.ReplaceAll(m[1], `"`, "")
	}},
	{regexp.MustCompile(`^expected "<?([^>" ]+)`), func(node *kong.Node, m []string) string {
		return argumentMissing(node, m[1])
	}},
}

func valueMissing(_ *kong.Node, m []string) string { return m[1] + ": its value is missing" }

// minusGiven says what a flag takes that was given a value with a minus.
func minusGiven(node *kong.Node, m []string) string {
	for _, f := range node.Flags {
		if _, r := numberOf(f); r != nil && "--"+f.Name == m[1] {
			return m[1] + ": " + r.give
		}
	}
	return m[1] + ": a value that begins with a minus is written " + m[1] + "=-1"
}

// argumentMissing names an argument that was not given, says what it is, and shows the whole line.
func argumentMissing(node *kong.Node, name string) string {
	for _, p := range node.Positional {
		if p.Name == name {
			return fmt.Sprintf("%s is missing (%s): type %s%s", name, within(p.Help), node.FullPath(), arguments(node))
		}
	}
	return node.FullPath() + " needs " + name
}

// flagMissing names a flag that is always needed, says what it is, and shows the whole line.
func flagMissing(node *kong.Node, name string) string {
	for _, f := range node.Flags {
		if "--"+f.Name == name {
			return fmt.Sprintf("%s is missing (%s): type %s%s %s", name, within(f.Help), node.FullPath(), arguments(node), flagText(f))
		}
	}
	return name + " is missing"
}

// within is the first sentence of a help text, to stand in brackets.
func within(help string) string {
	first, _, _ := strings.Cut(help, ". ")
	first = strings.TrimSuffix(first, ".")
	if first == "" {
		return "see the help"
	}
	return strings.ToLower(first[:1]) + first[1:]
}
