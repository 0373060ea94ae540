//go:build unix

package link

import (
	"fmt"
	"os"
	"os/user"
	"strconv"
	"syscall"
)

// permissionAdvice names the group that owns the port, to which the user must belong.
func permissionAdvice(path string) string {
	const general = "The user must belong to the group that owns the port; log out and in again after the change."
	info, err := os.Stat(path)
	if err != nil {
		return general
	}
	stat, ok := info.Sys().(*syscall.Stat_t)
	if !ok {
		return general
	}
	id := strconv.FormatUint(uint64(stat.Gid), 10)
	name := id
	if group, err := user.LookupGroupId(id); err == nil {
		name = group.Name
	}
	if stat.Gid == 0 { // nobody is added to that one
		return fmt.Sprintf("The port belongs to the group %q: is it the adapter's (judder ports)? If so, have the administrator give it to a group for serial ports.", name)
	}
	return fmt.Sprintf("The port belongs to the group %q: add the user to it (usermod -aG %s NAME), then log out and in again.", name, name)
}
