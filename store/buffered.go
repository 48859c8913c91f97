package store

import (
	"bytes"
	"encoding/json"
	"sync"
	"time"

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
		return false, traveler.Fail(traveler.KindConflict, "store.moved", g.from.seq.String(),
			b.head.seq.String())
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
