package store

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"slices"

	bolt "go.etcd.io/bbolt"
	bolterrors "go.etcd.io/bbolt/errors"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// chunk is how many entries or rows are read in one transaction before they are
// handed on outside it.
const chunk = 512

// Fill of the pages: the record is only ever added to at its end; the ids of
// devices begin with the time and come nearly in order; so do the facts of a part.
const (
	fillRecord = 1.0
	fillIDs    = 0.9
	fillFacts  = 0.9
)

func (f *File) view(doing string, fn func(tx *bolt.Tx) error) error {
	if f.still != nil {
		if err := f.of.mustYield(); err != nil {
			return err
		}
		return f.fault(doing, guard(func() error { return fn(f.still) }))
	}
	f.mu.RLock()
	defer f.mu.RUnlock()
	if f.db == nil {
		return f.fault(doing, bolterrors.ErrDatabaseNotOpen)
	}
	return f.fault(doing, guard(func() error { return f.db.View(fn) }))
}

// update runs fn in one synced transaction. What a failed commit leaves in the pages
// that bbolt keeps in memory is not what it believes of them, so the file is opened
// again before anything else is written.
func (f *File) update(doing string, fn func(tx *bolt.Tx) error) error {
	for {
		if f.suspect.Load() {
			if err := f.reopen(false); err != nil {
				return err
			}
		}
		if err := f.commit(doing, fn); !errors.Is(err, errSuspect) {
			return err
		}
	}
}

// errSuspect is the error of a writer that waited for one whose commit failed.
var errSuspect = errors.New("the commit before failed")

func (f *File) commit(doing string, fn func(tx *bolt.Tx) error) error {
	f.mu.RLock()
	defer f.mu.RUnlock()
	if f.db == nil {
		return f.fault(doing, bolterrors.ErrDatabaseNotOpen)
	}
	f.writing.Lock()
	defer f.writing.Unlock()
	if f.suspect.Load() {
		return errSuspect
	}
	decided, id := false, 0
	err := guard(func() error {
		return f.db.Update(func(tx *bolt.Tx) error {
			err := fn(tx)
			decided, id = err == nil, tx.ID()
			return err
		})
	})
	switch {
	case err == nil:
		f.good.Store(int64(id))
	case decided:
		f.suspect.Store(true)
	}
	return f.fault(doing, err)
}

// linked is an entry as it lies in the record: its link of the chain and its
// body, in one piece.
type linked struct {
	seq   traveler.Seq
	id    traveler.ScanID
	value []byte
}

func (l *linked) link() (h story.Hash) {
	copy(h[:], l.value)
	return h
}

func (l *linked) body() []byte { return l.value[len(story.Hash{}):] }

// chain encodes entries and links them to the end of the record.
func chain(from head, last traveler.Seq, entries []*traveler.Entry) ([]linked, head, error) {
	if from.seq != last {
		return nil, from,
			traveler.Fail(traveler.KindConflict, "store.moved", last.String(), from.seq.String())
	}
	out := make([]linked, 0, len(entries))
	for _, e := range entries {
		if e.Seq != from.seq+1 {
			return nil, from,
				traveler.Fail(traveler.KindConflict, "store.moved", (e.Seq - 1).String(), from.seq.String())
		}
		// The link before stands where the new one goes, so that what is hashed
		// is in one piece.
		value, err := Encode(append(make([]byte, 0, 256), from.link[:]...), e)
		if err != nil {
			return nil, from,
				&traveler.Error{Kind: traveler.KindInternal,
					Say: traveler.Msg{Key: "store.entry", Args: []string{e.Seq.String()}}, Err: err}
		}
		from = head{e.Seq, sha256.Sum256(value)}
		copy(value, from.link[:])
		out = append(out, linked{e.Seq, e.ID(), value})
	}
	return out, from, nil
}

// Append keeps entries and rows in one synced transaction; see story.Log. Entries may
// be empty: then only the rows are replaced. It fails as story.Log says.
func (f *File) Append(last traveler.Seq, entries []*traveler.Entry, rows []story.Row) error {
	seq, hash := f.Head()
	record, end, err := chain(head{seq, hash}, last, entries)
	if err != nil {
		return err
	}
	if err := rowsFormed(rows); err != nil {
		return err
	}
	return f.keep(&kept{record, end, rows, newestEpoch(entries), formatFor(entries), nil, nil})
}

// kept is what is written in one transaction.
type kept struct {
	record []linked
	end    head
	rows   []story.Row
	epoch  string // that the newest entry began; empty for none
	format uint64 // what the file needs for what is kept
	mark   []byte // how far a record that lies elsewhere was read; nil = as it was
	// snapshot is kept with what comes; nil = as it was.
	snapshot []byte
}

// keep writes what was chained already, in one transaction.
func (f *File) keep(k *kept) error {
	err := f.update("append", func(tx *bolt.Tx) error {
		if err := appendRecord(tx, k.record); err != nil {
			return err
		}
		if err := putRows(tx, k.rows); err != nil {
			return err
		}
		meta := tx.Bucket(bucketMeta)
		if err := errors.Join(putFormat(meta, k.format), putEpoch(meta, k.epoch),
			putMark(tx, k.mark)); err != nil {
			return err
		}
		return errors.Join(meta.Put(keyHead, k.end.bytes()), putSnapshot(tx, k.snapshot))
	})
	if err != nil {
		return err
	}
	f.headMu.Lock()
	defer f.headMu.Unlock()
	f.head = k.end
	if k.epoch != "" {
		f.epoch = k.epoch
	}
	return nil
}

// newestEpoch is the last epoch that entries name; empty when they name none.
func newestEpoch(entries []*traveler.Entry) string {
	for _, e := range slices.Backward(entries) {
		if e.Epoch != "" {
			return e.Epoch
		}
	}
	return ""
}

// formatFor is the lowest format of a program that can read entries.
func formatFor(entries []*traveler.Entry) uint64 {
	format := uint64(formatPlain)
	for _, e := range entries {
		switch {
		case e.Scan != nil && e.Scan.Action == traveler.ActReady:
			format = max(format, formatReady)
		case e.Begins():
			format = max(format, formatEpoch)
		}
	}
	return format
}

// putFormat notes that older programs cannot read the file, where its format is higher
// than it was.
func putFormat(meta *bolt.Bucket, format uint64) error {
	if format <= binary.BigEndian.Uint64(meta.Get(keyFormat)) {
		return nil
	}
	return meta.Put(keyFormat, binary.BigEndian.AppendUint64(nil, format))
}

// putEpoch notes the epoch that an entry began, if one did.
func putEpoch(meta *bolt.Bucket, name string) error {
	if name == "" {
		return nil
	}
	return meta.Put(keyEpoch, []byte(name))
}

// putMark notes how far a record that lies elsewhere was read.
func putMark(tx *bolt.Tx, mark []byte) error {
	if mark == nil {
		return nil
	}
	meta := tx.Bucket(bucketMeta)
	return errors.Join(sumAll(tx), putFormat(meta, formatShared), meta.Put(keyMark, mark))
}

func appendRecord(tx *bolt.Tx, kept []linked) error {
	record, ids := tx.Bucket(bucketRecord), tx.Bucket(bucketIDs)
	record.FillPercent, ids.FillPercent = fillRecord, fillIDs
	for i := range kept {
		k := &kept[i]
		key := seqKey(k.seq)
		if err := record.Put(key, k.value); err != nil {
			return err
		}
		if k.id == "" {
			continue
		}
		raw, err := rawID(k.id)
		if err != nil {
			return err
		}
		if ids.Get(raw[:]) != nil {
			return traveler.Fail(traveler.KindConflict, "store.id", string(k.id))
		}
		if err := ids.Put(raw[:], key); err != nil {
			return err
		}
	}
	return nil
}

// Entries reads the record from a sequence on; see story.Log. It fails as story.Log
// says.
func (f *File) Entries(from traveler.Seq, yield func(*traveler.Entry) bool) error {
	more := true
	err := f.walk(from, func(k linked) (bool, error) {
		e, err := f.decode(k.seq, k.body())
		if err != nil {
			return false, err
		}
		more = yield(e)
		return more, nil
	})
	return err
}

func (f *File) decode(seq traveler.Seq, body []byte) (*traveler.Entry, error) {
	e, err := decode(seq, body)
	if err != nil {
		return nil, &traveler.Error{Kind: traveler.KindCorrupt,
			Say: traveler.Msg{Key: "store.entry.damaged", Args: []string{f.path, seq.String()}}, Err: err}
	}
	return e, nil
}

// walk reads the raw record in chunks and calls back outside any transaction.
func (f *File) walk(from traveler.Seq, yield func(linked) (bool, error)) error {
	for from = max(from, 1); ; {
		part := make([]linked, 0, chunk)
		err := f.view("read", func(tx *bolt.Tx) error {
			c := tx.Bucket(bucketRecord).Cursor()
			for k, v := c.Seek(seqKey(from)); k != nil && len(part) < chunk; k, v = c.Next() {
				l, err := f.unlink(k, v)
				if err != nil {
					return err
				}
				part = append(part, l)
			}
			return nil
		})
		if err != nil {
			return err
		}
		for _, l := range part {
			if more, err := yield(l); err != nil || !more {
				return err
			}
		}
		if len(part) < chunk {
			return nil
		}
		from = part[len(part)-1].seq + 1
	}
}

// unlink copies a row of the record out of its transaction.
func (f *File) unlink(k, v []byte) (linked, error) {
	if len(k) != 8 || len(v) < len(story.Hash{}) {
		return linked{}, f.corrupt("store.damaged")
	}
	return linked{seq: traveler.Seq(binary.BigEndian.Uint64(k)), value: bytes.Clone(v)}, nil
}

// Get reads the entries of the given sequences; see story.Log. It fails as story.Log
// says.
func (f *File) Get(seqs []traveler.Seq) ([]*traveler.Entry, error) {
	out := make([]*traveler.Entry, 0, len(seqs))
	err := f.view("read", func(tx *bolt.Tx) error {
		record := tx.Bucket(bucketRecord)
		for _, seq := range seqs {
			key := seqKey(seq)
			v := record.Get(key)
			if v == nil {
				return traveler.Fail(traveler.KindNotFound, "store.nosuch", seq.String())
			}
			l, err := f.unlink(key, v)
			if err != nil {
				return err
			}
			e, err := f.decode(seq, l.body())
			if err != nil {
				return err
			}
			out = append(out, e)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

// Find gives the sequence an id was kept under; see story.Log. It fails as story.Log
// says.
func (f *File) Find(id traveler.ScanID) (seq traveler.Seq, err error) {
	if !id.Valid() {
		return 0, nil // nothing was ever kept under what is no id
	}
	raw, err := rawID(id)
	if err != nil {
		return 0, err
	}
	err = f.view("find", func(tx *bolt.Tx) error {
		if v := tx.Bucket(bucketIDs).Get(raw[:]); len(v) == 8 {
			seq = traveler.Seq(binary.BigEndian.Uint64(v))
		}
		return nil
	})
	return seq, err
}

// eachID walks the index of ids in chunks.
func (f *File) eachID(yield func(id traveler.ScanID, seq traveler.Seq) (bool, error)) error {
	return f.pairs(func(tx *bolt.Tx) *bolt.Bucket { return tx.Bucket(bucketIDs) }, nil,
		func(k, v []byte) (bool, error) {
			if len(k) != 16 || len(v) != 8 {
				return false, f.corrupt("store.damaged")
			}
			return yield(NameID(k), traveler.Seq(binary.BigEndian.Uint64(v)))
		})
}
