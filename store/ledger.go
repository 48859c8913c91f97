package store

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"sync"

	bolt "go.etcd.io/bbolt"
	bolterrors "go.etcd.io/bbolt/errors"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

func putRows(tx *bolt.Tx, rows []story.Row) error {
	ledger := tx.Bucket(bucketLedger)
	for _, r := range rows {
		b, err := ledger.CreateBucketIfNotExists([]byte(r.Bucket))
		if err != nil {
			return err
		}
		if r.Bucket == LedgerFacts {
			b.FillPercent = fillFacts
		}
		if r.Value == nil {
			err = b.Delete([]byte(r.Key))
		} else {
			err = b.Put([]byte(r.Key), r.Value)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// Rows calls yield for every ledger row of a bucket; see story.Log. It fails as
// story.Log says.
func (f *File) Rows(bucket string, yield func(key string, value []byte) bool) error {
	return f.each(bucketLedger, bucket, yield)
}

// Row reads one ledger row; see story.Log. It fails as story.Log says.
func (f *File) Row(bucket, key string) ([]byte, error) { return f.one(bucketLedger, bucket, key) }

// Range calls yield for the ledger rows between two keys; see story.Log. It fails as
// story.Log says.
func (f *File) Range(bucket, from, to string, yield func(key string, value []byte) bool) error {
	if bucket == LedgerFacts && to != "" { // without an end, the next row is looked for
		f.willNeed(bucket, from, to)
	}
	return f.between(bucketLedger, bucket, from, to, yield)
}

func (f *File) each(top []byte, bucket string, yield func(key string, value []byte) bool) error {
	return f.between(top, bucket, "", "", yield)
}

func (f *File) between(top []byte, bucket, from, to string, yield func(key string, value []byte) bool) error {
	return f.pairs(
		func(tx *bolt.Tx) *bolt.Bucket { return tx.Bucket(top).Bucket([]byte(bucket)) }, []byte(from),
		func(k, v []byte) (bool, error) {
			if to != "" && string(k) >= to {
				return false, nil
			}
			return yield(string(k), v), nil
		},
	)
}

func (f *File) one(top []byte, bucket, key string) (value []byte, err error) {
	err = f.view("read", func(tx *bolt.Tx) error {
		if b := tx.Bucket(top).Bucket([]byte(bucket)); b != nil {
			value = bytes.Clone(b.Get([]byte(key)))
		}
		return nil
	})
	return value, err
}

// pairs walks a bucket from a key on, in chunks that grow, and calls back
// outside any transaction.
func (f *File) pairs(in func(*bolt.Tx) *bolt.Bucket, from []byte,
	yield func(k, v []byte) (bool, error)) error {
	part := copiesPool.Get().(*copies)
	defer copiesPool.Put(part)
	after := []byte(nil)
	for size := chunk / 64; ; size = min(2*size, chunk) {
		part.clear()
		err := f.view("read", func(tx *bolt.Tx) error {
			b := in(tx)
			if b == nil {
				return nil
			}
			c := b.Cursor()
			k, v := c.Seek(from)
			if k != nil && after != nil && bytes.Equal(k, after) {
				k, v = c.Next()
			}
			for ; k != nil && len(part.ends) < size; k, v = c.Next() {
				part.add(k, v)
			}
			return nil
		})
		if err != nil {
			return err
		}
		for i := range part.ends {
			k, v := part.row(i)
			if more, err := yield(k, v); err != nil || !more {
				return err
			}
		}
		if len(part.ends) < size {
			return nil
		}
		last, _ := part.row(size - 1)
		after = bytes.Clone(last)
		from = after
	}
}

// copies are rows copied out of a transaction, all of them in one piece that is
// used again for the next ones.
type copies struct {
	data []byte
	ends [][2]int // of each key and its value
}

// copiesPool keeps them between two readings.
var copiesPool = sync.Pool{New: func() any { return &copies{} }}

func (c *copies) add(k, v []byte) {
	c.data = append(c.data, k...)
	key := len(c.data)
	c.data = append(c.data, v...)
	c.ends = append(c.ends, [2]int{key, len(c.data)})
}

func (c *copies) clear() { c.data, c.ends = c.data[:0], c.ends[:0] }

// row is a row, good until the next ones are copied.
func (c *copies) row(i int) (k, v []byte) {
	from := 0
	if i > 0 {
		from = c.ends[i-1][1]
	}
	key, end := c.ends[i][0], c.ends[i][1]
	return c.data[from:key:key], c.data[key:end:end]
}

// Save keeps a snapshot; see story.Log. It fails as story.Log says.
func (f *File) Save(s *story.Snapshot) error {
	data, err := json.Marshal(s)
	if err != nil {
		return err
	}
	return f.update("save snapshot", func(tx *bolt.Tx) error { return putSnapshot(tx, data) })
}

// putSnapshot keeps a snapshot with its sum; nil leaves the one that is there.
func putSnapshot(tx *bolt.Tx, data []byte) error {
	if data == nil {
		return nil
	}
	b, sum := tx.Bucket(bucketSnapshot), sha256.Sum256(data)
	return errors.Join(b.Put(keyLast, data), b.Put(keySum, sum[:]))
}

// Load gives the last snapshot that fits; see story.Log. It fails as story.Log says.
func (f *File) Load() (*story.Snapshot, error) {
	var s *story.Snapshot
	err := f.view("load snapshot", func(tx *bolt.Tx) error {
		data := tx.Bucket(bucketSnapshot).Get(keyLast)
		sum, is := tx.Bucket(bucketSnapshot).Get(keySum), sha256.Sum256(data)
		if sum != nil && !bytes.Equal(sum, is[:]) { // a file of an older program has none
			return nil
		}
		s = fitting(data, func(seq traveler.Seq) (h story.Hash, ok bool) {
			v := tx.Bucket(bucketRecord).Get(seqKey(seq))
			return h, copy(h[:], v) == len(h)
		})
		return nil
	})
	return s, err
}

// DropSnapshot forgets the last snapshot, so that whoever opens the record next makes the
// ledger again. It fails as the disk does.
func (f *File) DropSnapshot() error {
	return f.update("drop snapshot",
		func(tx *bolt.Tx) error { return tx.Bucket(bucketSnapshot).Delete(keyLast) })
}

// fitting reads a snapshot and gives it back when it fits the record.
func fitting(data []byte, linkOf func(traveler.Seq) (story.Hash, bool)) *story.Snapshot {
	s := &story.Snapshot{}
	if json.Unmarshal(data, s) != nil || s.Rules != story.Rules || s.Format != LedgerFormat {
		return nil
	}
	h, ok := story.Hash{}, true
	if s.Seq > 0 {
		h, ok = linkOf(s.Seq)
	}
	if !ok || s.Head != hex.EncodeToString(h[:]) {
		return nil
	}
	return s
}

// Tables gives the rows outside the record.
func (f *File) Tables() story.Tables { return fileTables{f} }

type fileTables struct{ f *File }

func (t fileTables) Put(table, key string, value []byte) error {
	if value == nil {
		value = []byte{}
	}
	return t.f.update("put",
		func(tx *bolt.Tx) error { return changeRow(tx, []byte(table), []byte(key), value) })
}

func (t fileTables) Get(table, key string) ([]byte, error) { return t.f.one(bucketTables, table, key) }

func (t fileTables) Delete(table, key string) error {
	return t.f.update("delete",
		func(tx *bolt.Tx) error { return changeRow(tx, []byte(table), []byte(key), nil) })
}

func (t fileTables) Each(table string, yield func(key string, value []byte) bool) error {
	return t.f.each(bucketTables, table, yield)
}

// TableNames lists the tables that hold, or held, rows. It fails as reading the file does.
func (f *File) TableNames() (names []string, err error) {
	err = f.view("read", func(tx *bolt.Tx) error {
		return tx.Bucket(bucketTables).ForEachBucket(func(k []byte) error {
			names = append(names, string(k))
			return nil
		})
	})
	return names, err
}

// DropTable removes all rows of a table. It fails as the disk does.
func (f *File) DropTable(name string) error {
	return f.update("drop table", func(tx *bolt.Tx) error {
		if err := sumAll(tx); err != nil {
			return err
		}
		for _, top := range [][]byte{bucketTables, bucketSums} {
			err := tx.Bucket(top).DeleteBucket([]byte(name))
			if err != nil && !errors.Is(err, bolterrors.ErrBucketNotFound) {
				return err
			}
		}
		return nil
	})
}
