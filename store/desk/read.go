package desk

import (
	"cmp"
	"encoding/json"
	"slices"
	"strings"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// show merges a committed group into the shown floor and wakes who waits.
func (d *Desk) show(g *group) {
	d.mu.Lock()
	defer d.mu.Unlock()
	for _, o := range g.owned {
		d.shown.roots[o[0]] = o[1]
	}
	for _, t := range g.folds {
		if d.shown.families[t.f.Root] == nil {
			d.shelf.remove(t.f.Root)
		}
		d.shown.show(t)
		d.moved.note(t.f.Root)
	}
	if d.shown.shop != g.after.shop {
		d.shelf.clear()
	}
	d.shown.shop, d.shown.loose, d.shown.head = g.after.shop, g.after.loose, g.after.head
	d.wake()
}

// showAll replaces the shown floor by one that was replayed.
func (d *Desk) showAll(fl floor) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.shown = fl
	d.moved.forget()
	d.shelf.clear()
	d.wake()
}

func (d *Desk) wake() {
	close(d.changed)
	d.changed = make(chan struct{})
}

// Shop is the shop as committed.
func (d *Desk) Shop() *traveler.Shop {
	d.mu.RLock()
	defer d.mu.RUnlock()
	return d.shown.shop
}

// Head is the last committed sequence and its link.
func (d *Desk) Head() (traveler.Seq, story.Hash) {
	d.mu.RLock()
	defer d.mu.RUnlock()
	return d.shown.head.seq, d.shown.head.link
}

// Open calls yield for each family on the floor, in the order of their
// releases. Families stay for a while after they ended.
func (d *Desk) Open(yield func(*story.Family) bool) {
	d.mu.RLock()
	all := make([]*story.Family, 0, len(d.shown.families))
	for _, t := range d.shown.families {
		all = append(all, t.f)
	}
	d.mu.RUnlock()
	slices.SortFunc(all,
		func(a, b *story.Family) int { return cmp.Compare(a.Record()[0].Seq, b.Record()[0].Seq) })
	for _, f := range all {
		if !yield(f) {
			return
		}
	}
}

// Family gives the family a batch belongs to, finished ones too. It fails as story.Desk
// says.
func (d *Desk) Family(card traveler.Code) (*story.Family, error) {
	root, f := d.inMemory(card)
	if f != nil {
		return f, nil
	}
	if root == "" {
		v, err := d.log.Row(ledgerCards, string(card))
		if err != nil {
			return nil, err
		}
		if v == nil {
			return nil, traveler.Fail(traveler.KindNotFound, "card.unknown", string(card))
		}
		if root, err = codeOf(v); err != nil {
			return nil, err
		}
	}
	return d.fetch(root)
}

func (d *Desk) inMemory(card traveler.Code) (root traveler.Code, f *story.Family) {
	d.mu.RLock()
	defer d.mu.RUnlock()
	root = d.shown.roots[card]
	if t := d.shown.families[root]; t != nil {
		return root, t.f
	}
	return root, nil
}

// fetch folds a family that is off the floor. It is put on the shelf only when
// nothing came or went meanwhile that could have made it old.
func (d *Desk) fetch(root traveler.Code) (*story.Family, error) {
	d.mu.Lock()
	f, turn, shop := d.shelf.get(root), d.shelf.turn, d.shown.shop
	if t := d.shown.families[root]; t != nil {
		f = t.f
	}
	d.mu.Unlock()
	if f != nil {
		return f, nil
	}
	f, err := load(d.log, shop, root)
	if err != nil {
		return nil, err
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.shelf.turn == turn {
		d.shelf.put(root, f)
	}
	return f, nil
}

// familyRow is the ledger's row of a family off the floor.
type familyRow struct {
	Seqs  []traveler.Seq `json:"seqs"`
	Facts [][]byte       `json:"facts"` // keys of its batches' facts
}

// load folds a family from its row in the ledger.
func load(log story.Log, shop *traveler.Shop, root traveler.Code) (*story.Family, error) {
	record, err := loadRecord(log, root)
	if err != nil {
		return nil, err
	}
	return story.Fold(shop, record), nil
}

func loadRecord(log story.Log, root traveler.Code) ([]*traveler.Entry, error) {
	v, err := log.Row(ledgerFamilies, string(root))
	if err != nil {
		return nil, err
	}
	var r familyRow
	if v == nil || json.Unmarshal(v, &r) != nil || len(r.Seqs) == 0 {
		return nil, badRow(ledgerFamilies, string(root))
	}
	return log.Get(r.Seqs)
}

func badRow(bucket, key string) error {
	return traveler.Fail(traveler.KindCorrupt, "store.row", bucket, legible(key))
}

func codeOf(v []byte) (c traveler.Code, err error) {
	if json.Unmarshal(v, &c) != nil {
		return "", badRow(ledgerCards, string(v))
	}
	return c, nil
}

// FindCard resolves what was scanned or typed: a code, or a works order. Of a
// works order it gives the open batches, or if there are none those that are
// over, by code. What the ledger does not hold is taken for unknown.
func (d *Desk) FindCard(ref string) []traveler.Code {
	r := traveler.ParseRef(ref)
	if r.Code != "" {
		if root, _ := d.inMemory(r.Code); root != "" {
			return []traveler.Code{r.Code}
		}
		if v, err := d.log.Row(ledgerCards, string(r.Code)); err == nil && v != nil {
			return []traveler.Code{r.Code}
		}
		// A works order number may read as a code by chance.
		r.Text = strings.TrimSpace(ref)
	}
	d.mu.RLock()
	open, over := d.shown.byOrder(r.Text)
	d.mu.RUnlock()
	if len(open) > 0 {
		return open
	}
	off, err := ordered(d.log, r.Text)
	if err != nil {
		return over
	}
	cards := union(over, off)
	slices.Sort(cards)
	return cards
}

// ordered lists the batches off the floor that had a works order.
func ordered(log story.Log, order string) (cards []traveler.Code, err error) {
	key := orderKey(order)
	if key == "" {
		return nil, nil
	}
	v, err := log.Row(ledgerOrders, key)
	if err != nil || v == nil {
		return nil, err
	}
	return codesOf(v)
}

func codesOf(v []byte) (cards []traveler.Code, err error) {
	if json.Unmarshal(v, &cards) != nil {
		return nil, badRow(ledgerOrders, string(v))
	}
	return cards, nil
}

func union(a, b []traveler.Code) []traveler.Code {
	out := slices.Clone(a)
	for _, c := range b {
		if !slices.Contains(out, c) {
			out = append(out, c)
		}
	}
	return out
}

// Loose lists kept scans that belong to no batch: who came and left, and
// questions about scans whose card or station nobody knows.
func (d *Desk) Loose() []*traveler.Entry {
	d.mu.RLock()
	defer d.mu.RUnlock()
	return slices.Clone(d.shown.loose)
}

// Changed returns a channel that is closed at the next commit.
func (d *Desk) Changed() <-chan struct{} {
	d.mu.RLock()
	defer d.mu.RUnlock()
	return d.changed
}

// Entries reads the record from a sequence on. It fails as story.Desk says.
func (d *Desk) Entries(from traveler.Seq, yield func(*traveler.Entry) bool) error {
	return d.log.Entries(from, yield)
}

// Epoch names this record.
func (d *Desk) Epoch() string { return d.log.Epoch() }
