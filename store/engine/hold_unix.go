//go:build unix && !noengine

package engine

import (
	"errors"
	"os"

	"golang.org/x/sys/unix"
)

// hold takes a lock that ends with the process, however it ends.
func hold(file *os.File) error {
	err := unix.Flock(int(file.Fd()), unix.LOCK_EX|unix.LOCK_NB)
	if errors.Is(err, unix.EWOULDBLOCK) {
		return errHeld
	}
	return err
}
