package store

import (
	"bytes"
	"context"
	"encoding/hex"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	bolt "go.etcd.io/bbolt"

	"tallywalk/store/storetest"
	"tallywalk/traveler"
)

var ctx = context.Background()

func noPace(int) error { return nil }

var noon = time.Date(2026, 11, 28, 12, 0, 0, 0, time.UTC)

func wantKey(t *testing.T, err error, kind traveler.ErrorKind, key string) {
	t.Helper()
	var e *traveler.Error
	if !errors.As(err, &e) || e.Kind != kind || e.Say.Key != key {
		t.Fatalf("got %v, want %s", err, key)
	}
	if strings.Contains(e.Say.Text("en"), "{") || e.Say.Text("en") == key {
		t.Errorf("no sentence: %q", e.Say.Text("en"))
	}
}

// more appends entries of a file that has n.
func more(t *testing.T, f *File, n traveler.Seq) {
	t.Helper()
	last, _ := f.Head()
	var es []*traveler.Entry
	for seq := last + 1; seq <= last+n; seq++ {
		e := storetest.Ordinary(seq)
		e.Scan.ID = storetest.UUID7(e.Arrived, uint64(seq))
		es = append(es, e)
	}
	if err := f.Append(last, es, nil); err != nil {
		t.Fatal(err)
	}
}

// TestBackupWhileWriting copies a file that grows meanwhile: the copy is the
// record as it was at one moment.
func TestBackupWhileWriting(t *testing.T) {
	f := openFile(t, t.TempDir())
	more(t, f, 18000)
	last, _ := f.Head()
	steps := 0
	c, err := f.Backup(ctx, t.TempDir(), noon, func(n int) error {
		if steps++; n != copyStep {
			t.Errorf("a step of %d bytes", n)
		}
		more(t, f, 10)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if steps == 0 {
		t.Error("the copy was written in one piece")
	}
	if c.Head != last || c.Entries != int(last) {
		t.Errorf("the copy ends at %d with %d entries; the record had %d", c.Head, c.Entries, last)
	}
	if err := VerifyHead(f, c.Head, c.Link[:]); err != nil {
		t.Error(err)
	}
	if filepath.Base(c.Path) != "tallywalk-20261128T120000Z-18000.db" {
		t.Errorf("it is called %s", c.Path)
	}
	if _, err := f.Backup(ctx, filepath.Dir(c.Path), noon, noPace); err != nil {
		t.Fatal(err) // it has grown, so that its name is another
	}
	if left, _ := filepath.Glob(filepath.Join(filepath.Dir(c.Path), ".*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

func TestBackupRefusals(t *testing.T) {
	dir := filled(t, 100)
	f := openFile(t, dir)
	_, err := f.Backup(ctx, filepath.Join(dir, "nowhere"), noon, noPace)
	wantKey(t, err, traveler.KindNotFound, "store.backup.folder")
	_, err = f.Backup(ctx, dir, noon, noPace)
	wantKey(t, err, traveler.KindConflict, "store.backup.same")
	to := t.TempDir()
	if _, err = f.Backup(ctx, to, noon, noPace); err != nil {
		t.Fatal(err)
	}
	_, err = f.Backup(ctx, to, noon, noPace)
	wantKey(t, err, traveler.KindConflict, "store.exists")
}

// TestBackupEnded gives a copy up half-way: nothing is left over.
func TestBackupEnded(t *testing.T) {
	f := openFile(t, t.TempDir())
	more(t, f, 18000)
	ctx, cancel := context.WithCancel(ctx)
	to := t.TempDir()
	_, err := f.Backup(ctx, to, noon, func(int) error { cancel(); return nil })
	wantKey(t, err, traveler.KindBusy, "store.backup.ended")
	if left, _ := os.ReadDir(to); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

// TestBackupOfABrokenRecord says so instead of handing out a copy.
func TestBackupOfABrokenRecord(t *testing.T) {
	dir := filled(t, 200)
	spoil(t, dir, 42)
	f := openFile(t, dir)
	to := t.TempDir()
	_, err := f.Backup(ctx, to, noon, noPace)
	wantKey(t, err, traveler.KindCorrupt, "store.verify.chain.batch")
	if left, _ := os.ReadDir(to); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

// spoil changes one entry of a closed file.
func spoil(t *testing.T, dir string, seq traveler.Seq) {
	t.Helper()
	edit(t, dir, func(tx *bolt.Tx) error {
		b := tx.Bucket(bucketRecord)
		return b.Put(seqKey(seq),
			bytes.Replace(bytes.Clone(b.Get(seqKey(seq))), []byte(`"g":48`), []byte(`"g":49`), 1))
	})
}

func copyOf(t *testing.T, dir string) Copy {
	t.Helper()
	f := openFile(t, dir)
	c, err := f.Backup(ctx, t.TempDir(), noon, noPace)
	if err = errors.Join(err, f.Close()); err != nil {
		t.Fatal(err)
	}
	return c
}

func TestRestoreBeginsAnEpoch(t *testing.T) {
	dir := filled(t, 200)
	was := openFile(t, dir)
	epoch := was.Epoch()
	if err := was.Close(); err != nil {
		t.Fatal(err)
	}
	c := copyOf(t, dir)
	to := filepath.Join(t.TempDir(), "new")
	r, err := Restore(ctx, c.Path, to, noon, nil)
	if err != nil {
		t.Fatal(err)
	}
	f := sound(t, openFile(t, to))
	if seq, _ := f.Head(); seq != 201 || f.Epoch() != r.Epoch || f.Epoch() == epoch || r.Copy.Entries != 200 {
		t.Errorf("ends at %d, epoch %q after %q: %+v", seq, f.Epoch(), epoch, r)
	}
	e, err := f.Get([]traveler.Seq{201})
	if err != nil || !e[0].Begins() || e[0].Epoch != f.Epoch() || !e[0].Arrived.Equal(noon) ||
		!strings.Contains(e[0].Say.Text("en"), filepath.Base(c.Path)) {
		t.Errorf("%+v, %v", e, err)
	}
	if err := VerifyHead(f, c.Head, c.Link[:]); err != nil {
		t.Error(err)
	}
	// Older programs must not take what they cannot read for damage.
	if err := f.view("", func(tx *bolt.Tx) error {
		if got := tx.Bucket(bucketMeta).Get(keyFormat); !bytes.Equal(got, seqKey(formatEpoch)) {
			t.Errorf("format %x", got)
		}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	if _, err := Restore(ctx, c.Path, to, noon, nil); err == nil {
		t.Error("it was put over a record")
	}
	early := filepath.Join(t.TempDir(), "early")
	if _, err := Restore(ctx, c.Path, early, time.Unix(0, 0), nil); err != nil {
		t.Fatal(err)
	}
	if e, err := openFile(t, early).Get([]traveler.Seq{200, 201}); err != nil ||
		e[1].Arrived.Before(e[0].Arrived) {
		t.Errorf("time runs back: %+v, %v", e, err)
	}
}

func TestRestoreRefusals(t *testing.T) {
	dir := filled(t, 200)
	c := copyOf(t, dir)
	_, err := Restore(ctx, c.Path, dir, noon, nil)
	wantKey(t, err, traveler.KindConflict, "store.restore.there")
	empty := filepath.Join(t.TempDir(), "new")
	_, err = Restore(ctx, c.Path+".not", empty, noon, nil)
	wantKey(t, err, traveler.KindNotFound, "store.nofile")
	spoil(t, dir, 42)
	_, err = Restore(ctx, filepath.Join(dir, FileName), empty, noon, nil)
	wantKey(t, err, traveler.KindCorrupt, "store.verify.chain.batch")
	blank := t.TempDir()
	if err := openFile(t, blank).Close(); err != nil {
		t.Fatal(err)
	}
	_, err = Restore(ctx, filepath.Join(blank, FileName), empty, noon, nil)
	wantKey(t, err, traveler.KindCorrupt, "store.nothing")
	write(t, blank, nil)
	_, err = Restore(ctx, filepath.Join(blank, FileName), empty, noon, nil)
	wantKey(t, err, traveler.KindCorrupt, "store.nothing")
	if _, err := os.Stat(empty); err == nil {
		t.Error("a refused restore made the folder")
	}
}

// TestCopyLaidInPlace notices, by what lies beside the file, that it is an older
// one: a chain alone hides a tail that was cut off.
func TestCopyLaidInPlace(t *testing.T) {
	dir := filled(t, 200)
	older := read(t, dir)
	f := openFile(t, dir)
	more(t, f, 5)
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	newer := read(t, dir)
	write(t, dir, older)
	refuses(t, dir, traveler.KindCorrupt, "store.cut")
	if err := os.Remove(filepath.Join(dir, FileName)); err != nil {
		t.Fatal(err)
	}
	refuses(t, dir, traveler.KindCorrupt, "store.gone")
	other := filled(t, 300)
	edit(t, other, func(tx *bolt.Tx) error {
		v := bytes.Clone(tx.Bucket(bucketRecord).Get(seqKey(205)))
		v[0] ^= 1
		return tx.Bucket(bucketRecord).Put(seqKey(205), v)
	})
	write(t, dir, read(t, other))
	refuses(t, dir, traveler.KindCorrupt, "store.other")
	write(t, dir, newer)
	if seq, _ := openFile(t, dir).Head(); seq != 205 {
		t.Errorf("ends at %d", seq)
	}
}

// TestNoteIsNeverAhead takes the note in the middle of the work, and none that
// was not written to its end.
func TestNoteIsNeverAhead(t *testing.T) {
	dir := filled(t, 100)
	f := openFile(t, dir)
	more(t, f, 5)
	if err := f.Note(); err != nil {
		t.Fatal(err)
	}
	more(t, f, 5)
	note, err := os.ReadFile(filepath.Join(dir, NoteName))
	if err != nil || !strings.HasPrefix(string(note), "105:") {
		t.Fatalf("%q, %v", note, err)
	}
	if err := f.Reopen(); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	for _, torn := range []string{"", "105:", "999999:9f3c"} {
		if err := os.WriteFile(filepath.Join(dir, NoteName), []byte(torn), 0o600); err != nil {
			t.Fatal(err)
		}
		if err := openFile(t, dir).Close(); err != nil {
			t.Errorf("%q: %v", torn, err)
		}
	}
}

func TestVerifyNewest(t *testing.T) {
	dir := filled(t, 1200)
	f := openFile(t, dir)
	for most, want := range map[int]int{100: 100, 1200: 1200, 5000: 1200, 1: 1} {
		if n, err := VerifyNewest(f, most); n != want || err != nil {
			t.Errorf("of at most %d it went through %d: %v", most, n, err)
		}
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	spoil(t, dir, 1150)
	f = openFile(t, dir)
	_, err := VerifyNewest(f, 100)
	wantKey(t, err, traveler.KindCorrupt, "store.verify.chain.batch")
	if _, err := VerifyNewest(f, 50); err != nil {
		t.Errorf("what is broken lies before the newest: %v", err)
	}
}

func TestVerifyHead(t *testing.T) {
	f := openFile(t, filled(t, 200))
	seq, hash := f.Head()
	text := head{seq, hash}.String()
	more(t, f, 10)
	for _, s := range []string{text, text[:12], "200 " + text[4:20], " 200:" + text[4:]} {
		n, link, err := ParseHead(s)
		if err != nil {
			t.Fatalf("%q: %v", s, err)
		}
		if err := VerifyHead(f, n, link); err != nil {
			t.Errorf("%q: %v", s, err)
		}
	}
	for _, s := range []string{"", "200", "200:", "200:zz", "200:ab", "x:" + text[4:], text + "00"} {
		if _, _, err := ParseHead(s); err == nil {
			t.Errorf("%q is taken for an end", s)
		}
	}
	wantKey(t, VerifyHead(f, 211, hash[:]), traveler.KindCorrupt, "store.verify.cut")
	wantKey(t, VerifyHead(f, 199, hash[:]), traveler.KindCorrupt, "store.verify.other")
	if !strings.HasSuffix(text, hex.EncodeToString(hash[:])) {
		t.Error(text)
	}
}

// TestEpochIsTheEntries finds a file that says another epoch than its entries.
func TestEpochIsTheEntries(t *testing.T) {
	dir := t.TempDir()
	if _, err := Restore(ctx, copyOf(t, filled(t, 100)).Path, filepath.Join(dir, "x"), noon,
		nil); err != nil {
		t.Fatal(err)
	}
	dir = filepath.Join(dir, "x")
	edit(t, dir, func(tx *bolt.Tx) error { return tx.Bucket(bucketMeta).Put(keyEpoch, []byte("another")) })
	_, err := Verify(openFile(t, dir))
	wantKey(t, err, traveler.KindCorrupt, "store.verify.epoch")
}
