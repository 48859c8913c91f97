package store

import (
	"bytes"
	"encoding/binary"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	bolt "go.etcd.io/bbolt"

	"tallywalk/store/storetest"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// filled makes a file with a few thousand entries and closes it.
func filled(t *testing.T, n traveler.Seq) (dir string) {
	t.Helper()
	dir = t.TempDir()
	f, err := Open(dir, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i := traveler.Seq(0); i < n; i += 100 {
		var part []*traveler.Entry
		for seq := i + 1; seq <= i+100; seq++ {
			e := storetest.Ordinary(seq)
			e.Scan.ID = storetest.UUID7(e.Arrived, uint64(seq))
			part = append(part, e)
		}
		if err := f.Append(i, part, nil); err != nil {
			t.Fatal(err)
		}
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	return dir
}

// refuses checks that a folder is refused with one line that names the file, in
// less than a second.
func refuses(t *testing.T, dir string, kind traveler.ErrorKind, key string) {
	t.Helper()
	start := time.Now()
	f, err := Open(dir, Options{})
	if took := time.Since(start); took > time.Second {
		t.Errorf("it took %s to say so", took)
	}
	if err == nil {
		_ = f.Close()
		t.Fatal("it opened")
	}
	var e *traveler.Error
	if !errors.As(err, &e) || e.Kind != kind || e.Say.Key != key {
		t.Fatalf("%v", err)
	}
	if len(e.Say.Args) == 0 || e.Say.Args[0] != filepath.Join(dir, FileName) ||
		strings.Contains(err.Error(), "\n") {
		t.Errorf("not one line with the path: %q", err)
	}
}

func TestForeignFiles(t *testing.T) {
	for name, content := range map[string]string{
		"text":  "part;route_rev\n",
		"long":  strings.Repeat("no data file of ours. ", 4000),
		"zeros": string(make([]byte, 64<<10)),
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			write(t, dir, []byte(content))
			refuses(t, dir, traveler.KindCorrupt, "store.foreign")
			if got := read(t, dir); string(got) != content {
				t.Error("the file was changed")
			}
		})
	}
}

func write(t *testing.T, dir string, data []byte) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, FileName), data, 0o600); err != nil {
		t.Fatal(err)
	}
}

func read(t *testing.T, dir string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(dir, FileName))
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// readUsed reads the part of a closed file that bbolt says is in use: it grows
// its file by megabytes at a time.
func readUsed(t *testing.T, dir string) []byte {
	t.Helper()
	var size int64
	edit(t, dir, func(tx *bolt.Tx) error {
		size = tx.Size()
		return nil
	})
	return read(t, dir)[:size]
}

// edit changes the closed file of a folder with bbolt itself.
func edit(t *testing.T, dir string, fn func(tx *bolt.Tx) error) {
	t.Helper()
	db, err := bolt.Open(filepath.Join(dir, FileName), 0o600, &bolt.Options{Timeout: time.Second})
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(db.Update(fn), db.Close()); err != nil {
		t.Fatal(err)
	}
}

// TestEmptyFile refuses a file without a byte: a record that was there would
// begin again without a word.
func TestEmptyFile(t *testing.T) {
	dir := t.TempDir()
	write(t, dir, nil)
	refuses(t, dir, traveler.KindCorrupt, "store.nothing")
	if len(read(t, dir)) != 0 {
		t.Error("the file was changed")
	}
}

func TestAnotherProgramsFile(t *testing.T) {
	dir := t.TempDir()
	edit(t, dir, func(tx *bolt.Tx) error {
		_, err := tx.CreateBucket([]byte("other"))
		return err
	})
	refuses(t, dir, traveler.KindCorrupt, "store.foreign")
}

// A file carries the lowest format of a program that can read it: what someone said to be
// there for an operation raises it, in a file and in one that is gathered first, and an
// epoch that begins later does not lower it.
func TestFormatGoesByWhatIsKept(t *testing.T) {
	entry := func(seq traveler.Seq, action traveler.Action) *traveler.Entry {
		e := storetest.Ordinary(seq)
		e.Scan.ID, e.Scan.Action = storetest.UUID7(e.Arrived, uint64(seq)), action
		return e
	}
	format := func(f *File) (n uint64) {
		if err := f.view("", func(tx *bolt.Tx) error {
			n = binary.BigEndian.Uint64(tx.Bucket(bucketMeta).Get(keyFormat))
			return nil
		}); err != nil {
			t.Fatal(err)
		}
		return n
	}
	for _, buffered := range []bool{false, true} {
		f := openFile(t, t.TempDir())
		var log story.Log = f
		flush := func() error { return nil }
		if buffered {
			b := NewBuffered(f, 0)
			log, flush = b, b.Flush
		}
		for i, want := range []uint64{formatPlain, formatReady, formatReady} {
			e := entry(traveler.Seq(i+1),
				[]traveler.Action{traveler.ActRun, traveler.ActReady, traveler.ActRun}[i])
			if i == 2 {
				e = &traveler.Entry{Seq: 3, Arrived: e.Arrived, By: Restorer, Epoch: "00ff00ff00ff00ff"}
			}
			if err := log.Append(traveler.Seq(i), []*traveler.Entry{e}, nil); err != nil {
				t.Fatal(err)
			}
			if err := flush(); err != nil {
				t.Fatal(err)
			}
			if got := format(f); got != want {
				t.Errorf("buffered %t: after %d entries format %d, want %d", buffered, i+1, got, want)
			}
		}
	}
}

func TestNewerFile(t *testing.T) {
	dir := filled(t, 100)
	edit(t, dir, func(tx *bolt.Tx) error { return tx.Bucket(bucketMeta).Put(keyFormat, seqKey(Format+1)) })
	refuses(t, dir, traveler.KindCorrupt, "store.newer")
}

func TestBucketsThatAreGone(t *testing.T) {
	for _, name := range [][]byte{bucketRecord, bucketIDs, bucketLedger, bucketSnapshot, bucketTables} {
		dir := filled(t, 100)
		edit(t, dir, func(tx *bolt.Tx) error { return tx.DeleteBucket(name) })
		refuses(t, dir, traveler.KindCorrupt, "store.damaged")
	}
}

func TestCutTail(t *testing.T) {
	dir := filled(t, 100)
	edit(t, dir, func(tx *bolt.Tx) error { return tx.Bucket(bucketRecord).Delete(seqKey(100)) })
	refuses(t, dir, traveler.KindCorrupt, "store.damaged")
}

// TestTruncatedFile cuts a file at several places: each is refused with a
// sentence.
func TestTruncatedFile(t *testing.T) {
	whole := readUsed(t, filled(t, 3000))
	for _, part := range []int{100, 12, 5, 3, 2} {
		dir := t.TempDir()
		write(t, dir, whole[:len(whole)/part])
		f, err := Open(dir, Options{})
		if err == nil {
			_ = f.Close()
			t.Errorf("a %dth of the file opens", part)
			continue
		}
		if traveler.KindOf(err) != traveler.KindCorrupt || strings.Contains(err.Error(), "\n") {
			t.Errorf("a %dth of the file: %v", part, err)
		}
	}
}

// TestScribbledFile writes nonsense over pages in the middle. What can be
// opened at all is found by Verify; nothing crashes.
func TestScribbledFile(t *testing.T) {
	whole := readUsed(t, filled(t, 3000))
	for page := 2; page < len(whole)/4096; page += 7 {
		data := bytes.Clone(whole)
		for i := range 4096 {
			data[page*4096+i] = 0xA5
		}
		dir := t.TempDir()
		write(t, dir, data)
		f, err := Open(dir, Options{})
		if err == nil {
			r, verr := Verify(f)
			if verr == nil && r.Entries != 3000 {
				t.Errorf("page %d: %d entries and no fault", page, r.Entries)
			}
			if verr == nil && bytes.Contains(whole[page*4096:page*4096+4096], []byte("lathe-2")) &&
				inUse(t, f, page) {
				t.Errorf("page %d holds entries and is not missed", page)
			}
			err = verr
			_ = guard(f.Close)
		}
		if err != nil && traveler.KindOf(err) != traveler.KindCorrupt {
			t.Errorf("page %d: %v", page, err)
		}
	}
}

func inUse(t *testing.T, f *File, page int) bool {
	t.Helper()
	used := false
	if err := f.view("", func(tx *bolt.Tx) error {
		p, err := tx.Page(page)
		used = err == nil && p != nil && p.Type != "free"
		return nil
	}); err != nil {
		return false
	}
	return used
}

func TestVerifyNamesTheFault(t *testing.T) {
	key := seqKey(42)
	for name, c := range map[string]struct {
		edit func(tx *bolt.Tx) error
		key  string
		seq  string
	}{
		"changed": {func(tx *bolt.Tx) error {
			b := tx.Bucket(bucketRecord)
			return b.Put(key, bytes.Replace(bytes.Clone(b.Get(key)), []byte(`"g":48`), []byte(`"g":49`), 1))
		}, "store.verify.chain.batch", "42"},
		"link": {func(tx *bolt.Tx) error {
			b := tx.Bucket(bucketRecord)
			v := bytes.Clone(b.Get(key))
			v[0] ^= 1
			return b.Put(key, v)
		}, "store.verify.chain.batch", "42"},
		"gap": {func(tx *bolt.Tx) error { return tx.Bucket(bucketRecord).Delete(key) }, "store.verify.gap",
			"42"},
		"no id": {func(tx *bolt.Tx) error {
			raw, err := rawID(storetest.UUID7(storetest.Ordinary(1).Arrived, 42))
			if err != nil {
				return err
			}
			return tx.Bucket(bucketIDs).Delete(raw[:])
		}, "store.verify.id", "42"},
		"wrong id": {func(tx *bolt.Tx) error {
			raw, err := rawID(storetest.UUID7(storetest.Ordinary(1).Arrived, 42))
			if err != nil {
				return err
			}
			return tx.Bucket(bucketIDs).Put(raw[:], seqKey(41))
		}, "store.verify.id", "42"},
		"extra id": {func(tx *bolt.Tx) error {
			return tx.Bucket(bucketIDs).Put(make([]byte, 16), key)
		}, "store.verify.extra", "00000000-0000-0000-0000-000000000000"},
		"id beyond the end": {func(tx *bolt.Tx) error {
			return tx.Bucket(bucketIDs).Put(make([]byte, 16), seqKey(201))
		}, "store.verify.extra", "00000000-0000-0000-0000-000000000000"},
	} {
		t.Run(name, func(t *testing.T) {
			dir := filled(t, 200)
			edit(t, dir, c.edit)
			_, err := Verify(openFile(t, dir))
			var e *traveler.Error
			if !errors.As(err, &e) || e.Kind != traveler.KindCorrupt || e.Say.Key != c.key ||
				e.Say.Args[0] != c.seq {
				t.Errorf("%v", err)
			}
		})
	}
}

func TestVerifyReports(t *testing.T) {
	f := openFile(t, filled(t, 200))
	r, err := Verify(f)
	if err != nil || r.Entries != 200 || r.IDs != 200 || r.Head != 200 || r.Epoch != f.Epoch() {
		t.Errorf("%+v, %v", r, err)
	}
	if _, err := Verify(blind{f}); traveler.KindOf(err) != traveler.KindInternal {
		t.Errorf("a log that cannot be looked into: %v", err)
	}
}

// TestOneOwner opens the folder in another process.
func TestOneOwner(t *testing.T) {
	dir := filled(t, 100)
	child := exec.Command(os.Args[0], "-test.run=^TestChildHolds$")
	child.Env = append(os.Environ(), "TALLYWALK_CHILD="+dir)
	in, err := child.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := child.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := child.Start(); err != nil {
		t.Fatal(err)
	}
	if _, err := out.Read(make([]byte, 1)); err != nil {
		t.Fatal(err)
	}
	refuses(t, dir, traveler.KindBusy, "store.locked")
	if err := errors.Join(in.Close(), child.Wait()); err != nil {
		t.Fatal(err)
	}
	openFile(t, dir)
}

// TestChildHolds is the other process: it holds the folder it is given until
// its input ends.
func TestChildHolds(t *testing.T) {
	dir := os.Getenv("TALLYWALK_CHILD")
	if dir == "" {
		return
	}
	openFile(t, dir)
	if _, err := os.Stdout.WriteString("."); err != nil {
		t.Fatal(err)
	}
	_, _ = os.Stdin.Read(make([]byte, 1))
}

func TestFolderIsMade(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "new", "folder")
	f := openFile(t, dir)
	if f.Path() != filepath.Join(dir, FileName) {
		t.Error(f.Path())
	}
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(file, Options{}); traveler.KindOf(err) != traveler.KindInternal {
		t.Errorf("a file for a folder: %v", err)
	}
}

func TestCreatedIsKept(t *testing.T) {
	dir := t.TempDir()
	f, err := Open(dir,
		Options{Now: func() time.Time { return time.Date(2026, 11, 25, 6, 0, 0, 0, time.UTC) },
			Rand: bytes.NewReader(make([]byte, 8))})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	if f.Epoch() != "0000000000000000" {
		t.Error(f.Epoch())
	}
	if err := f.view("", func(tx *bolt.Tx) error {
		if got := string(tx.Bucket(bucketMeta).Get(keyCreated)); got != "2026-11-25T06:00:00Z" {
			t.Errorf("created %q", got)
		}
		if got := tx.Bucket(bucketMeta).Get(keyFormat); binary.BigEndian.Uint64(got) != formatPlain {
			t.Errorf("format %x", got)
		}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
}

func TestClosedFile(t *testing.T) {
	f := openFile(t, t.TempDir())
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	_, err := f.Find("019abcde-f012-7345-8678-9abcdef01234")
	if traveler.KindOf(err) != traveler.KindBusy {
		t.Errorf("reading: %v", err)
	}
	if err := f.Append(0, []*traveler.Entry{storetest.Ordinary(1)},
		nil); traveler.KindOf(err) != traveler.KindBusy {
		t.Errorf("writing: %v", err)
	}
	if err := f.Reopen(); err != nil {
		t.Errorf("opening again: %v", err)
	}
}

// blind is a log that cannot be looked into.
type blind struct{ story.Log }
