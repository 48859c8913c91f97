package store

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"time"

	bolt "go.etcd.io/bbolt"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Freshened says what Fresh laid aside, and what it began.
type Freshened struct {
	Aside   string // where the record that was there lies now
	Scans   int    // that it has
	Changes int    // of the shop's lists, that the new record begins with
}

// FreshKey is the sentence of the entry with which a record begins whose batches and
// scans were laid aside. What fills it in is the name of the file that has them, and
// the epochs that are over.
const FreshKey = "epoch.fresh"

// ofTheRecord are the tables whose rows speak of batches: they go with them.
var ofTheRecord = []string{"ahead", "looks", "prints"}

// Fresh begins a record in a folder that has one: the shop's lists stay, with all
// their changes, and so do accounts, stations, tokens and settings; batches and scans
// are laid aside in a file of their own. What stations made in that record and still
// have is not taken any more. again says that a record is laid aside, too, that was
// itself begun so. random names the epoch; nil = crypto/rand. The error is of
// KindNotFound when there is no record, KindConflict when it was begun so and again is
// false, KindBusy when a server has it, KindCorrupt when it is not whole, KindFull when
// nothing can be written. A folder whose record has nothing but lists is left as it is,
// and Aside is empty.
func Fresh(ctx context.Context, dir string, again bool, now time.Time, random io.Reader) (r Freshened,
	err error) {
	old, err := Open(dir, Options{Must: true, Rand: random})
	if err != nil {
		return r, err
	}
	if err := old.Part(); err != nil {
		return r, errors.Join(err, old.Close())
	}
	part := filepath.Join(dir, ".tallywalk-fresh.part")
	defer func() { _ = os.Remove(part) }()
	r, err = old.freshen(ctx, part, again, now, random)
	// Closing it notes its end beside it, which is none of the new one's.
	if err = errors.Join(err, old.Close()); err != nil || r.Aside == "" {
		return r, err
	}
	return r, old.fault("begin a record", layAside(old.path, part, r.Aside))
}

// freshen writes the record that comes after this one.
func (f *File) freshen(ctx context.Context, part string, again bool, now time.Time,
	random io.Reader) (r Freshened, err error) {
	kept, err := keptOf(f)
	if err != nil || kept.rest == 0 {
		return r, err
	}
	if kept.fresh && !again {
		return r, traveler.Fail(traveler.KindConflict, "store.fresh.again", strconv.Itoa(kept.rest))
	}
	end, _ := f.Head()
	aside := fmt.Sprintf("tallywalk-aside-%s-%d.db", now.UTC().Format("20060102T150405Z"), end)
	if err := kept.write(ctx, f, part, aside, now, random); err != nil {
		return r, f.fault("begin a record", err)
	}
	return Freshened{Aside: filepath.Join(filepath.Dir(f.path), aside), Scans: kept.scans,
		Changes: len(kept.changes)}, nil
}

// keptRecord is what of a record goes on in the next one.
type keptRecord struct {
	changes     []*traveler.Entry
	epochs      []string
	scans, rest int // scans; entries that are no changes of the shop
	fresh       bool
}

func keptOf(old *File) (k keptRecord, err error) {
	err = old.Entries(1, func(e *traveler.Entry) bool {
		if e.Epoch != "" {
			k.epochs = append(k.epochs, e.Epoch)
		}
		switch {
		case e.Change != nil:
			k.changes = append(k.changes, e)
		case e.Begins():
			k.fresh = k.fresh || e.Say.Key == FreshKey
			if e.Say.Key == FreshKey {
				k.epochs = append(k.epochs, e.Say.Args[1:]...)
			}
		default:
			k.rest++
			if e.Scan != nil {
				k.scans++
			}
		}
		return true
	})
	if !slices.Contains(k.epochs, old.Epoch()) {
		k.epochs = append(k.epochs, old.Epoch())
	}
	return k, err
}

// write makes the next record beside the old one.
func (k *keptRecord) write(ctx context.Context, old *File, part, aside string, now time.Time,
	random io.Reader) error {
	if err := os.Remove(part); err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	f, err := openPath(part, Options{Rand: random, Now: func() time.Time { return now }})
	if err != nil {
		return err
	}
	end, err := k.fill(ctx, f, old, aside, now)
	if err = errors.Join(err, f.Close()); err != nil {
		return err
	}
	_, err = walkCopy(part, end)
	return err
}

func (k *keptRecord) fill(ctx context.Context, f, old *File, aside string, now time.Time) (end head,
	err error) {
	if err := f.takeTables(ctx, old); err != nil {
		return end, err
	}
	last := traveler.Seq(0)
	arrived := Whole(now)
	for _, e := range k.changes {
		last++
		e.Seq, e.Epoch = last, ""
		arrived = laterOf(arrived, e.Arrived)
	}
	first := &traveler.Entry{
		Seq: last + 1, Arrived: arrived, By: Restorer, Epoch: f.Epoch(),
		Say: traveler.Msg{Key: FreshKey, Args: append([]string{aside}, k.epochs...)},
	}
	if last > 0 {
		k.changes[0].Epoch = f.Epoch()
	}
	rows := []story.Row{LedgerRow(LedgerEpochs, first.Epoch, first.Seq)}
	for _, name := range k.epochs {
		rows = append(rows, LedgerRow(LedgerEpochs, name, traveler.Seq(0)))
	}
	if err := f.Append(0, append(k.changes, first), rows); err != nil {
		return end, err
	}
	end.seq, end.link = f.Head()
	return end, ctx.Err()
}

// takeTables copies the rows outside the record that do not speak of its batches.
func (f *File) takeTables(ctx context.Context, old *File) error {
	return old.view("read tables", func(from *bolt.Tx) error {
		return from.Bucket(bucketTables).ForEachBucket(func(name []byte) error {
			if slices.Contains(ofTheRecord, string(name)) {
				return ctx.Err()
			}
			return f.update("copy tables", func(to *bolt.Tx) error {
				return from.Bucket(bucketTables).Bucket(name).ForEach(func(k, v []byte) error {
					return changeRow(to, name, k, v)
				})
			})
		})
	})
}

// layAside gives the record its other name, and the new one its place. Whenever it is cut
// off, the folder has one of the two whole: a note of how far the old one had come would
// speak against the new one, so it goes first.
func layAside(path, part, aside string) error {
	note := filepath.Join(filepath.Dir(path), NoteName)
	// Not all disks have links; there the record is without a name for a moment.
	if err := os.Link(path, aside); err != nil {
		if err := os.Rename(path, aside); err != nil {
			return err
		}
	}
	if err := os.Remove(note); err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	if err := os.Rename(part, path); err != nil {
		// Where the record lost its name, it gets it back.
		if _, gone := os.Lstat(path); errors.Is(gone, os.ErrNotExist) {
			err = errors.Join(err, os.Rename(aside, path))
		}
		return err
	}
	return syncDir(filepath.Dir(path))
}
