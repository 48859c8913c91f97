package store

import (
	"path/filepath"

	"golang.org/x/sys/windows"
)

// shareOf names the kind of network share that a folder lies on; empty when it lies on
// a disk of this computer, or that cannot be known.
func shareOf(dir string) string {
	abs, err := filepath.Abs(dir)
	if err != nil {
		return ""
	}
	root, err := windows.UTF16PtrFromString(filepath.VolumeName(abs) + `\`)
	if err != nil || windows.GetDriveType(root) != windows.DRIVE_REMOTE {
		return ""
	}
	return "SMB"
}
