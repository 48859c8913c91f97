//go:build !noengine

package engine

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// hold takes a lock that ends with the process, however it ends. What is locked is one byte far beyond the
// name, which another process could not read otherwise.
func hold(file *os.File) error {
	const exclusive = windows.LOCKFILE_EXCLUSIVE_LOCK | windows.LOCKFILE_FAIL_IMMEDIATELY
	err := windows.LockFileEx(windows.Handle(file.Fd()), exclusive, 0, 1, 0,
		&windows.Overlapped{Offset: 1 << 30})
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) {
		return errHeld
	}
	return err
}
