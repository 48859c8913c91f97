package desk

import (
	"bytes"
	"crypto/sha256"
	"maps"
	"slices"

	"tallywalk/store"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// remade is a log whose record is another's, up to limit, and whose ledger is made
// again in memory. Of facts it keeps a hash for each row: nobody reads them while a
// record is replayed, and those of ten years would not fit.
type remade struct {
	story.Log
	limit recordEnd
	step  func(traveler.Seq) error // after some entries; how far it is
	rows  map[string]map[string][]byte
	keys  map[string][]string // of a bucket, in order; missing where one came since
}

// stepEvery is how many entries go between two steps.
const stepEvery = 512

// Head is the end up to which the record is read.
func (m *remade) Head() (traveler.Seq, story.Hash) { return m.limit.seq, m.limit.link }

// Load gives no snapshot, so that all is made again.
func (m *remade) Load() (*story.Snapshot, error) { return nil, nil }

// Entries reads the record up to the limit.
func (m *remade) Entries(from traveler.Seq, yield func(*traveler.Entry) bool) error {
	var fault error
	err := m.Log.Entries(from, func(e *traveler.Entry) bool {
		if e.Seq > m.limit.seq {
			return false
		}
		if e.Seq%stepEvery == 0 {
			fault = m.step(e.Seq)
		}
		return fault == nil && yield(e)
	})
	if fault != nil {
		return fault
	}
	return err
}

// Append keeps rows; there are never entries.
func (m *remade) Append(_ traveler.Seq, _ []*traveler.Entry, rows []story.Row) error {
	for _, r := range rows {
		in := m.rows[r.Bucket]
		if in == nil {
			in = map[string][]byte{}
			m.rows[r.Bucket] = in
		}
		if _, there := in[r.Key]; there != (r.Value != nil) {
			delete(m.keys, r.Bucket)
		}
		if r.Value == nil {
			delete(in, r.Key)
			continue
		}
		in[r.Key] = kept(r.Bucket, r.Value)
	}
	return nil
}

// kept is what is remembered of a row.
func kept(bucket string, value []byte) []byte {
	if bucket != store.LedgerFacts {
		return bytes.Clone(value)
	}
	h := sha256.Sum256(value)
	return bytes.Clone(h[:16])
}

// Row reads one row.
func (m *remade) Row(bucket, key string) ([]byte, error) { return m.rows[bucket][key], nil }

// Rows reads all rows of a bucket.
func (m *remade) Rows(bucket string, yield func(string, []byte) bool) error {
	return m.Range(bucket, "", "", yield)
}

// Range reads the rows between two keys.
func (m *remade) Range(bucket, from, to string, yield func(string, []byte) bool) error {
	keys, ok := m.keys[bucket]
	if !ok {
		keys = slices.Sorted(maps.Keys(m.rows[bucket]))
		m.keys[bucket] = keys
	}
	first, _ := slices.BinarySearch(keys, from)
	for _, key := range keys[first:] {
		if to != "" && key >= to || !yield(key, m.rows[bucket][key]) {
			break
		}
	}
	return nil
}
