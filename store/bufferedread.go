package store

import (
	"bytes"
	"maps"
	"slices"

	"tallywalk/traveler"
)

// pending are the entries that the file lacks, from a sequence on.
func (b *Buffered) pending(from traveler.Seq) []linked {
	b.mu.RLock()
	defer b.mu.RUnlock()
	var out []linked
	for _, u := range b.layers() {
		for i := range u.kept {
			if u.kept[i].seq >= from {
				out = append(out, u.kept[i:]...)
				break
			}
		}
	}
	return out
}

// Entries reads the record from a sequence on; see story.Log. It fails as story.Log
// says.
func (b *Buffered) Entries(from traveler.Seq, yield func(*traveler.Entry) bool) error {
	return b.walk(from, func(l linked) (bool, error) {
		e, err := b.file.decode(l.seq, l.body())
		if err != nil {
			return false, err
		}
		return yield(e), nil
	})
}

func (b *Buffered) walk(from traveler.Seq, yield func(linked) (bool, error)) error {
	from = max(from, 1)
	late := b.pending(from)
	more := true
	err := b.file.walk(from, func(l linked) (ok bool, err error) {
		more, err = yield(l)
		from = l.seq + 1
		return more, err
	})
	if err != nil || !more {
		return err
	}
	for _, l := range late {
		if l.seq < from {
			continue // it was written since
		}
		if more, err := yield(l); err != nil || !more {
			return err
		}
	}
	return nil
}

// Get reads the entries of the given sequences; see story.Log. It fails as story.Log
// says.
func (b *Buffered) Get(seqs []traveler.Seq) ([]*traveler.Entry, error) {
	out := make([]*traveler.Entry, len(seqs))
	var missing []traveler.Seq
	b.mu.RLock()
	late := make([]*linked, len(seqs))
	for i, seq := range seqs {
		if late[i] = b.inMemory(seq); late[i] == nil {
			missing = append(missing, seq)
		}
	}
	b.mu.RUnlock()
	for i, l := range late {
		if l == nil {
			continue
		}
		e, err := b.file.decode(l.seq, l.body())
		if err != nil {
			return nil, err
		}
		out[i] = e
	}
	if len(missing) == 0 {
		return out, nil
	}
	read, err := b.file.Get(missing)
	if err != nil {
		return nil, err
	}
	for i := range out {
		if out[i] == nil {
			out[i], read = read[0], read[1:]
		}
	}
	return out, nil
}

// inMemory is an entry that the file lacks, or nil.
func (b *Buffered) inMemory(seq traveler.Seq) *linked {
	for _, u := range b.layers() {
		if n := len(u.kept); n > 0 && u.kept[0].seq <= seq && seq <= u.kept[n-1].seq {
			return &u.kept[seq-u.kept[0].seq]
		}
	}
	return nil
}

// Find gives the sequence an id was kept under; see story.Log. It fails as story.Log
// says.
func (b *Buffered) Find(id traveler.ScanID) (traveler.Seq, error) {
	b.mu.RLock()
	for _, u := range b.layers() {
		if seq := u.ids[id]; seq != 0 {
			b.mu.RUnlock()
			return seq, nil
		}
	}
	b.mu.RUnlock()
	return b.file.Find(id)
}

func (b *Buffered) eachID(yield func(id traveler.ScanID, seq traveler.Seq) (bool, error)) error {
	b.mu.RLock()
	late := map[traveler.ScanID]traveler.Seq{}
	for _, u := range b.layers() {
		maps.Copy(late, u.ids)
	}
	b.mu.RUnlock()
	more := true
	err := b.file.eachID(func(id traveler.ScanID, seq traveler.Seq) (ok bool, err error) {
		delete(late, id)
		more, err = yield(id, seq)
		return more, err
	})
	for id, seq := range late {
		if err != nil || !more {
			break
		}
		more, err = yield(id, seq)
	}
	return err
}

func (b *Buffered) checkTables() error { return b.file.checkTables() }

func (b *Buffered) checkKeys(step func() error) error { return b.file.checkKeys(step) }

// Row reads one ledger row; see story.Log. It fails as story.Log says.
func (b *Buffered) Row(bucket, key string) ([]byte, error) {
	b.mu.RLock()
	for _, u := range slices.Backward(b.layers()) {
		if v, ok := u.rows[bucket][key]; ok {
			b.mu.RUnlock()
			return bytes.Clone(v), nil
		}
	}
	b.mu.RUnlock()
	return b.file.Row(bucket, key)
}

// Rows calls yield for every ledger row of a bucket; see story.Log. It fails as
// story.Log says.
func (b *Buffered) Rows(bucket string, yield func(key string, value []byte) bool) error {
	return b.Range(bucket, "", "", yield)
}

// Range calls yield for the ledger rows between two keys; see story.Log. It fails as
// story.Log says.
func (b *Buffered) Range(bucket, from, to string, yield func(key string, value []byte) bool) error {
	late, keys := b.lateRows(bucket, from, to)
	if len(keys) == 0 {
		return b.file.Range(bucket, from, to, yield)
	}
	more := true
	before := func(key string) bool { // hands on the late rows that stand before a key
		for more && len(keys) > 0 && keys[0] < key {
			if v := late[keys[0]]; v != nil {
				more = yield(keys[0], v)
			}
			keys = keys[1:]
		}
		return more
	}
	err := b.file.Range(bucket, from, to, func(key string, value []byte) bool {
		if !before(key) {
			return false
		}
		if len(keys) > 0 && keys[0] == key {
			value, keys = late[key], keys[1:]
			if value == nil {
				return true
			}
		}
		more = yield(key, value)
		return more
	})
	for _, key := range keys {
		if err != nil || !more {
			break
		}
		if v := late[key]; v != nil {
			more = yield(key, v)
		}
	}
	return err
}

// lateRows are the rows of a bucket that the file lacks, and their keys in order.
func (b *Buffered) lateRows(bucket, from, to string) (rows map[string][]byte, keys []string) {
	b.mu.RLock()
	defer b.mu.RUnlock()
	rows = map[string][]byte{}
	for _, u := range b.layers() {
		for key, value := range u.rows[bucket] {
			if key >= from && (to == "" || key < to) {
				rows[key] = value
			}
		}
	}
	return rows, slices.Sorted(maps.Keys(rows))
}
