package store

import (
	"bytes"
	"cmp"
	"maps"
	"slices"
	"sync"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// gatherMost is how many entries are gathered at most.
const gatherMost = 16384

// Gather is a log in a File that is thrown away if the program ends early, as
// when a history is written at one go: what is appended waits in memory and goes
// into the file in large pieces, at each snapshot at the latest. Nothing is safe
// before. What is read is the same as of a File.
type Gather struct {
	file      *File
	fromFirst bool // nothing was in the file when this log began

	mu     sync.RWMutex
	end    head // of the record, with what waits
	linked []linked
	format uint64                           // that the file needs for what waits
	ids    map[traveler.ScanID]traveler.Seq // kept since this log began
	rows   map[rowName][]byte               // nil = it is to be removed
}

type rowName struct{ bucket, key string }

// NewGather makes a log over a file that nobody else appends to.
func NewGather(file *File) *Gather {
	g := &Gather{file: file, ids: map[traveler.ScanID]traveler.Seq{}, rows: map[rowName][]byte{}}
	g.end.seq, g.end.link = file.Head()
	g.fromFirst = g.end.seq == 0
	return g
}

// Append keeps entries and rows; see story.Log. It fails as story.Log says.
func (g *Gather) Append(last traveler.Seq, entries []*traveler.Entry, rows []story.Row) error {
	g.mu.Lock()
	defer g.mu.Unlock()
	if newestEpoch(entries) != "" {
		return g.through(last, entries, rows)
	}
	kept, end, err := chain(g.end, last, entries)
	if err != nil {
		return err
	}
	if err := rowsFormed(rows); err != nil {
		return err
	}
	if err := g.fresh(kept); err != nil {
		return err
	}
	for _, l := range kept {
		if l.id != "" {
			g.ids[l.id] = l.seq
		}
	}
	g.linked, g.end = append(g.linked, kept...), end
	g.format = max(g.format, formatFor(entries))
	for _, r := range rows {
		g.rows[rowName{r.Bucket, r.Key}] = bytes.Clone(r.Value)
	}
	if len(g.linked) < gatherMost {
		return nil
	}
	return g.write()
}

// through appends to the file at once what names an epoch, which the file notes.
func (g *Gather) through(last traveler.Seq, entries []*traveler.Entry, rows []story.Row) error {
	if err := g.write(); err != nil {
		return err
	}
	if err := g.file.Append(last, entries, rows); err != nil {
		return err
	}
	for _, e := range entries {
		if id := e.ID(); id != "" {
			g.ids[id] = e.Seq
		}
	}
	g.end.seq, g.end.link = g.file.Head()
	return nil
}

// fresh refuses ids that are there already.
func (g *Gather) fresh(kept []linked) error {
	among := map[traveler.ScanID]bool{}
	for _, l := range kept {
		if l.id == "" {
			continue
		}
		seq, err := g.find(l.id)
		if err != nil {
			return err
		}
		if seq != 0 || among[l.id] {
			return traveler.Fail(traveler.KindConflict, "store.id", string(l.id))
		}
		among[l.id] = true
	}
	return nil
}

// write puts what waits into the file. It is called with the lock held.
func (g *Gather) write() error {
	if len(g.linked) == 0 && len(g.rows) == 0 {
		return nil
	}
	names := slices.SortedFunc(maps.Keys(g.rows), func(a, b rowName) int {
		return cmp.Or(cmp.Compare(a.bucket, b.bucket), cmp.Compare(a.key, b.key))
	})
	rows := make([]story.Row, 0, len(names))
	for _, n := range names {
		rows = append(rows, story.Row{Bucket: n.bucket, Key: n.key, Value: g.rows[n]})
	}
	if err := g.file.keep(g.linked, g.end, nil, rows, g.format); err != nil {
		return err
	}
	g.linked = nil
	clear(g.rows)
	return nil
}

// flush puts what waits into the file.
func (g *Gather) flush() error {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.write()
}

// Head is the last sequence and its link.
func (g *Gather) Head() (traveler.Seq, story.Hash) {
	g.mu.RLock()
	defer g.mu.RUnlock()
	return g.end.seq, g.end.link
}

// Entries reads the record from a sequence on; see story.Log. It fails as story.Log
// says.
func (g *Gather) Entries(from traveler.Seq, yield func(*traveler.Entry) bool) error {
	if err := g.flush(); err != nil {
		return err
	}
	return g.file.Entries(from, yield)
}

// Get reads the entries of the given sequences; see story.Log. It fails as story.Log
// says.
func (g *Gather) Get(seqs []traveler.Seq) ([]*traveler.Entry, error) {
	g.mu.RLock()
	defer g.mu.RUnlock()
	out := make([]*traveler.Entry, len(seqs))
	written := g.end.seq - traveler.Seq(len(g.linked))
	var inFile []traveler.Seq
	var at []int
	for i, seq := range seqs {
		if seq <= written || seq > g.end.seq {
			inFile, at = append(inFile, seq), append(at, i)
			continue
		}
		e, err := g.file.decode(seq, g.linked[seq-written-1].body())
		if err != nil {
			return nil, err
		}
		out[i] = e
	}
	if len(inFile) == 0 {
		return out, nil
	}
	read, err := g.file.Get(inFile)
	if err != nil {
		return nil, err
	}
	for i, e := range read {
		out[at[i]] = e
	}
	return out, nil
}

// Find gives the sequence an id was kept under; see story.Log. It fails as story.Log
// says.
func (g *Gather) Find(id traveler.ScanID) (traveler.Seq, error) {
	g.mu.RLock()
	defer g.mu.RUnlock()
	return g.find(id)
}

func (g *Gather) find(id traveler.ScanID) (traveler.Seq, error) {
	if seq := g.ids[id]; seq != 0 || g.fromFirst {
		return seq, nil
	}
	return g.file.Find(id)
}

// Rows calls yield for every ledger row of a bucket; see story.Log. It fails as
// story.Log says.
func (g *Gather) Rows(bucket string, yield func(key string, value []byte) bool) error {
	return g.Range(bucket, "", "", yield)
}

// Range calls yield for the ledger rows between two keys; see story.Log. It fails as
// story.Log says.
func (g *Gather) Range(bucket, from, to string, yield func(key string, value []byte) bool) error {
	if err := g.flush(); err != nil {
		return err
	}
	return g.file.Range(bucket, from, to, yield)
}

// Row reads one ledger row; see story.Log. It fails as story.Log says.
func (g *Gather) Row(bucket, key string) ([]byte, error) {
	g.mu.RLock()
	defer g.mu.RUnlock()
	if v, ok := g.rows[rowName{bucket, key}]; ok {
		return bytes.Clone(v), nil
	}
	return g.file.Row(bucket, key)
}

// Save keeps a snapshot, and all before it; see story.Log. It fails as story.Log says.
func (g *Gather) Save(s *story.Snapshot) error {
	if err := g.flush(); err != nil {
		return err
	}
	return g.file.Save(s)
}

// Load gives the last snapshot that fits; see story.Log. It fails as story.Log says.
func (g *Gather) Load() (*story.Snapshot, error) {
	if err := g.flush(); err != nil {
		return nil, err
	}
	return g.file.Load()
}

// Epoch names this record.
func (g *Gather) Epoch() string { return g.file.Epoch() }

// Reopen does nothing for what waits, which is in memory and as it was. It fails as
// story.Log says.
func (g *Gather) Reopen() error { return g.file.Reopen() }

// Close puts what waits into the file, and closes it. It fails as story.Log says.
func (g *Gather) Close() error {
	if err := g.flush(); err != nil {
		return err
	}
	return g.file.Close()
}

// Tables gives the rows outside the record.
func (g *Gather) Tables() story.Tables { return g.file.Tables() }

func (g *Gather) walk(from traveler.Seq, yield func(linked) (bool, error)) error {
	if err := g.flush(); err != nil {
		return err
	}
	return g.file.walk(from, yield)
}

func (g *Gather) checkTables() error { return g.file.checkTables() }

func (g *Gather) checkKeys(step func() error) error { return g.file.checkKeys(step) }

func (g *Gather) eachID(yield func(traveler.ScanID, traveler.Seq) (bool, error)) error {
	if err := g.flush(); err != nil {
		return err
	}
	return g.file.eachID(yield)
}
