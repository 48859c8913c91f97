package store

import (
	"testing"

	"tallywalk/store/storetest"
	"tallywalk/traveler/story"
)

func openFile(t testing.TB, dir string) *File {
	t.Helper()
	f, err := Open(dir, Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := f.Close(); err != nil {
			t.Error(err)
		}
	})
	return f
}

// sound checks a log's invariants when the test is over.
func sound[L story.Log](t testing.TB, log L) L {
	t.Cleanup(func() {
		if _, err := Verify(log); err != nil {
			t.Error(err)
		}
	})
	return log
}

func TestFileIsALog(t *testing.T) {
	storetest.Run(t, LedgerFormat, func(t *testing.T) story.Log { return sound(t, openFile(t, t.TempDir())) })
}

func TestMemIsALog(t *testing.T) {
	storetest.Run(t, LedgerFormat, func(t *testing.T) story.Log { return sound(t, NewMem()) })
}
