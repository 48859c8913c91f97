package store

import (
	"bytes"
	"crypto/rand"
	"encoding/json"
	"maps"
	"slices"
	"sync"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Mem is a log, with its tables, in memory: for tests, and for a floor that
// nobody wants to keep. It encodes what it keeps as File does, so that nothing
// is shared with the caller. It is safe for concurrent use.
type Mem struct {
	mu       sync.RWMutex
	record   []linked
	ids      map[traveler.ScanID]traveler.Seq
	ledger   map[string]map[string][]byte
	tables   map[string]map[string][]byte
	snapshot []byte
	epoch    string
}

// NewMem makes an empty log in memory.
func NewMem() *Mem {
	// crypto/rand never fails.
	epoch, _ := NewEpoch(rand.Reader)
	return &Mem{
		ids:    map[traveler.ScanID]traveler.Seq{},
		ledger: map[string]map[string][]byte{},
		tables: map[string]map[string][]byte{},
		epoch:  epoch,
	}
}

func (m *Mem) head() head {
	if len(m.record) == 0 {
		return head{}
	}
	last := &m.record[len(m.record)-1]
	return head{last.seq, last.link()}
}

// Append keeps entries and rows; see story.Log. It fails as story.Log says.
func (m *Mem) Append(last traveler.Seq, entries []*traveler.Entry, rows []story.Row) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	kept, _, err := chain(m.head(), last, entries)
	if err != nil {
		return err
	}
	if err := rowsFormed(rows); err != nil {
		return err
	}
	fresh := map[traveler.ScanID]traveler.Seq{}
	for _, k := range kept {
		if k.id == "" {
			continue
		}
		if m.ids[k.id] != 0 || fresh[k.id] != 0 {
			return traveler.Fail(traveler.KindConflict, "store.id", string(k.id))
		}
		fresh[k.id] = k.seq
	}
	m.record = append(m.record, kept...)
	if name := newestEpoch(entries); name != "" {
		m.epoch = name
	}
	maps.Copy(m.ids, fresh)
	for _, r := range rows {
		set(m.ledger, r.Bucket, r.Key, r.Value)
	}
	return nil
}

func set(in map[string]map[string][]byte, bucket, key string, value []byte) {
	if value == nil {
		delete(in[bucket], key)
		return
	}
	if in[bucket] == nil {
		in[bucket] = map[string][]byte{}
	}
	in[bucket][key] = bytes.Clone(value)
}

// Head is the last sequence and its link.
func (m *Mem) Head() (traveler.Seq, story.Hash) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	h := m.head()
	return h.seq, h.link
}

// Entries reads the record from a sequence on; see story.Log. It fails as story.Log
// says.
func (m *Mem) Entries(from traveler.Seq, yield func(*traveler.Entry) bool) error {
	return m.walk(from, func(l linked) (bool, error) {
		e, err := decode(l.seq, l.body())
		return err == nil && yield(e), err
	})
}

func (m *Mem) walk(from traveler.Seq, yield func(linked) (bool, error)) error {
	m.mu.RLock()
	record := m.record
	m.mu.RUnlock()
	from = max(from, 1)
	for i := int(min(from-1, traveler.Seq(len(record)))); i < len(record); i++ {
		if more, err := yield(record[i]); err != nil || !more {
			return err
		}
	}
	return nil
}

// checkTables and checkKeys find nothing: memory is as it was.
func (m *Mem) checkTables() error { return nil }

func (m *Mem) checkKeys(func() error) error { return nil }

func (m *Mem) eachID(yield func(traveler.ScanID, traveler.Seq) (bool, error)) error {
	m.mu.RLock()
	ids := maps.Clone(m.ids)
	m.mu.RUnlock()
	for id, seq := range ids {
		if more, err := yield(id, seq); err != nil || !more {
			return err
		}
	}
	return nil
}

// Get reads the entries of the given sequences; see story.Log. It fails as story.Log
// says.
func (m *Mem) Get(seqs []traveler.Seq) ([]*traveler.Entry, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	out := make([]*traveler.Entry, 0, len(seqs))
	for _, seq := range seqs {
		if seq == 0 || seq > traveler.Seq(len(m.record)) {
			return nil, traveler.Fail(traveler.KindNotFound, "store.nosuch", seq.String())
		}
		e, err := decode(seq, m.record[seq-1].body())
		if err != nil {
			return nil, err
		}
		out = append(out, e)
	}
	return out, nil
}

// Find gives the sequence an id was kept under; see story.Log. It fails as story.Log
// says.
func (m *Mem) Find(id traveler.ScanID) (traveler.Seq, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	return m.ids[id], nil
}

// Rows calls yield for every ledger row of a bucket; see story.Log. It fails as
// story.Log says.
func (m *Mem) Rows(bucket string, yield func(key string, value []byte) bool) error {
	m.eachIn(m.ledger, bucket, yield)
	return nil
}

func (m *Mem) eachIn(in map[string]map[string][]byte, bucket string, yield func(string, []byte) bool) {
	m.mu.RLock()
	rows := maps.Clone(in[bucket])
	m.mu.RUnlock()
	for _, key := range slices.Sorted(maps.Keys(rows)) {
		if !yield(key, bytes.Clone(rows[key])) {
			return
		}
	}
}

// Range calls yield for the ledger rows between two keys; see story.Log. It fails as
// story.Log says.
func (m *Mem) Range(bucket, from, to string, yield func(key string, value []byte) bool) error {
	m.eachIn(m.ledger, bucket, func(key string, value []byte) bool {
		return key < from || (to == "" || key < to) && yield(key, value)
	})
	return nil
}

// Row reads one ledger row; see story.Log. It fails as story.Log says.
func (m *Mem) Row(bucket, key string) ([]byte, error) { return m.oneIn(m.ledger, bucket, key), nil }

func (m *Mem) oneIn(in map[string]map[string][]byte, bucket, key string) []byte {
	m.mu.RLock()
	defer m.mu.RUnlock()
	return bytes.Clone(in[bucket][key])
}

// Save keeps a snapshot; see story.Log. It fails as story.Log says.
func (m *Mem) Save(s *story.Snapshot) (err error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.snapshot, err = json.Marshal(s)
	return err
}

// Load gives the last snapshot that fits; see story.Log. It fails as story.Log says.
func (m *Mem) Load() (*story.Snapshot, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	return fitting(m.snapshot, func(seq traveler.Seq) (story.Hash, bool) {
		if seq > traveler.Seq(len(m.record)) {
			return story.Hash{}, false
		}
		return m.record[seq-1].link(), true
	}), nil
}

// Epoch names this record: it is the newest that an entry said.
func (m *Mem) Epoch() string {
	m.mu.RLock()
	defer m.mu.RUnlock()
	return m.epoch
}

// Reopen does nothing: memory is always as it was. It fails as story.Log says.
func (m *Mem) Reopen() error { return nil }

// Close does nothing. It fails as story.Log says.
func (m *Mem) Close() error { return nil }

// Tables gives the rows outside the record.
func (m *Mem) Tables() story.Tables { return memTables{m} }

type memTables struct{ m *Mem }

func (t memTables) Put(table, key string, value []byte) error {
	t.m.mu.Lock()
	defer t.m.mu.Unlock()
	if value == nil {
		value = []byte{}
	}
	set(t.m.tables, table, key, value)
	return nil
}

func (t memTables) Get(table, key string) ([]byte, error) {
	return t.m.oneIn(t.m.tables, table, key), nil
}

func (t memTables) Delete(table, key string) error {
	t.m.mu.Lock()
	defer t.m.mu.Unlock()
	set(t.m.tables, table, key, nil)
	return nil
}

func (t memTables) Each(table string, yield func(key string, value []byte) bool) error {
	t.m.eachIn(t.m.tables, table, yield)
	return nil
}
