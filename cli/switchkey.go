package cli

import (
	"fmt"

	"github.com/judder-obd/judder/tui"
)

// refuseSwitch says what to give instead of a word that names no key, or one that must keep what it does.
func refuseSwitch(name string) error {
	const such = ", such as f5 or pgup"
	switch {
	case tui.KeepsItsWork(name):
		return usageError(fmt.Sprintf("--switch %s: this key has its own work in a drive; give another%s", name, such))
	case !tui.IsKey(name):
		return usageError(fmt.Sprintf("--switch %s: this is no key; give its name as the key f in a drive shows it%s", name, such))
	}
	return nil
}
