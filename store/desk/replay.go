package desk

import (
	"encoding/json"
	"errors"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// replay is the writer finding out from the log what the floor looks like.
// Families are only folded at the end: until then it gathers their records.
type replay struct {
	w         *writer
	whole     bool // from the first entry, ledger and all
	following bool // what other servers keep, as it comes
	records   map[traveler.Code][]*traveler.Entry
	folded    func(*story.Family) // called for each family that leaves memory or stays to the end; may be nil
}

// replay drops what the writer knew and reads the log: the last snapshot and
// what came after it, or everything.
func (w *writer) replay() error {
	snap, err := w.log.Load()
	if err != nil {
		return err
	}
	err = w.replayFrom(snap)
	if errors.Is(err, errNoSnapshot) {
		return w.replayFrom(nil)
	}
	return err
}

// replayFrom begins with a snapshot; nil = with the first entry.
func (w *writer) replayFrom(snap *story.Snapshot) (err error) {
	if err := w.reset(); err != nil {
		return err
	}
	r := &replay{w: w, records: map[traveler.Code][]*traveler.Entry{}}
	from := traveler.Seq(1)
	if snap == nil {
		err = r.clearLedger()
	} else {
		from = snap.Seq + 1
		err = r.begin(snap)
	}
	if err != nil {
		return err
	}
	if err := r.entries(from); err != nil {
		return err
	}
	return r.finish()
}

// errNoSnapshot is the error of a snapshot that the record does not bear out.
var errNoSnapshot = errors.New("the snapshot does not fit the record")

// listed reads the entries that a snapshot lists, which must be of the kind that it says.
// It fails as the log does, and with errNoSnapshot.
func (w *writer) listed(seqs []traveler.Seq, is func(*traveler.Entry) bool) ([]*traveler.Entry, error) {
	es, err := w.log.Get(seqs)
	if traveler.KindOf(err) == traveler.KindNotFound {
		return nil, errNoSnapshot
	}
	for _, e := range es {
		if !is(e) {
			return nil, errNoSnapshot
		}
	}
	return es, err
}

func isChange(e *traveler.Entry) bool { return e.Change != nil }
func isScan(e *traveler.Entry) bool   { return e.Scan != nil }
func isWork(e *traveler.Entry) bool   { return e.Scan != nil || e.Release != nil }

// reset drops what the writer knew.
func (w *writer) reset() error {
	w.floor = newFloor()
	w.stale = nil
	w.shopSeqs, w.adopted, w.used = nil, map[traveler.Seq][]traveler.Code{}, map[traveler.RouteKey]bool{}
	w.ahead, w.pending = nil, map[traveler.ScanID]*traveler.Entry{}
	w.open = nil
	w.devices = map[traveler.DeviceID]story.Spoken{}
	w.head.seq, w.head.link = w.log.Head()
	w.recent = recentFrom(w.head.seq)
	if err := w.epochs.begin(w.log); err != nil {
		return err
	}
	if err := w.readNewest(); err != nil {
		return err
	}
	w.beginGroup()
	return nil
}

// readNewest finds out when the newest entry arrived.
func (w *writer) readNewest() error {
	if w.head.seq == 0 {
		return nil
	}
	last, err := w.bySeq(w.head.seq)
	if err == nil {
		w.d.clock.reset(last.Arrived)
	}
	return err
}

func (r *replay) clearLedger() error {
	r.whole, r.w.saved = true, 0
	seq, _ := r.w.log.Head()
	var rows []story.Row
	for _, bucket := range ledgerBuckets {
		err := r.w.log.Rows(bucket, func(key string, _ []byte) bool {
			rows = append(rows, story.Row{Bucket: bucket, Key: key})
			return true
		})
		if err != nil {
			return err
		}
	}
	if len(rows) == 0 {
		return nil
	}
	return r.w.log.Append(seq, nil, rows)
}

// begin takes over what a snapshot says.
func (r *replay) begin(s *story.Snapshot) error {
	w := r.w
	w.saved = s.Seq
	maps.Copy(w.devices, s.Devices)
	shop, err := w.listed(s.Shop, isChange)
	if err != nil {
		return err
	}
	for _, e := range shop {
		r.change(e)
	}
	if w.loose, err = w.listed(s.Loose, isScan); err != nil {
		return err
	}
	if err := w.loadStale(); err != nil {
		return err
	}
	if err := r.ledger(); err != nil {
		return err
	}
	for root, seqs := range s.Open {
		record, err := w.listed(seqs, isWork)
		released := func(e *traveler.Entry) bool { return e.Release != nil && e.Card == root }
		if err == nil && !slices.ContainsFunc(record, released) {
			err = errNoSnapshot
		}
		if err != nil {
			return err
		}
		if err := r.take(root, func() ([]*traveler.Entry, error) { return record, nil }); err != nil {
			return err
		}
	}
	return nil
}

func (r *replay) change(e *traveler.Entry) {
	r.w.shop = r.w.shop.With(e.Change)
	r.w.shopSeqs = append(r.w.shopSeqs, e.Seq)
}

// take puts the record of a family into memory with the cards it gave out.
func (r *replay) take(root traveler.Code, read func() ([]*traveler.Entry, error)) error {
	record, err := read()
	if err != nil {
		return err
	}
	r.records[root] = record
	for _, card := range cardsIn(record) {
		if r.w.roots[card] != "" {
			continue
		}
		owner, err := r.owner(card, root, record)
		if err != nil {
			return err
		}
		r.w.roots[card] = owner
	}
	return nil
}

// owner says whose a card is that a family gave out: its own, unless the split
// was once corrected to another family.
func (r *replay) owner(card, root traveler.Code, record []*traveler.Entry) (traveler.Code, error) {
	for _, e := range record {
		if e.Other != card || r.w.adopted[e.Seq] == nil {
			continue
		}
		if v, err := r.w.log.Row(ledgerCards, string(card)); err != nil || v != nil {
			return codeOrErr(v, err)
		}
	}
	return root, nil
}

func codeOrErr(v []byte, err error) (traveler.Code, error) {
	if err != nil {
		return "", err
	}
	return codeOf(v)
}

// ledger reads the rows that are always held in memory.
func (r *replay) ledger() error {
	w := r.w
	err := w.log.Rows(ledgerUsed, func(key string, _ []byte) bool {
		part, rev, _ := strings.Cut(key, "\x00")
		w.used[traveler.RouteKey{Part: part, Rev: rev}] = true
		return true
	})
	if err != nil {
		return err
	}
	if err := w.epochs.load(w.log); err != nil {
		return err
	}
	var fault error
	err = w.log.Rows(ledgerAdopted, func(key string, v []byte) bool {
		var roots []traveler.Code
		seq, err := strconv.ParseUint(key, 10, 64)
		if err != nil || json.Unmarshal(v, &roots) != nil {
			fault = badRow(ledgerAdopted, key)
			return false
		}
		w.adopted[traveler.Seq(seq)] = roots
		return true
	})
	if fault != nil {
		return fault
	}
	return err
}

func (r *replay) entries(from traveler.Seq) error {
	var fault error
	n := 0
	err := r.w.log.Entries(from, func(e *traveler.Entry) bool {
		if fault = r.entry(e); fault != nil {
			return false
		}
		if n++; r.whole && n%r.w.d.opt.ThinEvery == 0 {
			fault = r.thin(e.Arrived)
		}
		return fault == nil
	})
	if fault != nil {
		return fault
	}
	return err
}

// entry finds the families an entry belongs to, as the writer did when it came.
func (r *replay) entry(e *traveler.Entry) error {
	w := r.w
	w.noteDevice(e)
	switch {
	case e.Begins():
		w.rows = append(w.rows, w.epochs.note(e)...)
		return nil
	case e.Change != nil:
		w.markStale(e.Change, e.Arrived)
		r.change(e)
		return nil
	case e.Release != nil:
		r.records[e.Card] = merge(r.records[e.Card], []*traveler.Entry{e})
		w.own(e.Card, e.Card)
		w.use(e.Release)
		return nil
	case e.Target != 0:
		return r.control(e)
	}
	root, err := w.rootOf(e.Card)
	if err != nil {
		return err
	}
	if root == "" {
		if e.Outcome != traveler.Refused {
			w.keepLoose(e)
		}
		return nil
	}
	if e.Scan.Action == traveler.ActSplit && e.Other != "" && w.roots[e.Other] == "" {
		w.own(e.Other, root)
	}
	return r.add(root, e)
}

func (r *replay) control(e *traveler.Entry) error {
	w := r.w
	target, err := w.bySeq(e.Target)
	if err != nil {
		return err
	}
	base, err := w.base(target)
	if err != nil {
		return err
	}
	homes, err := w.homes(base)
	if err != nil {
		return err
	}
	dest, err := w.rootOf(e.Card)
	if err != nil {
		return err
	}
	switch {
	case e.Scan.Action == traveler.ActCorrect && e.Outcome != traveler.Refused:
		if err := r.adopt(base, homes, dest); err != nil {
			return err
		}
		homes = union(homes, []traveler.Code{dest})
	case len(homes) == 0:
		w.takeLoose(base.Seq)
	case e.Outcome == traveler.Refused && e.Scan.Action == traveler.ActCorrect:
		homes = homes[:1]
	case e.Outcome == traveler.Refused:
		homes = []traveler.Code{dest}
	}
	w.undone(e, target, base, homes)
	for _, root := range homes {
		if err := r.add(root, e); err != nil {
			return err
		}
	}
	return nil
}

// adopt brings a base, with all that was said about it, to another family.
func (r *replay) adopt(base *traveler.Entry, homes []traveler.Code, dest traveler.Code) error {
	r.w.follow(base, dest)
	if len(homes) > 0 && homes[0] == dest {
		return nil
	}
	from := merge(r.w.loose, []*traveler.Entry{base})
	if len(homes) > 0 {
		if err := r.need(homes[0]); err != nil {
			return err
		}
		from = r.records[homes[0]]
	}
	if err := r.need(dest); err != nil {
		return err
	}
	r.records[dest] = merge(r.records[dest], cluster(base, from))
	if r.whole || r.following {
		r.w.adopt(base, dest)
	} else {
		r.w.noteAdopted(base, dest)
	}
	return nil
}

// add adds an entry to a family's record; a record read from the ledger may
// have it already.
func (r *replay) add(root traveler.Code, e *traveler.Entry) error {
	if err := r.need(root); err != nil {
		return err
	}
	record := r.records[root]
	if len(record) > 0 && record[len(record)-1].Seq < e.Seq {
		r.records[root] = append(record, e)
		return nil
	}
	r.records[root] = merge(record, []*traveler.Entry{e})
	return nil
}

// need reads the record of a family that had left the floor.
func (r *replay) need(root traveler.Code) error {
	if r.records[root] != nil {
		return nil
	}
	if t := r.w.families[root]; r.following && t != nil {
		r.records[root] = slices.Clip(t.f.Record())
		return nil
	}
	if err := r.take(root,
		func() ([]*traveler.Entry, error) { return loadRecord(r.w.log, root) }); err != nil {
		return err
	}
	return nil
}

// thin lets families leave memory that had ended by then.
func (r *replay) thin(now time.Time) error {
	w := r.w
	for root, record := range r.records {
		t := r.fold(root, record)
		if !over(t.f, now, w.d.opt.Keep) {
			continue
		}
		r.note(t)
		if err := w.shelve(t); err != nil {
			return err
		}
		w.show(t)
		w.leave(t)
		delete(r.records, root)
	}
	return r.flush()
}

func (r *replay) fold(root traveler.Code, record []*traveler.Entry) *folded {
	return &folded{f: story.Fold(r.w.shop, record)}
}

func (r *replay) note(t *folded) {
	if r.folded != nil {
		r.folded(t.f)
	}
}

// flush writes ledger rows while the whole record is replayed.
func (r *replay) flush() error {
	rows := r.w.rows
	r.w.rows = nil
	if len(rows) == 0 {
		return nil
	}
	seq, _ := r.w.log.Head()
	return r.w.log.Append(seq, nil, rows)
}

// finish folds the families.
func (r *replay) finish() error {
	w := r.w
	for root, record := range r.records {
		t := r.fold(root, record)
		r.note(t)
		w.show(t)
	}
	if r.whole {
		if err := r.flush(); err != nil {
			return err
		}
	}
	w.forget()
	w.beginGroup()
	return nil
}
