//go:build unix

package store

import "syscall"

var fullErrnos = []syscall.Errno{syscall.ENOSPC, syscall.EDQUOT, syscall.EFBIG}
