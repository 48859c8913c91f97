package store

import (
	"os"
	"path/filepath"
	"runtime"
	"syscall"
	"testing"

	"tallywalk/traveler"
)

// TestForbiddenFolder opens folders and files that may not be written.
func TestForbiddenFolder(t *testing.T) {
	asNobody(t)
	folder := t.TempDir()
	chmod(t, folder, 0o555)
	refuses(t, folder, traveler.KindFull, "store.readonly")
	file := t.TempDir()
	chmod(t, file, 0o777)
	write(t, file, []byte("anything"))
	chmod(t, filepath.Join(file, FileName), 0o444)
	refuses(t, file, traveler.KindFull, "store.readonly")
}

func chmod(t *testing.T, path string, mode os.FileMode) {
	t.Helper()
	if err := os.Chmod(path, mode); err != nil {
		t.Fatal(err)
	}
}

// asNobody lets the test see the file system as a user without rights, if it
// runs as root. Only this thread does.
func asNobody(t *testing.T) {
	if os.Getuid() != 0 {
		return
	}
	runtime.LockOSThread()
	const nobody = 65534
	temp := os.TempDir()
	for dir := t.TempDir(); len(dir) > len(temp); dir = filepath.Dir(dir) {
		if err := os.Chown(dir, nobody, nobody); err != nil {
			t.Fatal(err)
		}
	}
	if err := syscall.Setfsuid(nobody); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := syscall.Setfsuid(0); err != nil {
			t.Error(err)
		}
		runtime.UnlockOSThread()
	})
}
