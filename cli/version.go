package cli

import (
	"fmt"
	"runtime/debug"
)

type versionCommand struct{}

func (versionCommand) Run(e *env) error {
	_, err := fmt.Fprintln(e.out, "judder", version())
	return err
}

// released is the version of a release, which .ci/release writes in at the link; else "".
var released string

// version is that of the release or of the module, or else the commit it was built from.
func version() string {
	if released != "" {
		return released
	}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" && len(s.Value) >= 12 && info.Main.Version == "(devel)" {
			return s.Value[:12]
		}
	}
	return info.Main.Version
}
