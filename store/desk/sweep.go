package desk

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"maps"
	"slices"
	"time"

	"tallywalk/store"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// snapshotIfDue sweeps the floor and saves a snapshot when enough entries came
// since the last one. What fails is like a failed commit.
func (w *writer) snapshotIfDue() {
	if w.broken != nil ||
		w.head.seq+traveler.Seq(len(w.ahead))-w.saved < traveler.Seq(w.d.opt.SnapshotEvery) {
		return
	}
	if w.flush(); w.broken != nil {
		return
	}
	if err := w.snapshot(); err != nil {
		w.fail(err)
	}
}

// finish saves what spares the next start a replay.
func (w *writer) finish() error {
	if w.flush(); w.broken != nil {
		return w.broken
	}
	return w.snapshot()
}

func (w *writer) snapshot() error {
	w.now = w.d.opt.Now()
	w.beginGroup()
	if err := w.sweep(); err != nil {
		return err
	}
	s := &story.Snapshot{
		Seq: w.head.seq, Head: hex.EncodeToString(w.head.link[:]), Rules: story.Rules,
		Format: store.LedgerFormat,
		Shop:   w.shopSeqs, Open: make(map[traveler.Code][]traveler.Seq, len(w.families)),
	}
	for root, t := range w.families {
		s.Open[root] = t.f.Seqs()
		t.f.ThinMarks()
	}
	w.forgetDevices()
	s.Devices = maps.Clone(w.devices)
	for _, e := range w.loose {
		s.Loose = append(s.Loose, e.Seq)
	}
	if err := w.log.Save(s); err != nil {
		return err
	}
	w.saved = w.head.seq
	return nil
}

// over reports whether a family has ended and may leave memory.
func over(f *story.Family, now time.Time, keep time.Duration) bool {
	return now.Sub(f.Last()) > keep && f.Ended()
}

// sweep lets ended families leave the floor for the ledger, and forgets who
// came and left long ago.
func (w *writer) sweep() error {
	var gone []*folded
	for _, t := range w.families {
		if over(t.f, w.now, w.d.opt.Keep) {
			gone = append(gone, t)
		}
	}
	for _, t := range gone {
		if err := w.shelve(t); err != nil {
			return err
		}
	}
	if len(w.rows) > 0 {
		if err := w.log.Append(w.head.seq, nil, w.rows); err != nil {
			return err
		}
	}
	for _, t := range gone {
		w.leave(t)
	}
	w.forget()
	w.d.left(gone, w.loose)
	return nil
}

// forget drops from memory who came and left long ago; questions stay.
func (w *writer) forget() {
	w.loose = slices.DeleteFunc(slices.Clone(w.loose), func(e *traveler.Entry) bool {
		return e.Outcome == traveler.Kept && w.now.Sub(e.Arrived) > w.d.opt.Keep
	})
}

// shelve writes the rows by which a family is found when it is off the floor.
func (w *writer) shelve(t *folded) error {
	root := t.f.Root
	if err := w.shelveFacts(t.f); err != nil {
		return err
	}
	for _, card := range cardsOf(t.f) {
		owner, err := w.rootOf(card)
		if err != nil {
			return err
		}
		if owner == root {
			w.rows = append(w.rows, store.LedgerRow(ledgerCards, string(card), root))
		}
	}
	for i := range t.f.Batches {
		b := &t.f.Batches[i]
		key := orderKey(b.Order)
		if key == "" {
			continue
		}
		cards, err := w.orderedNow(key)
		if err != nil {
			return err
		}
		w.rows = append(w.rows, store.LedgerRow(ledgerOrders, key, union(cards, []traveler.Code{b.Card})))
	}
	return nil
}

// shelveFacts writes the row of a family and those of its facts.
func (w *writer) shelveFacts(f *story.Family) error {
	facts, keys, err := w.factRows(f)
	if err != nil {
		return err
	}
	if err := w.dropFacts(f.Root, keys); err != nil {
		return err
	}
	w.rows = append(w.rows, facts...)
	w.rows = append(w.rows,
		store.LedgerRow(ledgerFamilies, string(f.Root), familyRow{Seqs: f.Seqs(), Facts: keys}))
	return nil
}

// dropFacts removes the facts of a family that was off the floor before, and
// whose batches ended at another time then.
func (w *writer) dropFacts(root traveler.Code, keys [][]byte) error {
	v, err := w.log.Row(ledgerFamilies, string(root))
	if err != nil || v == nil {
		return err
	}
	var was familyRow
	if json.Unmarshal(v, &was) != nil {
		return badRow(ledgerFamilies, string(root))
	}
	for _, key := range was.Facts {
		if !slices.ContainsFunc(keys, func(k []byte) bool { return bytes.Equal(k, key) }) {
			w.rows = append(w.rows, story.Row{Bucket: store.LedgerFacts, Key: string(key)})
		}
	}
	return nil
}

// orderedNow reads a works order's row as it will be after the rows that wait.
func (w *writer) orderedNow(key string) ([]traveler.Code, error) {
	for i := len(w.rows) - 1; i >= 0; i-- {
		if r := &w.rows[i]; r.Bucket == ledgerOrders && r.Key == key {
			return codesOf(r.Value)
		}
	}
	return ordered(w.log, key)
}

// left takes families off the shown floor.
func (d *Desk) left(gone []*folded, loose []*traveler.Entry) {
	d.mu.Lock()
	defer d.mu.Unlock()
	for _, t := range gone {
		d.shown.leave(t)
		d.moved.note(t.f.Root)
		d.shelf.remove(t.f.Root)
	}
	d.shown.loose = loose
}
