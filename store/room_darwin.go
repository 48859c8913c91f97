package store

import "golang.org/x/sys/unix"

// FreeBytes is how much the disk of a folder takes from us; 0 when nobody knows.
func FreeBytes(dir string) int64 {
	var s unix.Statfs_t
	if unix.Statfs(dir, &s) != nil {
		return 0
	}
	return int64(s.Bavail) * int64(s.Bsize)
}
