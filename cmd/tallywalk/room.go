package main

import (
	"errors"
	"fmt"
	"os"
)

// roomNeeded is how much the disk must take for the server to be ready, bytes.
const roomNeeded = 256 << 10

// roomIn tries whether the disk of a folder takes more, by a file that goes
// again. It fails when the disk does not.
func roomIn(dir string) error {
	f, err := os.CreateTemp(dir, ".tallywalk-room-*")
	if err != nil {
		return fmt.Errorf("no file can be made in the data folder: %w", err)
	}
	_, err = f.Write(make([]byte, roomNeeded))
	return errors.Join(err, f.Sync(), f.Close(), os.Remove(f.Name()))
}
