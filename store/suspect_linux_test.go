package store

import (
	"syscall"
	"testing"

	"tallywalk/store/storetest"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// failedSync is a file of which the last sync of the last commit failed.
func failedSync(t *testing.T) (*File, *storetest.Disk) {
	return failedCommit(t, storetest.DiskFault{Kind: storetest.DiskSync, Nth: 2})
}

// failedCommit is a file of which the last commit failed.
func failedCommit(t *testing.T, fault storetest.DiskFault) (*File, *storetest.Disk) {
	t.Helper()
	disk := storetest.NewDisk(t)
	f, err := Open(t.TempDir(), Options{Disk: disk})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := f.Close(); err != nil {
			t.Error(err)
		}
		disk.Close()
	})
	if err := f.Append(0, []*traveler.Entry{storetest.Entry(1)}, nil); err != nil {
		t.Fatal(err)
	}
	// More than a copy takes at a time.
	if err := f.Tables().Put("settings", "picture", make([]byte, 2*copyStep)); err != nil {
		t.Fatal(err)
	}
	fault.Err = syscall.EIO
	disk.Fail(fault)
	if err := f.Tables().Put("settings", "a", []byte("1")); err == nil || !disk.Met() {
		t.Fatalf("the commit did not fail: %v", err)
	}
	return f, disk
}

func putAndGet(t *testing.T, f *File) {
	t.Helper()
	if err := f.Tables().Put("settings", "a", []byte("2")); err != nil {
		t.Fatal(err)
	}
	if v, err := f.Tables().Get("settings", "a"); err != nil || string(v) != "2" {
		t.Fatalf("%q %v", v, err)
	}
}

// writeDuring writes to a file that is read since began, and wants the reading to end for it.
func writeDuring(t *testing.T, f *File, began <-chan struct{}, ended <-chan error) {
	t.Helper()
	select {
	case <-began:
	case err := <-ended:
		t.Fatal(err)
	}
	putAndGet(t, f)
	if err := <-ended; traveler.KindOf(err) != traveler.KindBusy {
		t.Errorf("%v", err)
	}
}

// TestLongReadingYields: a copy, or a look at the file as it is at one moment, ends when
// the file must be opened again, since nobody else can read until then.
func TestLongReadingYields(t *testing.T) {
	f, _ := failedSync(t)
	began, ended := make(chan struct{}), make(chan error, 1)
	go func() {
		ended <- Still(f, func(still story.Log) error {
			close(began)
			for {
				if _, err := still.Row("used", "x"); err != nil {
					return err
				}
			}
		})
	}()
	writeDuring(t, f, began, ended)

	f, _ = failedCommit(t, storetest.DiskFault{Kind: storetest.DiskWrite, Nth: 1})
	began = make(chan struct{})
	go func() {
		once := false
		_, err := f.Backup(t.Context(), t.TempDir(), noon, func(int) error {
			if !once {
				once = true
				close(began)
			}
			for f.waiting.Load() == 0 { // a slow disk
				if err := t.Context().Err(); err != nil {
					return err
				}
			}
			return nil
		})
		ended <- err
	}()
	writeDuring(t, f, began, ended)
}

// TestClosedStaysClosed: what is written late, after a commit that failed, does not open
// a closed file again.
func TestClosedStaysClosed(t *testing.T) {
	f, _ := failedSync(t)
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	if err := f.Tables().Put("settings", "a", []byte("2")); traveler.KindOf(err) != traveler.KindBusy {
		t.Errorf("%v", err)
	}
	other, err := openPath(f.path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := other.Close(); err != nil {
		t.Fatal(err)
	}
}

// TestUnsafeCanBeRead: while the disk takes nothing, what is there is read, and nothing
// is written; then all goes on.
func TestUnsafeCanBeRead(t *testing.T) {
	f, disk := failedSync(t)
	disk.Fail(storetest.DiskFault{Kind: storetest.DiskSync, Nth: 1, Err: syscall.EIO})
	if err := f.Tables().Put("settings", "a", []byte("2")); err == nil || !disk.Met() {
		t.Fatalf("written on a disk that takes nothing: %v", err)
	}
	if es, err := f.Get([]traveler.Seq{1}); err != nil || es[0].Seq != 1 {
		t.Errorf("%v %v", es, err)
	}
	putAndGet(t, f)
	if _, err := Verify(f); err != nil {
		t.Error(err)
	}
}

// TestVerifyWhileOneIsAdded: an entry and its id are there before the log says that its
// end has moved.
func TestVerifyWhileOneIsAdded(t *testing.T) {
	f := openFile(t, t.TempDir())
	if err := f.Append(0, []*traveler.Entry{storetest.Entry(1)}, nil); err != nil {
		t.Fatal(err)
	}
	before := f.head
	if err := f.Append(1, []*traveler.Entry{storetest.Entry(2)}, nil); err != nil {
		t.Fatal(err)
	}
	after := f.head
	f.head = before
	if r, err := Verify(f); err != nil || r.Head != 1 {
		t.Errorf("%+v %v", r, err)
	}
	f.head = after
}
