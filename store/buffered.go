package store

import (
	"bytes"
	"encoding/json"
	"maps"
	"slices"
	"sync"
	"time"

	bolt "go.etcd.io/bbolt"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Buffered is a log in a File whose newest entries and rows are still in memory: they are
// written every so often, in one transaction together with a mark of how far they reach
// and with the newest snapshot. It is for a record that is safe elsewhere, so that what is lost
// with the memory is read from there again, and for one that is thrown away if the program
// ends early, as when a history is written at one go. What is read is the same as of a
// File. It is safe for one writer and any number of readers at a time.
type Buffered struct {
	file  *File
	write sync.Mutex // held while the file is written

	mu      sync.RWMutex
	fresh   *unwritten
	writing *unwritten // being written; nil while nothing is
	head    head
	epoch   string
	fault   error // of the last writing, nil when it went well

	stop chan struct{}
	done chan struct{}
}

// unwritten is what a file lacks.
type unwritten struct {
	kept []linked
	ids  map[traveler.ScanID]traveler.Seq
	rows map[string]map[string][]byte // nil value = removed
	mark []byte
	// snapshot is the newest, as the file keeps it; nil for none.
	snapshot []byte
	epoch    string // that the newest entry began; empty for none
	format   uint64
}

func newUnwritten() *unwritten {
	return &unwritten{ids: map[traveler.ScanID]traveler.Seq{}, rows: map[string]map[string][]byte{}}
}

func (u *unwritten) empty() bool {
	return len(u.kept) == 0 && len(u.rows) == 0 && u.mark == nil && u.snapshot == nil
}

// How many entries are in memory before they are written, and at most while the file takes
// none.
const (
	manyUnwritten = 16_384
	mostUnwritten = 200_000
)

// NewBuffered buffers what is written to a file that nobody else appends to, and writes it
// every so often until it is closed; 0 leaves that to the number of entries.
func NewBuffered(f *File, every time.Duration) *Buffered {
	b := &Buffered{file: f, fresh: newUnwritten(), stop: make(chan struct{}), done: make(chan struct{})}
	b.head.seq, b.head.link = f.Head()
	b.epoch = f.Epoch()
	if every > 0 {
		go b.flushing(every)
	} else {
		close(b.done)
	}
	return b
}

func (b *Buffered) flushing(every time.Duration) {
	defer close(b.done)
	tick := time.NewTicker(every)
	defer tick.Stop()
	for {
		select {
		case <-b.stop:
			return
		case <-tick.C:
			_ = b.Flush() // kept in fault
		}
	}
}

// File is the one underneath, which is a second late.
func (b *Buffered) File() *File { return b.file }

// Append takes in entries and rows; see story.Log. They are not safe before Flush. It
// fails as story.Log says.
func (b *Buffered) Append(last traveler.Seq, entries []*traveler.Entry, rows []story.Row) error {
	g, err := b.Link(last, entries, rows)
	if err == nil {
		err = b.Keep(g, rows, nil)
	}
	return err
}

// Link makes a group of entries that follow the end of the record, to be kept with rows. It
// fails as Append of story.Log does, but for the disk.
func (b *Buffered) Link(last traveler.Seq, entries []*traveler.Entry, rows []story.Row) (*Group, error) {
	if err := rowsFormed(rows); err != nil {
		return nil, err
	}
	b.mu.RLock()
	from := b.head
	b.mu.RUnlock()
	if from.seq != last {
		return nil, traveler.Fail(traveler.KindConflict, "store.moved", last.String(), from.seq.String())
	}
	g, err := LinkAfter(from.seq, from.link, entries)
	if err != nil {
		return nil, err
	}
	return g, b.unknown(g.kept)
}

// unknown fails when the id of an entry is there already.
func (b *Buffered) unknown(kept []linked) error {
	seen := map[traveler.ScanID]bool{}
	for _, k := range kept {
		if k.id == "" {
			continue
		}
		seq, err := b.Find(k.id)
		if err != nil {
			return err
		}
		if seq != 0 || seen[k.id] {
			return traveler.Fail(traveler.KindConflict, "store.id", string(k.id))
		}
		seen[k.id] = true
	}
	return nil
}

// Keep takes in a group, with rows that have keys and the mark that goes with it. It fails
// with KindConflict when the group does not follow, and as the file does once far too much
// waits for it.
func (b *Buffered) Keep(g *Group, rows []story.Row, mark []byte) error {
	full, err := b.take(g, rows, mark)
	if full {
		_ = b.Flush() // kept in fault; it is tried again
	}
	return err
}

func (b *Buffered) take(g *Group, rows []story.Row, mark []byte) (full bool, err error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if g.from != b.head {
		return false, traveler.Fail(traveler.KindConflict, "store.moved", g.from.seq.String(), b.head.seq.String())
	}
	u := b.fresh
	if b.fault != nil && len(u.kept) > mostUnwritten {
		return false, b.fault
	}
	for _, k := range g.kept {
		if k.id != "" {
			u.ids[k.id] = k.seq
		}
	}
	u.kept = append(u.kept, g.kept...)
	u.put(rows)
	b.head = g.end
	if mark != nil {
		u.mark = mark
	}
	u.format = max(u.format, formatFor(g.entries))
	if name := newestEpoch(g.entries); name != "" {
		u.epoch, b.epoch = name, name
	}
	return len(u.kept) >= manyUnwritten && b.fault == nil, nil
}

func (u *unwritten) put(rows []story.Row) {
	for _, r := range rows {
		in := u.rows[r.Bucket]
		if in == nil {
			in = map[string][]byte{}
			u.rows[r.Bucket] = in
		}
		in[r.Key] = bytes.Clone(r.Value)
	}
}

// Mark notes how far the record was read where nothing of it had to be kept.
func (b *Buffered) Mark(mark []byte) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.fresh.mark = mark
}

// Flush writes what the file lacks. It fails as the file does; then nothing is lost, and
// the next one writes it.
func (b *Buffered) Flush() error {
	b.write.Lock()
	defer b.write.Unlock()
	b.mu.Lock()
	if b.writing == nil {
		if b.fresh.empty() {
			b.mu.Unlock()
			return nil
		}
		b.writing, b.fresh = b.fresh, newUnwritten()
	}
	u := b.writing
	b.mu.Unlock()
	err := b.file.keepUnwritten(u)
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.fault = err; err == nil {
		b.writing = nil
	}
	return err
}

// written is the file with all that was kept until now.
func (b *Buffered) written() (*File, error) { return b.file, b.Flush() }

// Fault is how the last writing failed; nil when it went well.
func (b *Buffered) Fault() error {
	b.mu.RLock()
	defer b.mu.RUnlock()
	return b.fault
}

func (f *File) keepUnwritten(u *unwritten) error {
	end := head{}
	end.seq, end.link = f.Head()
	if n := len(u.kept); n > 0 {
		end = head{u.kept[n-1].seq, u.kept[n-1].link()}
	}
	var rows []story.Row
	for bucket, in := range u.rows {
		for key, value := range in {
			rows = append(rows, story.Row{Bucket: bucket, Key: key, Value: value})
		}
	}
	return f.keep(&kept{u.kept, end, rows, u.epoch, max(u.format, formatPlain), u.mark, u.snapshot})
}

// layers are what the file lacks, oldest first.
func (b *Buffered) layers() []*unwritten {
	if b.writing == nil {
		return []*unwritten{b.fresh}
	}
	return []*unwritten{b.writing, b.fresh}
}

// Head is the last sequence and its link.
func (b *Buffered) Head() (traveler.Seq, story.Hash) {
	b.mu.RLock()
	defer b.mu.RUnlock()
	return b.head.seq, b.head.link
}

// Epoch names this record: it is the newest that an entry said.
func (b *Buffered) Epoch() string {
	b.mu.RLock()
	defer b.mu.RUnlock()
	return b.epoch
}

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

// Save keeps a snapshot, which is written with what the file lacks; see story.Log. It
// never fails.
func (b *Buffered) Save(s *story.Snapshot) error {
	data, err := json.Marshal(s)
	if err != nil {
		return err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	b.fresh.snapshot = data
	return nil
}

// Load gives the last snapshot that fits, after what the file lacks is written; see
// story.Log. It fails as story.Log says.
func (b *Buffered) Load() (*story.Snapshot, error) {
	if err := b.Flush(); err != nil {
		return nil, err
	}
	return b.file.Load()
}

// Reopen opens the file again, once something went wrong with it; what it lacks stays in
// memory. It fails as story.Log says.
func (b *Buffered) Reopen() error {
	b.write.Lock()
	defer b.write.Unlock()
	return b.file.Reopen()
}

// Close writes what the file lacks and closes it. It fails as story.Log says.
func (b *Buffered) Close() error {
	close(b.stop)
	<-b.done
	err := b.Flush()
	if cerr := b.file.Close(); err == nil {
		err = cerr
	}
	return err
}

// Tables gives the rows outside the record, which are written at once.
func (b *Buffered) Tables() story.Tables { return b.file.Tables() }

// StreamMark is how far the file had read a record that lies elsewhere; nil when the
// record is its own.
func (f *File) StreamMark() (mark []byte, err error) {
	err = f.view("read", func(tx *bolt.Tx) error {
		mark = bytes.Clone(tx.Bucket(bucketMeta).Get(keyMark))
		return nil
	})
	return mark, err
}
