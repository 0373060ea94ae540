//go:build !windows

package recording

import "syscall"

// fullCauses are the system's ways to say that there is no room: the disk, the user's
// quota, the largest file that the file system can hold.
var fullCauses = [...]error{syscall.ENOSPC, syscall.EDQUOT, syscall.EFBIG}
