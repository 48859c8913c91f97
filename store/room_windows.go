package store

import (
	"math"

	"golang.org/x/sys/windows"
)

// FreeBytes is how much the disk of a folder takes from us; 0 when nobody knows.
func FreeBytes(dir string) int64 {
	path, err := windows.UTF16PtrFromString(dir)
	if err != nil {
		return 0
	}
	var free uint64
	if windows.GetDiskFreeSpaceEx(path, &free, nil, nil) != nil {
		return 0
	}
	return int64(min(free, math.MaxInt64))
}
