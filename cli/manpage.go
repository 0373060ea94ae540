package cli

import (
	"fmt"
	"strings"

	"github.com/alecthomas/kong"
)

type manCommand struct{}

// Run prints the manual page in the man macros of troff (man-pages(7)).
func (manCommand) Run(e *env, command *kong.Context) error {
	_, err := fmt.Fprint(e.out, manPage(command.Model.Node))
	return err
}

// manPage writes the grammar as a manual page of section 1.
func manPage(root *kong.Node) string {
	var b strings.Builder
	line := func(parts ...string) { b.WriteString(strings.Join(parts, " ") + "\n") }
	line(".TH JUDDER 1", `"" "judder `+troff(version())+`"`)
	line(".SH NAME\njudder \\- find shudder through the diagnostic socket of a car")
	line(".SH SYNOPSIS\n.B judder\n.I command\n.RI [ flag ...]\n.RI [ argument ...]")
	line(".SH DESCRIPTION")
	for text := range strings.SplitSeq(description, "\n\n") {
		line(".PP\n" + troff(text))
	}
	line(".SH COMMANDS")
	for _, c := range root.Children {
		if c.Hidden {
			continue
		}
		line(".SS judder", troff(c.Name+arguments(c)))
		line(troff(c.Help))
		for _, f := range c.Flags {
			line(".TP\n.B", troff(flagText(f)))
			line(troff(f.Help))
		}
	}
	line(".SH FLAGS OF ALL COMMANDS")
	for _, f := range root.Flags {
		line(".TP\n.B", troff(flagText(f)))
		line(troff(f.Help))
	}
	return b.String()
}

func arguments(c *kong.Node) (text string) {
	for _, p := range c.Positional {
		text += " " + p.Summary()
	}
	return text
}

func flagText(f *kong.Flag) string {
	text := "--" + f.Name
	if f.Tag.Negatable != "" {
		text = "--[no-]" + f.Name
	}
	if !f.IsBool() {
		text += "=" + f.FormatPlaceHolder()
	}
	return text
}

// troff keeps text from being read as a request: backslash, hyphen, and a dot or an apostrophe
// at the beginning of a line (groff(7)).
func troff(text string) string {
	text = strings.NewReplacer(`\`, `\e`, "-", `\-`).Replace(text)
	lines := strings.Split(text, "\n")
	for i, l := range lines {
		if strings.HasPrefix(l, ".") || strings.HasPrefix(l, "'") {
			lines[i] = `\&` + l
		}
	}
	return strings.Join(lines, "\n")
}
