package store

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"strconv"

	bolt "go.etcd.io/bbolt"
)

// Rows of tables are no part of the chain and are not made from it, so each has a sum of
// its own beside it: table -> key -> the first 8 bytes of SHA-256 over key and value. They
// are there from format 4 on; a file of an older one gets them when a row is changed first.
var bucketSums = []byte("sums")

func sumOf(key, value []byte) []byte {
	h := sha256.New()
	h.Write(binary.BigEndian.AppendUint64(nil, uint64(len(key)))) // so that no byte can change sides
	h.Write(key)
	h.Write(value)
	return h.Sum(nil)[:8]
}

func summed(tx *bolt.Tx) bool {
	return binary.BigEndian.Uint64(tx.Bucket(bucketMeta).Get(keyFormat)) >= formatSums
}

// changeRow puts a row of a table and its sum, or removes both where the value is nil.
func changeRow(tx *bolt.Tx, table, key, value []byte) error {
	if err := sumAll(tx); err != nil {
		return err
	}
	for _, b := range []struct{ top, value []byte }{{bucketTables, value}, {bucketSums, sumOf(key, value)}} {
		rows, err := tx.Bucket(b.top).CreateBucketIfNotExists(table)
		if err != nil {
			return err
		}
		if value == nil {
			err = rows.Delete(key)
		} else {
			err = rows.Put(key, b.value)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// sumAll gives a file of an older format its sums.
func sumAll(tx *bolt.Tx) error {
	if summed(tx) {
		return nil
	}
	top, err := tx.CreateBucketIfNotExists(bucketSums)
	if err != nil {
		return err
	}
	tables := tx.Bucket(bucketTables)
	err = tables.ForEachBucket(func(table []byte) error {
		sums, err := top.CreateBucketIfNotExists(table)
		if err != nil {
			return err
		}
		return tables.Bucket(table).ForEach(func(k, v []byte) error { return sums.Put(k, sumOf(k, v)) })
	})
	return errors.Join(err, putFormat(tx.Bucket(bucketMeta), formatSums))
}

// checkTables compares each row of the tables with its sum, and names the first that does
// not fit by its number in its table: the keys of some are names of people.
func (f *File) checkTables() error {
	return f.view("check tables", func(tx *bolt.Tx) error {
		if !summed(tx) {
			return nil
		}
		top := tx.Bucket(bucketSums)
		if top == nil {
			return f.corrupt("store.damaged")
		}
		tables := tx.Bucket(bucketTables)
		err := tables.ForEachBucket(func(table []byte) error { return checkTable(tables, top, table) })
		if err != nil {
			return err
		}
		return top.ForEachBucket(func(table []byte) error {
			if tables.Bucket(table) == nil {
				return bad("store.verify.table.missing", string(table))
			}
			return nil
		})
	})
}

func checkTable(tables, top *bolt.Bucket, table []byte) error {
	sums := top.Bucket(table)
	if sums == nil {
		return bad("store.verify.table.changed", string(table), "1")
	}
	n := 0
	err := tables.Bucket(table).ForEach(func(k, v []byte) error {
		n++
		if !bytes.Equal(sums.Get(k), sumOf(k, v)) {
			return bad("store.verify.table.changed", string(table), strconv.Itoa(n))
		}
		return nil
	})
	if err != nil {
		return err
	}
	return sums.ForEach(func(_, _ []byte) error {
		if n--; n < 0 {
			return bad("store.verify.table.missing", string(table))
		}
		return nil
	})
}
