package store

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	bolt "go.etcd.io/bbolt"

	"tallywalk/traveler"
)

// copyStep is how much of a copy is made safe at a time: more at once starves
// the writer, whose own bytes wait for it.
const copyStep = 4 << 20

// Copy is a copy of the record that was written and checked.
type Copy struct {
	Path string
	Report
}

// Backup writes a copy of the file into a folder while others read and write
// it, and walks the copy: its chain must be whole and end where the record did.
// The copy is named after a moment and its end, and appears only when it is
// whole. pace is called after each part that is safe, with its size, and may
// wait. The error is of KindNotFound when there is no such folder, KindConflict
// when it is the data folder or the copy is there already, KindFull when
// nothing can be written, KindCorrupt when the copy is not whole.
func (f *File) Backup(ctx context.Context, dir string, now time.Time, pace func(n int) error) (c Copy,
	err error) {
	if err := f.maySave(dir); err != nil {
		return c, err
	}
	part, err := os.CreateTemp(dir, ".tallywalk-*.part")
	if err != nil {
		return c, (&File{path: dir}).fault("back up", err)
	}
	defer func() { _ = os.Remove(part.Name()) }()
	want, err := f.copyTo(ctx, part, pace, io.Discard)
	if err = errors.Join(err, part.Close()); err != nil {
		return c, (&File{path: part.Name()}).fault("back up", err)
	}
	c.Report, err = walkCopy(part.Name(), want)
	if err != nil {
		return c, err
	}
	c.Path = filepath.Join(dir,
		fmt.Sprintf("tallywalk-%s-%d.db", now.UTC().Format("20060102T150405Z"), want.seq))
	return c, (&File{path: c.Path}).fault("back up", appear(part.Name(), c.Path))
}

// maySave refuses a folder that is not there, since it may be a disk that was
// not put in, and the one that the record itself lies in.
func (f *File) maySave(dir string) error {
	to, err := os.Stat(dir)
	if err != nil || !to.IsDir() {
		return traveler.Fail(traveler.KindNotFound, "store.backup.folder", dir)
	}
	own, err := os.Stat(filepath.Dir(f.path))
	if err == nil && os.SameFile(own, to) {
		return traveler.Fail(traveler.KindConflict, "store.backup.same", dir)
	}
	return nil
}

// copyTo writes the file as it is at one moment, the same into also, and says where the
// record ends in it.
func (f *File) copyTo(ctx context.Context, to *os.File, pace func(int) error, also io.Writer) (end head,
	err error) {
	w := &paced{ctx: ctx, to: to, pace: pace, mustYield: f.mustYield}
	err = f.view("copy", func(tx *bolt.Tx) error {
		var err error
		if end, err = headIn(tx.Bucket(bucketMeta).Get(keyHead)); err != nil {
			return f.corrupt("store.damaged")
		}
		_, err = tx.WriteTo(io.MultiWriter(w, also))
		return err
	})
	return end, errors.Join(err, to.Sync())
}

// headIn reads a head as it lies in the file.
func headIn(v []byte) (h head, err error) {
	if len(v) != len(h.bytes()) {
		return h, errDamaged
	}
	copy(h.link[:], v[8:])
	for _, b := range v[:8] {
		h.seq = h.seq<<8 | traveler.Seq(b)
	}
	return h, nil
}

// walkCopy checks a copy from its first entry to the end it must have.
func walkCopy(path string, want head) (Report, error) {
	c, err := OpenCopy(path)
	if err != nil {
		return Report{}, err
	}
	r, err := Verify(c)
	if err == nil && (head{r.Head, r.Link}) != want {
		err = bad("store.verify.head", want.seq.String(), r.Head.String())
	}
	return r, errors.Join(err, c.Close())
}

// paced makes what is written safe part by part.
type paced struct {
	ctx  context.Context
	to   *os.File
	pace func(int) error
	n    int
	// mustYield fails when the file is wanted for something that cannot wait.
	mustYield func() error
}

// Write writes, and waits where the pace wants it to.
func (p *paced) Write(b []byte) (done int, err error) {
	for len(b) > 0 {
		if err := p.mustYield(); err != nil {
			return done, err
		}
		n, err := p.to.Write(b[:min(len(b), copyStep-p.n)])
		done, p.n, b = done+n, p.n+n, b[n:]
		if err != nil {
			return done, err
		}
		if p.n < copyStep {
			continue
		}
		p.n = 0
		if err := p.step(); err != nil {
			return done, err
		}
	}
	return done, nil
}

func (p *paced) step() error {
	if err := p.to.Sync(); err != nil {
		return err
	}
	err := p.pace(copyStep)
	if p.ctx.Err() != nil {
		return &traveler.Error{Kind: traveler.KindBusy, Say: traveler.Msg{Key: "store.backup.ended"},
			Err: p.ctx.Err()}
	}
	return err
}

// appear gives a file its name, unless something has it, and makes that safe.
func appear(part, name string) error {
	if _, err := os.Lstat(name); err == nil {
		return traveler.Fail(traveler.KindConflict, "store.exists", name)
	}
	// A link never replaces what someone else made meanwhile; not all disks
	// have them.
	if err := os.Link(part, name); errors.Is(err, os.ErrExist) {
		return traveler.Fail(traveler.KindConflict, "store.exists", name)
	} else if err != nil {
		if err := os.Rename(part, name); err != nil {
			return err
		}
	}
	return syncDir(filepath.Dir(name))
}

// syncDir makes names in a folder safe, where the system can.
func syncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	_ = d.Sync() // some systems refuse this for folders; then names are as safe as they get
	return d.Close()
}
