package store

import "syscall"

// ERROR_HANDLE_DISK_FULL and ERROR_DISK_FULL of winerror.h.
var fullErrnos = []syscall.Errno{39, 112}
