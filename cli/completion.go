package cli

import (
	"embed"
	"fmt"
	"slices"
	"strings"

	"github.com/alecthomas/kong"

	"github.com/judder-obd/judder/obd/link"
)

// completionScripts hold one script a shell. A script only asks "judder complete" what could
// follow, so that all shells complete the same.
//
//go:embed completion
var completionScripts embed.FS

type completionCommand struct {
	Shell string `arg:"" enum:"bash,zsh,fish,powershell" help:"bash, zsh, fish or powershell. The script's first lines say where to put it."`
}

func (c *completionCommand) Run(e *env) error {
	script, err := completionScripts.ReadFile("completion/judder." + c.Shell)
	if err != nil {
		return err
	}
	_, err = e.out.Write(script)
	return err
}

type completeCommand struct {
	Words []string `arg:"" optional:"" passthrough:"" help:"The words after judder; the last is the one to complete."`
}

func (c *completeCommand) Run(e *env, command *kong.Context) error {
	words := c.Words
	if len(words) > 0 && words[0] == "--" {
		words = words[1:]
	}
	for _, w := range candidates(command.Model.Node, words, portPaths) {
		if _, err := fmt.Fprintln(e.out, w); err != nil {
			return err
		}
	}
	return nil
}

// portPaths are the serial ports of this computer; none where they cannot be listed.
func portPaths() (paths []string) {
	ports, _ := link.Ports()
	for _, p := range ports {
		paths = append(paths, p.Path)
	}
	return paths
}

// candidates are what the last of words could become, in the order of the help. None means that
// anything may follow, such as the name of a file.
func candidates(root *kong.Node, words []string, ports func() []string) []string {
	if len(words) == 0 {
		return nil
	}
	node, wanting := root, (*kong.Flag)(nil) // wanting is a flag whose value comes next
	for _, w := range words[:len(words)-1] {
		switch {
		case wanting != nil:
			wanting = nil
		case strings.HasPrefix(w, "-"):
			wanting = wantsValue(node, w)
		default:
			if child := childNamed(node, w); child != nil {
				node = child
			}
		}
	}
	last := words[len(words)-1]
	if last == `""` { // how one shell hands on an empty word
		last = ""
	}
	var all []string
	switch {
	case wanting != nil:
		all = values(wanting.Value, ports)
	case strings.HasPrefix(last, "-"):
		all = flagNames(node)
	case len(node.Children) > 0:
		all = commandNames(node)
	default:
		for _, p := range node.Positional {
			all = append(all, values(p, ports)...)
		}
	}
	return slices.DeleteFunc(all, func(w string) bool { return !strings.HasPrefix(w, last) })
}

// values are those that a flag or an argument can have, where they are known.
func values(v *kong.Value, ports func() []string) []string {
	if v.Name == "port" {
		return ports()
	}
	if v.Enum == "" {
		return nil
	}
	return v.EnumSlice()
}

// wantsValue returns the flag of that name when its value is the next word, else nil.
func wantsValue(node *kong.Node, word string) *kong.Flag {
	for _, group := range node.AllFlags(true) {
		for _, f := range group {
			if word == "--"+f.Name && !f.IsBool() {
				return f
			}
		}
	}
	return nil
}

func childNamed(node *kong.Node, name string) *kong.Node {
	for _, c := range node.Children {
		if c.Name == name {
			return c
		}
	}
	return nil
}

func commandNames(node *kong.Node) (names []string) {
	for _, c := range node.Children {
		if !c.Hidden {
			names = append(names, c.Name)
		}
	}
	return names
}

func flagNames(node *kong.Node) (names []string) {
	for _, group := range node.AllFlags(true) {
		for _, f := range group {
			names = append(names, "--"+f.Name)
			if f.Tag.Negatable != "" {
				names = append(names, "--no-"+f.Name)
			}
		}
	}
	return names
}
