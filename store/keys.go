package store

import (
	"bytes"

	bolt "go.etcd.io/bbolt"
)

// checkKeys looks each row up by the key with which a walk finds it. Where a page that only
// leads to others is damaged, all rows may be there in a walk, and some cannot be found.
// step is called after some of them, and ends it with an error.
func (f *File) checkKeys(step func() error) error {
	var all [][][]byte // buckets, by their names from the outermost
	err := f.view("check keys", func(tx *bolt.Tx) error {
		all = [][][]byte{{bucketRecord}, {bucketIDs}}
		for _, top := range [][]byte{bucketLedger, bucketTables, bucketSums} {
			b := tx.Bucket(top)
			if b == nil {
				continue // no sums yet
			}
			err := b.ForEachBucket(func(name []byte) error {
				all = append(all, [][]byte{top, bytes.Clone(name)})
				return nil
			})
			if err != nil {
				return err
			}
		}
		return nil
	})
	for i := 0; err == nil && i < len(all); i++ {
		err = f.checkKeysOf(all[i], step)
	}
	return err
}

func (f *File) checkKeysOf(path [][]byte, step func() error) error {
	from, done := []byte(nil), false
	for !done {
		err := f.view("check keys", func(tx *bolt.Tx) error {
			b := tx.Bucket(path[0])
			for _, name := range path[1:] {
				if b = b.Bucket(name); b == nil {
					done = true // it is made again
					return nil
				}
			}
			c := b.Cursor()
			k, v := c.Seek(from)
			for n := 0; k != nil && n < chunk; n++ {
				if v != nil && !sameBytes(b.Get(k), v) {
					return f.corrupt("store.damaged")
				}
				from = append(from[:0], k...)
				k, v = c.Next()
			}
			if done = k == nil; !done && bytes.Compare(k, from) <= 0 {
				return f.corrupt("store.damaged")
			}
			from = append(from[:0], k...)
			return nil
		})
		if err != nil {
			return err
		}
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

// sameBytes reports whether two values lie at the same place of the file.
func sameBytes(a, b []byte) bool {
	return a != nil && len(a) == len(b) && (len(a) == 0 || &a[0] == &b[0])
}
