package desk

import (
	"encoding/binary"
	"io"
	"slices"
	"strings"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// card finds the batch that was scanned or typed; empty, with the reason, when
// there is none or several.
func (w *writer) card(ref string) (traveler.Code, traveler.Msg, error) {
	r := traveler.ParseRef(ref)
	unknown := traveler.Msg{Key: "card.unknown", Args: []string{ref}}
	if r.Code == "" {
		return w.worksOrder(r.Text, unknown)
	}
	if r.Code.Kind() == traveler.KindBatch {
		root, err := w.rootOf(r.Code)
		if err != nil || root != "" {
			return r.Code, traveler.Msg{}, err
		}
	} else {
		unknown.Key = "card.kind"
	}
	// A works order number may read as a code by chance.
	return w.worksOrder(ref, unknown)
}

func (w *writer) worksOrder(order string, unknown traveler.Msg) (traveler.Code, traveler.Msg, error) {
	w.refoldOpen()
	cards, over := w.byOrder(order)
	if len(cards) == 0 {
		off, err := ordered(w.log, order)
		if err != nil {
			return "", unknown, err
		}
		cards = union(over, off)
		slices.Sort(cards)
	}
	switch len(cards) {
	case 0:
		return "", unknown, nil
	case 1:
		return cards[0], traveler.Msg{}, nil
	}
	list := make([]string, len(cards))
	for i, c := range cards {
		list[i] = string(c)
	}
	return "", traveler.Msg{Key: "card.several", Args: []string{order, strings.Join(list, ", ")}}, nil
}

// rootOf gives the root of the family a card belongs to, on the floor or off
// it; empty when nobody knows the card.
func (w *writer) rootOf(card traveler.Code) (traveler.Code, error) {
	if card == "" {
		return "", nil
	}
	if root := w.roots[card]; root != "" {
		return root, nil
	}
	v, err := w.log.Row(ledgerCards, string(card))
	if err != nil || v == nil {
		return "", err
	}
	return codeOf(v)
}

// family gives the newest fold of a family, and brings it back to the floor
// if it had left.
func (w *writer) family(root traveler.Code) (*story.Family, error) {
	w.refoldOpen()
	return w.openFamily(root)
}

// openFamily does so for one that only takes the next scan: its story may lack
// its end.
func (w *writer) openFamily(root traveler.Code) (*story.Family, error) {
	if t := w.families[root]; t != nil {
		return t.f, nil
	}
	f, err := load(w.log, w.shop, root)
	if err != nil {
		return nil, err
	}
	w.put(&folded{f: f})
	for _, card := range cardsOf(f) {
		// A split that was corrected to another family gave its card there.
		if owner, err := w.rootOf(card); err != nil {
			return nil, err
		} else if owner == root {
			w.own(card, root)
		}
	}
	return f, nil
}

// newCode makes a code that is not in use.
func (w *writer) newCode(kind traveler.Kind) (traveler.Code, error) {
	for {
		var b [8]byte
		if _, err := io.ReadFull(w.d.opt.Rand, b[:]); err != nil {
			return "", &traveler.Error{Kind: traveler.KindInternal, Say: traveler.Msg{Key: "store.random"},
				Err: err}
		}
		c, ok := traveler.NewCode(kind, binary.BigEndian.Uint64(b[:]))
		if !ok {
			continue
		}
		free, err := w.free(c)
		if free || err != nil {
			return c, err
		}
	}
}

func (w *writer) free(c traveler.Code) (bool, error) {
	if c.Kind() == traveler.KindMachine {
		_, taken := w.shop.FindMachine(string(c))
		return !taken, nil
	}
	root, err := w.rootOf(c)
	return root == "" && c != traveler.PracticeCard, err
}
