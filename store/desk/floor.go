package desk

import (
	"maps"
	"slices"
	"strings"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// folded is a family as it stands now. It is frozen once it is shown.
type folded struct {
	f     *story.Family
	final finalFacts
}

// over reports whether every batch of the family has ended.
func (t *folded) over() bool {
	for i := range t.f.Batches {
		if s := t.f.State(i); s != story.StateDone && s != story.StateCancelled {
			return false
		}
	}
	return true
}

// floor is what is known of the floor after some sequence. The desk has two:
// the writer's own, which runs ahead while a group is decided, and the shown
// one.
type floor struct {
	shop     *traveler.Shop
	families map[traveler.Code]*folded       // by root
	roots    map[traveler.Code]traveler.Code // card -> root, of families in memory
	orders   map[string][]traveler.Code      // works order -> cards that have, or had, it
	loose    []*traveler.Entry
	head     recordEnd
}

func newFloor() floor {
	return floor{
		shop:     &traveler.Shop{},
		families: map[traveler.Code]*folded{},
		roots:    map[traveler.Code]traveler.Code{},
		orders:   map[string][]traveler.Code{},
	}
}

func (fl *floor) clone() floor {
	n := *fl
	n.families, n.roots, n.orders = maps.Clone(fl.families), maps.Clone(fl.roots), maps.Clone(fl.orders)
	return n
}

// orderKey lets a works order be typed in any case.
func orderKey(order string) string { return strings.ToUpper(strings.TrimSpace(order)) }

// byOrder lists the batches in memory with a works order: those that are open,
// and those that are over, both by code: the order in which families came to memory
// is another after a restart.
func (fl *floor) byOrder(order string) (open, over []traveler.Code) {
	key := orderKey(order)
	for _, card := range fl.orders[key] {
		t := fl.families[fl.roots[card]]
		if t == nil {
			continue
		}
		i := t.f.Index(card)
		if i < 0 || orderKey(t.f.Batches[i].Order) != key {
			continue
		}
		switch t.f.State(i) {
		case story.StateDone, story.StateCancelled:
			over = append(over, card)
		default:
			open = append(open, card)
		}
	}
	slices.Sort(open)
	slices.Sort(over)
	return open, over
}

// show puts a family on the floor and lets its batches be found by their works
// order.
func (fl *floor) show(t *folded) {
	old := fl.families[t.f.Root]
	fl.families[t.f.Root] = t
	for i := range t.f.Batches {
		b := &t.f.Batches[i]
		if b.Order == "" ||
			old != nil && i < len(old.f.Batches) && old.f.Batches[i].Card == b.Card &&
				old.f.Batches[i].Order == b.Order {
			continue
		}
		key := orderKey(b.Order)
		if !slices.Contains(fl.orders[key], b.Card) {
			fl.orders[key] = append(slices.Clip(fl.orders[key]), b.Card)
		}
	}
}

// leave takes a family off the floor.
func (fl *floor) leave(t *folded) {
	delete(fl.families, t.f.Root)
	for _, card := range cardsOf(t.f) {
		if fl.roots[card] == t.f.Root {
			delete(fl.roots, card)
		}
	}
	for i := range t.f.Batches {
		b := &t.f.Batches[i]
		key := orderKey(b.Order)
		rest := slices.DeleteFunc(slices.Clone(fl.orders[key]),
			func(c traveler.Code) bool { return c == b.Card })
		if fl.orders[key] = rest; len(rest) == 0 {
			delete(fl.orders, key)
		}
	}
}

// cardsOf lists the cards that a family gave out, those of splits that were
// taken back included: what is scanned with them still belongs here.
func cardsOf(f *story.Family) []traveler.Code { return cardsIn(f.Record()) }

func cardsIn(record []*traveler.Entry) []traveler.Code {
	var out []traveler.Code
	for _, e := range record {
		switch {
		case e.Release != nil:
			out = append(out, e.Card)
		case e.Scan != nil && e.Scan.Action == traveler.ActSplit && e.Other != "":
			out = append(out, e.Other)
		}
	}
	return out
}

// recordEnd is the end of the record: its last sequence and the hash there.
type recordEnd struct {
	seq  traveler.Seq
	link story.Hash
}
