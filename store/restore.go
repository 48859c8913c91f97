package store

import (
	"bytes"
	"context"
	"crypto/rand"
	"crypto/sha256"
	"errors"
	"hash"
	"io"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Restored says what Restore put back.
type Restored struct {
	Path  string
	Copy  Report // the copy as it was
	Head  string // the end of the record now, with the epoch that begins
	Epoch string
}

// Restorer is who begins an epoch, and brings scans to a card that came back after
// they did.
var Restorer = traveler.Actor{Name: "restore", Role: traveler.RoleAdministrator}

// Restore puts a copy of the record into a folder that has none, and begins an
// epoch, so that stations send again what came after the copy. The copy is
// verified first, on all cores, and where it lies then compared with what was read, and
// its chain walked. random names the epoch; nil =
// crypto/rand. The error is of KindConflict when the folder has a record,
// KindNotFound when there is no copy, KindCorrupt when it is not whole,
// KindFull when nothing can be written.
func Restore(ctx context.Context, from, dir string, now time.Time, random io.Reader) (r Restored, err error) {
	r.Path = filepath.Join(dir, FileName)
	if _, err := os.Lstat(r.Path); err == nil {
		return r, traveler.Fail(traveler.KindConflict, "store.restore.there", r.Path)
	}
	c, err := OpenCopy(from)
	if err != nil {
		return r, err
	}
	defer func() { _ = c.Close() }()
	if r.Copy, err = verifyOn(runtime.GOMAXPROCS(0), c,
		func(traveler.Seq) error { return ctx.Err() }); err != nil {
		return r, err
	}
	if r.Copy.Entries == 0 {
		return r, c.corrupt("store.nothing")
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return r, (&File{path: r.Path}).fault("restore", err)
	}
	return r, (&File{path: r.Path}).fault("restore", r.put(ctx, c, dir, now, random))
}

// put writes the copy beside its place, begins the epoch there, and gives it its
// name. The note of how far the record came is written before: what is cut off
// in between is restored again.
func (r *Restored) put(ctx context.Context, c *File, dir string, now time.Time, random io.Reader) error {
	part, err := os.CreateTemp(dir, ".tallywalk-*.part")
	if err != nil {
		return err
	}
	defer func() { _ = os.Remove(part.Name()) }()
	sum := sha256.New()
	_, err = c.copyTo(ctx, part, func(int) error { return nil }, sum)
	if err = errors.Join(err, part.Close()); err != nil {
		return err
	}
	if err := liesThere(part.Name(), sum); err != nil {
		return err
	}
	end, err := r.renew(part.Name(), filepath.Base(c.path), now, random)
	if err != nil {
		return err
	}
	if err := endsAt(part.Name(), end); err != nil {
		return err
	}
	r.Head = end.String()
	if err := WriteWhole(filepath.Join(dir, NoteName), []byte(r.Head+"\n")); err != nil {
		return err
	}
	return appear(part.Name(), r.Path)
}

// liesThere compares what can be read of a file with what was written.
func liesThere(path string, written hash.Hash) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer func() { _ = f.Close() }()
	there := sha256.New()
	if _, err := io.Copy(there, f); err != nil {
		return err
	}
	if !bytes.Equal(there.Sum(nil), written.Sum(nil)) {
		return (&File{path: path}).corrupt("store.damaged")
	}
	return nil
}

// endsAt walks the chain of a record that was verified before it got its last entry.
func endsAt(path string, end head) error {
	f, err := OpenCopy(path)
	if err != nil {
		return err
	}
	_, err = VerifyNewest(f, math.MaxInt)
	if seq, link := f.Head(); err == nil && (head{seq, link}) != end {
		err = bad("store.verify.head", end.seq.String(), seq.String())
	}
	return errors.Join(err, f.Close())
}

// renew begins an epoch at the end of a record.
func (r *Restored) renew(path, copied string, now time.Time, random io.Reader) (end head, err error) {
	f, err := openPath(path, Options{Must: true})
	if err != nil {
		return end, err
	}
	if random == nil {
		random = rand.Reader
	}
	// One server's part of a record that several keep is a record of its own from here on.
	if err = f.leave(); err == nil {
		r.Epoch, err = NewEpoch(random)
	}
	if err == nil {
		last, _ := f.Head()
		e := &traveler.Entry{
			Seq: last + 1, Arrived: laterOf(Whole(now), r.Copy.Last), By: Restorer, Epoch: r.Epoch,
			Say: traveler.Msg{Key: "epoch.restored", Args: []string{copied, last.String()}},
		}
		err = f.Append(last, []*traveler.Entry{e}, []story.Row{LedgerRow(LedgerEpochs, e.Epoch, e.Seq)})
	}
	end.seq, end.link = f.Head()
	return end, errors.Join(err, f.Close())
}

// laterOf is the later of two times: the record does not run back, whatever the
// computer's clock says that puts it back.
func laterOf(a, b time.Time) time.Time {
	if a.Before(b) {
		return b
	}
	return a
}
