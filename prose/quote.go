package prose

import "strings"

// Quoted writes a file's name or an address as a command line takes it: as it is where a shell takes it so,
// else in quotes. Double quotes do in every shell; what a shell would still read in them is in single
// ones. A name that begins as a flag does gets its folder.
func Quoted(name string) string {
	if strings.HasPrefix(name, "-") {
		name = "./" + name
	}
	const read = " \t\"'`$!&;|<>()[]{}*?#~^"
	switch {
	case name != "" && !strings.ContainsAny(name, read):
		return name
	case !strings.ContainsAny(name, "\"`$!"):
		return `"` + name + `"`
	}
	return "'" + strings.ReplaceAll(name, "'", `'\''`) + "'"
}
