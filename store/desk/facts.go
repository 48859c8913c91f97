package desk

import (
	"cmp"
	"encoding/binary"
	"encoding/json"
	"slices"
	"strings"
	"sync"
	"time"

	"tallywalk/store"
	"tallywalk/traveler"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/story"
)

// Facts of batches whose family has left the floor lie in the ledger, by part
// and by the end of their lead time. Those of families on the floor are worked
// out from their story, once for each fold.

// factKey is part, zero byte, end of the lead time in milliseconds, card.
func factKey(b *story.BatchFact) string { return factFrom(b.Part, b.Ended) + string(b.Card) }

func factFrom(part string, t time.Time) string {
	var ms uint64
	if !t.IsZero() && t.UnixMilli() > 0 {
		ms = uint64(t.UnixMilli())
	}
	return part + "\x00" + string(binary.BigEndian.AppendUint64(nil, ms))
}

// factRows makes the rows of a family that leaves the floor.
func (w *writer) factRows(f *story.Family) (rows []story.Row, keys [][]byte, err error) {
	m := w.d.meter(w.shop, w.now)
	for i := range f.Batches {
		b := m.Batch(f, i)
		v, err := store.PackFacts(&b)
		if err != nil {
			return nil, nil, err
		}
		key := factKey(&b)
		keys = append(keys, []byte(key))
		rows = append(rows, story.Row{Bucket: store.LedgerFacts, Key: key, Value: v})
	}
	return rows, keys, nil
}

// factEnd is the end of the lead time that a key has.
func factEnd(key string) time.Time {
	part := strings.IndexByte(key, 0)
	if part < 0 || len(key) < part+9 {
		return time.Time{}
	}
	return time.UnixMilli(int64(binary.BigEndian.Uint64([]byte(key[part+1 : part+9]))))
}

func (d *Desk) meter(shop *traveler.Shop, now time.Time) *measure.Meter {
	return &measure.Meter{Shop: shop, Floors: &d.floors, Now: now}
}

// finalFacts are the facts of a family whose batches have all ended, worked out once.
type finalFacts struct {
	once  sync.Once
	facts []story.BatchFact
}

// Facts calls yield for each batch that fits; see story.Desk. It fails as story.Desk
// says.
func (d *Desk) Facts(q story.FactQuery, yield func(*story.BatchFact) bool) error {
	d.mu.RLock()
	shop := d.shown.shop
	floor := make(map[traveler.Code]*folded, len(d.shown.families))
	order := make([]*folded, 0, len(d.shown.families))
	for root, t := range d.shown.families {
		floor[root] = t
		order = append(order, t)
	}
	d.mu.RUnlock()
	slices.SortFunc(order,
		func(a, b *folded) int { return cmp.Compare(a.f.Record()[0].Seq, b.f.Record()[0].Seq) })
	now := d.opt.Now()
	wanted := asked(q.Roots)
	for _, t := range order {
		if wanted != nil && !wanted[t.f.Root] {
			continue
		}
		for _, b := range d.factsOf(t, shop, now) {
			if fits(&b, &q) && !yield(&b) {
				return nil
			}
		}
	}
	return d.shelved(&q, func(b *story.BatchFact) bool { return floor[b.Root] != nil || yield(b) })
}

// asked are the families that are asked for; nil = all.
func asked(roots []traveler.Code) map[traveler.Code]bool {
	if roots == nil {
		return nil
	}
	out := make(map[traveler.Code]bool, len(roots))
	for _, root := range roots {
		out[root] = true
	}
	return out
}

// fits reports whether a batch is wanted.
func fits(b *story.BatchFact, q *story.FactQuery) bool {
	if q.Part != "" && b.Part != q.Part {
		return false
	}
	if b.Ended.IsZero() {
		return q.Open
	}
	return !b.Ended.Before(q.From) && (q.To.IsZero() || b.Ended.Before(q.To))
}

// factsOf gives the facts of a family on the floor. Those of one that goes on
// change with the time and are worked out each time.
func (d *Desk) factsOf(t *folded, shop *traveler.Shop, now time.Time) []story.BatchFact {
	work := func() []story.BatchFact {
		m := d.meter(shop, now)
		out := make([]story.BatchFact, len(t.f.Batches))
		for i := range t.f.Batches {
			out[i] = m.Batch(t.f, i)
		}
		return out
	}
	if t.over() {
		t.final.once.Do(func() { t.final.facts = work() })
		return t.final.facts
	}
	return work()
}

// shelved reads the ledger: some families, a part, all of it, or part by part
// what lies in the period.
func (d *Desk) shelved(q *story.FactQuery, yield func(*story.BatchFact) bool) error {
	without := q.Without
	if q.Bare {
		without |= story.FactVisits
	}
	r := factReader{d: d, rows: store.NewFactReader(without, q.Lent), yield: yield}
	switch {
	case q.Roots != nil:
		return r.families(q)
	case q.Part != "":
		_, err := r.read(factFrom(q.Part, q.From), factTo(q.Part, q.To))
		return err
	case q.From.IsZero() && q.To.IsZero():
		_, err := r.read("", afterAllParts)
		return err
	}
	for part, found, err := d.nextPart(""); ; part, found, err = d.nextPart(part + "\x01") {
		if err != nil || !found {
			return err
		}
		if more, err := r.read(factFrom(part, q.From), factTo(part, q.To)); err != nil || !more {
			return err
		}
	}
}

// factTo is the key before which the rows of a part lie that ended before t.
func factTo(part string, t time.Time) string {
	if t.IsZero() {
		return part + "\x01"
	}
	return factFrom(part, t)
}

// afterAllParts is a key after those of all parts, whose names are UTF-8.
const afterAllParts = "\xff"

type factReader struct {
	d     *Desk
	rows  *store.FactReader
	yield func(*story.BatchFact) bool
}

// read reads the rows from one key to another.
func (r *factReader) read(from, to string) (more bool, err error) {
	more = true
	var fault error
	err = r.d.log.Range(store.LedgerFacts, from, to, func(key string, v []byte) bool {
		var b *story.BatchFact
		if b, fault = r.rows.Read(v); fault != nil {
			fault = badRow(store.LedgerFacts, key)
			return false
		}
		more = r.yield(b)
		return more
	})
	if fault != nil {
		err = fault
	}
	return more, err
}

// families reads the rows of the families that are asked for, by part and end as
// everywhere.
func (r *factReader) families(q *story.FactQuery) error {
	var keys []string
	for _, root := range q.Roots {
		v, err := r.d.log.Row(ledgerFamilies, string(root))
		if err != nil {
			return err
		}
		var f familyRow
		if v == nil {
			continue // it is on the floor, or there is none
		}
		if json.Unmarshal(v, &f) != nil {
			return badRow(ledgerFamilies, string(root))
		}
		for _, key := range f.Facts {
			keys = append(keys, string(key))
		}
	}
	slices.Sort(keys)
	for _, key := range slices.Compact(keys) {
		if more, err := r.one(key, q); err != nil || !more {
			return err
		}
	}
	return nil
}

// one reads one row and hands it on if it fits. One that went since its family
// was looked up is let be: the family came back to the floor.
func (r *factReader) one(key string, q *story.FactQuery) (more bool, err error) {
	v, err := r.d.log.Row(store.LedgerFacts, key)
	if err != nil || v == nil {
		return err == nil, err
	}
	b, err := r.rows.Read(v)
	if err != nil {
		return false, badRow(store.LedgerFacts, key)
	}
	return !fits(b, q) || r.yield(b), nil
}

// nextPart finds the first part whose rows lie at or after a key.
func (d *Desk) nextPart(key string) (part string, found bool, err error) {
	err = d.log.Range(store.LedgerFacts, key, "", func(k string, _ []byte) bool {
		part, _, _ = strings.Cut(k, "\x00")
		found = true
		return false
	})
	return part, found, err
}
