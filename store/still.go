package store

import (
	"maps"

	bolt "go.etcd.io/bbolt"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Still lets fn read a File, what is buffered for one, or a Mem as it is at one moment, record, ledger and
// snapshot, while others go on writing it. What fn gets is good until it returns, for
// one goroutine, and cannot be written. A file that is read so keeps the pages that are
// replaced meanwhile, and cannot be opened again after an error, so fn must not take
// long. It fails as fn does, with KindBusy where the log is closed, with KindInternal
// where it is of another kind.
func Still(log story.Log, fn func(story.Log) error) error {
	switch l := log.(type) {
	case *File:
		return l.view("read", func(tx *bolt.Tx) error {
			f := &File{path: l.path, opt: l.opt, still: tx, of: l}
			if err := f.readHead(tx); err != nil {
				return err
			}
			return fn(f)
		})
	case interface{ written() (*File, error) }:
		f, err := l.written()
		if err != nil {
			return err
		}
		return Still(f, fn)
	case *Mem:
		return fn(l.clone())
	}
	return traveler.Fail(traveler.KindInternal, "store.verify.kind")
}

// clone copies what is replaced in place.
func (m *Mem) clone() *Mem {
	m.mu.RLock()
	defer m.mu.RUnlock()
	n := &Mem{
		record: m.record, ids: maps.Clone(m.ids), tables: map[string]map[string][]byte{},
		snapshot: m.snapshot, epoch: m.epoch,
		ledger: map[string]map[string][]byte{},
	}
	for bucket, rows := range m.ledger {
		n.ledger[bucket] = maps.Clone(rows)
	}
	return n
}
