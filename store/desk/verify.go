package desk

import (
	"encoding/json"
	"slices"
	"strconv"
	"time"

	"tallywalk/store"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Audit is what VerifyLedger found.
type Audit struct {
	Rows     int // compared, byte by byte
	Stale    int // known to be old and made again by themselves; not compared
	Returned int // of families that are on the floor again; replaced when they leave
	Lost     int // batches of which pieces are lost or made
	Faults   []error
	More     int  // faults beside those
	Unmade   bool // no snapshot fits, so whoever opens the log next makes the ledger again; not compared
}

// auditFaults is how many faults are named.
const auditFaults = 20

func (a *Audit) fault(key string, args ...string) {
	if len(a.Faults) == auditFaults {
		a.More++
		return
	}
	a.Faults = append(a.Faults, traveler.Fail(traveler.KindCorrupt, key, args...))
}

// VerifyLedger folds the whole record of a File or Mem again, by the rules as they are,
// checks that no piece of a batch is lost, and compares the rows that come of it with
// those that are kept. Others may go on writing. step is called after some entries with
// how far it is, and ends it with an error. The Faults, all of KindCorrupt, name bucket,
// key and batch. It fails as the log and step do, and with KindCorrupt where the record
// cannot be folded.
func VerifyLedger(log story.Log, step func(traveler.Seq) error) (*Audit, error) {
	return verifyLedger(log, Options{}, step)
}

func verifyLedger(log story.Log, opt Options, step func(traveler.Seq) error) (*Audit, error) {
	opt.Now = func() time.Time { return time.Time{} } // nobody decides anything
	opt.fill()
	m := &remade{Log: log, step: step, rows: map[string]map[string][]byte{}, keys: map[string][]string{}}
	m.limit.seq, m.limit.link = log.Head()
	w := &writer{d: &Desk{log: m, opt: opt, clock: serverClock{wall: opt.Now}}, log: m}
	a := &audit{Audit: &Audit{}, w: w, made: m, unbalanced: map[traveler.Code]traveler.Op{}}
	if err := w.reset(); err != nil {
		return a.Audit, err
	}
	r := &replay{w: w, whole: true, records: map[traveler.Code][]*traveler.Entry{}, folded: a.balance}
	if err := r.entries(1); err != nil {
		return a.Audit, err
	}
	from := m.limit.seq + 1
	err := store.Still(log, func(still story.Log) error {
		// What came meanwhile, which is little.
		m.Log = still
		m.limit.seq, m.limit.link = still.Head()
		w.head = m.limit
		if err := r.entries(from); err != nil {
			return err
		}
		return a.finish(r, still)
	})
	return a.Audit, err
}

// audit compares a ledger that was made again with the one that is kept.
type audit struct {
	*Audit
	w          *writer
	made       *remade
	still      story.Log
	snap       *story.Snapshot
	stale      *staleRow
	unbalanced map[traveler.Code]traveler.Op // batches, with the operation

	// let are rows of facts that are not compared, and the count that they belong to.
	let map[string]*int
}

// balance adds up the pieces of a family that was folded.
func (a *audit) balance(f *story.Family) {
	for i := range f.Batches {
		card := f.Batches[i].Card
		delete(a.unbalanced, card)
		if op, is := f.Unbalanced(i); is {
			a.unbalanced[card] = op
		}
	}
}

// finish folds what is left, and compares.
func (a *audit) finish(r *replay, still story.Log) (err error) {
	if err := r.finish(); err != nil {
		return err
	}
	a.still = still
	if a.snap, err = still.Load(); err != nil {
		return err
	}
	if err := a.shelveAll(); err != nil {
		return err
	}
	a.Lost = len(a.unbalanced)
	for _, card := range sortedKeys(a.unbalanced) {
		a.fault("store.verify.pieces", string(card), strconv.Itoa(int(a.unbalanced[card])))
	}
	if a.snap == nil {
		a.Unmade = true
		return nil
	}
	if err := a.readStale(); err != nil {
		return err
	}
	a.snapshot()
	return a.rows()
}

// shelveAll makes the rows of all families that are off the floor in the ledger that is
// kept, as the shop is now.
func (a *audit) shelveAll() error {
	w := a.w
	for w.stale != nil {
		w.beginGroup()
		if err := w.remakeSome(); err != nil {
			return err
		}
	}
	for root, t := range w.families {
		if a.onFloor(root) {
			continue
		}
		w.beginGroup()
		if err := w.shelve(t); err != nil {
			return err
		}
		if err := w.log.Append(0, nil, w.rows); err != nil {
			return err
		}
	}
	return nil
}

// record is the sequences of a family; nil when there is none.
func (a *audit) record(root traveler.Code) []traveler.Seq {
	if t := a.w.families[root]; t != nil {
		return t.f.Seqs()
	}
	var row familyRow
	if v := a.made.rows[ledgerFamilies][string(root)]; v != nil {
		_ = json.Unmarshal(v, &row) // we wrote it
	}
	return row.Seqs
}

// onFloor reports whether the desk that wrote the ledger has a family in memory: the
// snapshot says so, or something was said of it since.
func (a *audit) onFloor(root traveler.Code) bool {
	if a.snap == nil {
		return false
	}
	if _, open := a.snap.Open[root]; open {
		return true
	}
	seqs := a.record(root)
	return len(seqs) > 0 && seqs[len(seqs)-1] > a.snap.Seq
}

func (a *audit) readStale() error {
	v, err := a.still.Row(ledgerStale, staleKey)
	if err != nil || v == nil {
		return err
	}
	a.stale = &staleRow{}
	if json.Unmarshal(v, a.stale) != nil {
		a.stale = nil
		a.rowFault("unread", ledgerStale, staleKey)
	}
	return nil
}

// snapshot compares the sequences of the families that the snapshot has on the floor, and
// those of the shop's changes.
func (a *audit) snapshot() {
	for _, root := range sortedKeys(a.snap.Open) {
		a.Rows++
		if !sameUpTo(a.snap.Open[root], a.record(root), a.snap.Seq) {
			a.fault("store.verify.row.changed", "snapshot", string(root))
		}
	}
	if !sameUpTo(a.snap.Shop, a.w.shopSeqs, a.snap.Seq) {
		a.fault("store.verify.row.changed", "snapshot", "shop")
	}
}

// sameUpTo reports whether sequences are those of a record as it was at a sequence. A
// correction may have brought older ones to it since.
func sameUpTo(seqs, record []traveler.Seq, end traveler.Seq) bool {
	touched := len(record) > 0 && record[len(record)-1] > end
	if !touched {
		return slices.Equal(seqs, record)
	}
	return within(seqs, record)
}

// within reports whether all of some sequences are in a record.
func within(seqs, record []traveler.Seq) bool {
	for _, seq := range seqs {
		if _, in := slices.BinarySearch(record, seq); !in {
			return false
		}
	}
	return true
}
