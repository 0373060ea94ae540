package recording

import "syscall"

// fullCauses are the system's ways to say that there is no room:
// ERROR_HANDLE_DISK_FULL and ERROR_DISK_FULL of the Windows system error codes.
var fullCauses = [...]error{syscall.Errno(39), syscall.Errno(112)}
